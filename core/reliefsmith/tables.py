"""The tables that a recipe lists: marks that correct the picture by place, filaments in stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .settings import REQUIRED, Row, setting

__all__ = ["FINISHES", "ColorHeight", "Mark", "Spool"]

FINISHES = ("matte", "gloss", "silk", "clear")


@dataclass(frozen=True, slots=True)
class Mark(Row):
    """One correction of the picture: what is done, where, and to which color.

    Examples
    --------
    >>> Mark("recolor", at_mm=(3, -4), value="#D2322D").value
    '#d2322d'
    """

    NAME: ClassVar[str] = "marks"
    kind: str = setting(
        REQUIRED,
        "choice",
        "what is done: erase to background, recolor, or merge with the neighbor (or with the color in value)",
        choices=("erase", "recolor", "merge"),
    )
    at_mm: tuple[float, float] | None = setting(
        None, "point", "point in the area that is meant", unit="mm", low=-2000, high=2000
    )
    polygon_mm: tuple[tuple[float, float], ...] | None = setting(
        None,
        "polygon",
        "corners of a polygon, instead of a point: everything inside is meant",
        unit="mm",
        low=-2000,
        high=2000,
        most=500,
    )
    value: str | None = setting(None, "color", "color that the place takes")

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        if (self.at_mm is None) == (self.polygon_mm is None):
            return f"{self.kind} needs at_mm or polygon_mm, and not both"
        if self.kind == "recolor" and self.value is None:
            return 'recolor needs value, a color such as "#1f6feb"'
        if self.kind == "erase" and self.value is not None:
            return "erase takes no value; leave it out"
        if self.kind == "merge" and self.at_mm is None:
            return "merge needs at_mm, a point in the area; recolor takes a polygon"
        return ""


@dataclass(frozen=True, slots=True)
class Spool(Row):
    """One filament in stock."""

    NAME: ClassVar[str] = "filaments.stock"
    name: str = setting(REQUIRED, "text", "what you call it", high=60)
    color: str = setting(REQUIRED, "color", "its color as printed, measured, in sRGB")
    finish: str = setting("matte", "choice", "how it shines", choices=FINISHES)
    grams: float | None = setting(None, "number", "what is left of it", unit="g", low=0, high=100000)
    opaque_mm: float | None = setting(
        None, "number", "thickness from which it hides black, tested", unit="mm", low=0.04, high=50
    )
    thin_color: str | None = setting(
        None, "color", "its color as a thin layer, read from the test piece; gives how well it hides"
    )
    thin_mm: float | None = setting(
        None, "number", "thickness of that thin layer", unit="mm", low=0.04, high=5
    )
    thin_over: str | None = setting(None, "color", "color of what lies under that thin layer, read beside it")

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        reading = (self.thin_color, self.thin_mm, self.thin_over)
        if any(item is not None for item in reading) and any(item is None for item in reading):
            return "thin_color, thin_mm and thin_over make one reading; give all three or none"
        return ""


@dataclass(frozen=True, slots=True)
class ColorHeight(Row):
    """The height of the motifs of one color."""

    NAME: ClassVar[str] = "heights.colors"
    color: str = setting(REQUIRED, "color", "color of the motifs that are meant")
    height_mm: float = setting(REQUIRED, "number", "their height above the base", unit="mm", low=0.1, high=50)
