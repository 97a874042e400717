"""The plan: what is printed where, seen from above, in mm on the 1 um grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import shapely

from ..findings import Finding, Note
from .areas import Frame
from .arrays import Area, Color
from .inscribed import SetText, Side
from .segments import Division

PocketKind: TypeAlias = Literal["magnet", "pin", "tape", "countersink", "lettering", "picture"]

__all__ = ["Above", "Drawing", "Hole", "Mended", "Motif", "Plan", "Pocket", "in_shapes"]


@dataclass(frozen=True, slots=True)
class Motif:
    """What stands on the base in one color; never empty, inside the base, apart from other motifs."""

    color: Color
    polygon: shapely.MultiPolygon


def in_shapes(motifs: Sequence[Motif], shapes: Sequence[shapely.MultiPolygon]) -> tuple[Motif, ...]:
    """Return motifs in other shapes, as many; those of which nothing is left are gone."""
    pairs = zip(motifs, shapes, strict=True)
    return tuple(Motif(motif.color, shape) for motif, shape in pairs if not shape.is_empty)


@dataclass(frozen=True, slots=True)
class Hole:
    """Where the piece hangs.

    Parameters
    ----------
    center_mm : (float, float)
        Centre of the round hole, or for an opening of the artwork the centre of the largest round
        bar that fits at the place where the hardware rests.
    diameter_mm : float
        Diameter of the round hole, or of the largest round bar that passes the opening.
    wall_mm : float
        Least material between the hole and the outside.
    hang_angle_deg : float
        Angle at the hanging point between the vertical and the centre of mass.
    origin : str
        "artwork", "inside" or "eyelet".
    rest_mm : (float, float)
        The point at which the hardware bears when the piece hangs.
    hardware : str
        What it takes, as the hardware table names it, never "auto"; empty in plans of version 0.1.0.
    slot_mm : (float, float) or None
        Length and width of a level slot with round ends; `diameter_mm` is its width. None for other holes.
    """

    center_mm: tuple[float, float]
    diameter_mm: float
    wall_mm: float
    hang_angle_deg: float
    origin: str
    rest_mm: tuple[float, float]
    hardware: str = ""
    slot_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Pocket:
    """A place where the base is less high; pockets of one plan do not overlap.

    Parameters
    ----------
    kind : str
        "magnet", "pin" or "tape" on the back; "countersink" in front, one for each layer that a screw's head
        sinks through; "lettering", all letters of a text; "picture", one color of the back's picture.
    polygon : Polygon or MultiPolygon
        On the grid, inside the base.
    depth_mm : float
        Whole layers, from the back, or from the base's top where the side is the front.
    side : str
        "back" or "front".
    color : (int, int, int) or None
        Of what is laid into it, level with its side; None where it stays open.
    """

    kind: PocketKind
    polygon: Area
    depth_mm: float
    side: Side
    color: Color | None = None


@dataclass(frozen=True, slots=True)
class Drawing:
    """What stands on the base, without the base: all that the repair of strokes depends on.

    Parameters
    ----------
    motifs : tuple of MultiPolygon
        A coverage on the grid.
    area_mm2 : float
        Of the artwork before any change.
    width_mm : float
        Of the artwork.
    base_color : (int, int, int)
    """

    motifs: tuple[shapely.MultiPolygon, ...]
    area_mm2: float
    width_mm: float
    base_color: Color


@dataclass(frozen=True, slots=True)
class Mended:
    """A drawing whose strokes, gaps and dots can be printed.

    Parameters
    ----------
    motifs : tuple of MultiPolygon
        In the order of the drawing's; what could not be printed may be empty.
    notes : tuple of Note
    much : str
        What a finding says if much was changed, else empty.
    findings : tuple of Finding
        On marks.
    good_width_mm : float or None
        Where much was changed, a width of the artwork at which little would be, if one was found.
    """

    motifs: tuple[shapely.MultiPolygon, ...]
    notes: tuple[Note, ...] = ()
    much: str = ""
    findings: tuple[Finding, ...] = ()
    good_width_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Above:
    """What is seen of a piece from above, whatever its heights: all that can be held against the picture.

    Parameters
    ----------
    base, base_color, motifs
        As in the plan.
    base_art : MultiPolygon
        What of the art has the base's color, before any change: another base would leave it a motif.
    eyelets : tuple of ((x, y), radius)
        Discs in mm round hanging holes that were added beside the artwork, as far as their walls reach.
    """

    base: Area
    base_color: Color
    motifs: tuple[Motif, ...]
    base_art: shapely.MultiPolygon
    eyelets: tuple[tuple[tuple[float, float], float], ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The piece seen from above.

    Parameters
    ----------
    base : Polygon or MultiPolygon
        The base with its openings and hanging hole left out; one Polygon once connected.
    base_color : (int, int, int)
        sRGB of the base; no motif has it.
    base_is_extra : bool
        Whether the base's color is not one of the artwork's own.
    motifs : tuple of Motif
        By falling area; neighbors share vertices with each other and lie inside the base.
    areas : tuple of MultiPolygon
        The areas before any change, in the order of `area_colors`, for before/after.
    area_colors : tuple of colors
    hole : Hole or None
        The first one, if the piece hangs by two.
    frame : Frame
    artwork_mm : (float, float)
        Width and height of the artwork's bounding box before border, repair and eyelet.
    center_of_mass_mm : (float, float) or None
        Known once hung.
    other_holes : tuple of Hole
        Further holes on one level with the first.
    pockets : tuple of Pocket
        For what the piece hangs by.
    handle : MultiPolygon
        Enclosed ground that the base shows and that may be opened to hang the piece by: one piece, or none.
    texts : tuple of SetText
        Lettering that the recipe asked for, in its order.
    tongues : MultiPolygon
        Where the base stands in the slots of feet.
    division : Division or None
        How it is cut into parts, where the bed is too small for it; the base is then a MultiPolygon.
    inlays : tuple of Pocket
        The second picture, color by color: neighbors share vertices with each other, and touch nothing else.
    """

    base: Area
    base_color: Color
    base_is_extra: bool
    motifs: tuple[Motif, ...]
    areas: tuple[shapely.MultiPolygon, ...]
    area_colors: tuple[Color, ...]
    frame: Frame
    artwork_mm: tuple[float, float]
    hole: Hole | None = None
    center_of_mass_mm: tuple[float, float] | None = None
    findings: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
    other_holes: tuple[Hole, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    handle: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    texts: tuple[SetText, ...] = ()
    tongues: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    division: Division | None = None
    inlays: tuple[Pocket, ...] = ()

    @property
    def holes(self) -> tuple[Hole, ...]:
        """All holes by which the piece hangs."""
        return () if self.hole is None else (self.hole, *self.other_holes)

    @property
    def piece_mm(self) -> tuple[float, float]:
        """Width and height of the whole piece, with border and eyelet."""
        left, low, right, high = self.base.bounds
        return right - left, high - low

    @property
    def sunk(self) -> tuple[Pocket, ...]:
        """What is cut into the base for the second picture, for letters, and for the numbers of parts."""
        texts = [item for item in self.texts if not item.cut.is_empty]
        sunk = [*self.inlays]
        sunk += [Pocket("lettering", one.cut, one.depth_mm, one.side, one.color) for one in texts]
        if self.division is None:
            return tuple(sunk)
        depth = self.division.number_mm
        digits = [item.digits for item in self.division.segments if not item.digits.is_empty]
        return (*sunk, *(Pocket("lettering", one, depth, "back") for one in digits))

    @property
    def inlaid(self) -> tuple[Pocket, ...]:
        """What is laid into the back in colors."""
        return tuple(item for item in self.sunk if item.color is not None)

    @property
    def inlaid_colors(self) -> tuple[Color, ...]:
        """The colors of what is laid into the back."""
        return tuple(dict.fromkeys(item.color for item in self.inlaid if item.color is not None))

    @property
    def whole(self) -> Area:
        """The base, uncut."""
        return self.base if self.division is None else self.division.whole

    @property
    def drawing(self) -> Drawing:
        """What stands on the base, without the base."""
        area = sum(part.area for part in self.areas)
        return Drawing(tuple(item.polygon for item in self.motifs), area, self.artwork_mm[0], self.base_color)

    @property
    def above(self) -> Above:
        """What is seen from above."""
        eyelets = tuple(
            (hole.center_mm, hole.diameter_mm / 2 + hole.wall_mm)
            for hole in self.holes
            if hole.origin == "eyelet"
        )
        same = zip(self.area_colors, self.areas, strict=True)
        base_art = next((area for color, area in same if color == self.base_color), shapely.MultiPolygon())
        return Above(self.base, self.base_color, self.motifs, base_art, eyelets)
