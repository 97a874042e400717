"""The section on a second picture, which is laid into the back of the piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting
from .limits import MOST_COLORS, NARROWEST_MM, WIDEST_MM

__all__ = ["BackSettings"]


@dataclass(frozen=True, slots=True)
class BackSettings(Section):
    """What the back shows beside texts."""

    NAME: ClassVar[str] = "back"
    picture: str = setting(
        "",
        "file of a second picture, found from the recipe's folder; it reads from behind, level with the back",
        high=1000,
    )
    colors: int = setting(0, "number of flat colors of that picture; 0 finds it", low=0, high=MOST_COLORS)
    palette: str = setting(
        "own",
        "in which colors it is laid in: its own, or of the piece's those that are nearest",
        choices=("own", "piece"),
    )
    width_mm: float | None = setting(
        None,
        "its width; unset, as large as the free area of the back takes it",
        low=NARROWEST_MM,
        high=WIDEST_MM,
    )
    at_mm: tuple[float, float] | None = setting(
        None,
        "where its middle lies, as seen from the front; unset, where it fits",
        kind="point",
        low=-WIDEST_MM,
        high=WIDEST_MM,
    )
    turn_deg: float = setting(0.0, "how far it is turned, counter-clockwise as seen", low=-180, high=180)
    # Two usual layers: common practice, no source.
    depth_mm: float = setting(0.4, "how deep it is laid in", low=0.1, high=10)
