"""A piece that is cut into parts because the bed is too small for it: its parts, their keys, their places."""

from __future__ import annotations

from dataclasses import dataclass, field

import shapely

from .arrays import Area

__all__ = ["Division", "Segment"]


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of a piece that is cut.

    Parameters
    ----------
    number : int
        From 1, in the order of assembly; it stands on the back.
    outline : Polygon
        Seen from above in the artwork's frame, its own keys with it.
    digits : MultiPolygon
        Where the number is sunk into the back, mirrored; empty without one.
    plate : int
        From 1: on which filling of the bed it lies.
    turn_deg : float
        How it is turned there, counter-clockwise about the origin, as printed.
    at_mm : (float, float)
        Where the origin lies then; (0, 0) is the front left corner of the bed.
    """

    number: int
    outline: shapely.Polygon
    digits: shapely.MultiPolygon
    plate: int
    turn_deg: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Division:
    """How a piece is cut.

    Parameters
    ----------
    whole : Polygon or MultiPolygon
        The base before it was cut.
    segments : tuple of Segment
    clearance_mm : float
        Left free between two parts.
    keys : int
        How many keys hold them.
    tabs, sockets : MultiPolygon
        Where keys reach under another part, and what is left open below it for them; empty where keys go
        through the whole height, so that the outlines hold them.
    number_mm : float
        How deep numbers are sunk.
    """

    whole: Area
    segments: tuple[Segment, ...]
    clearance_mm: float
    keys: int = 0
    tabs: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    sockets: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    number_mm: float = 0.0

    @property
    def plates(self) -> int:
        """How often the bed is filled."""
        return max(item.plate for item in self.segments)

    def files(self, stem: str) -> tuple[str, ...]:
        """Return the names of the files of all fillings of the bed, the first one first."""
        return tuple(f"{stem}-plate-{plate}.3mf" for plate in range(1, self.plates + 1))
