"""The table of a text that is set on the piece; not of lettering that the artwork has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..hints import shown
from ..settings import REQUIRED, Row, setting
from ..tables import area_named
from .limits import MOST_CHARACTERS, USUAL_CAPITALS_MM, WIDEST_MM

__all__ = ["SHIPPED_FONTS", "Inscription"]

SHIPPED_FONTS = {"sans": "Rubik-SemiBold.ttf", "rounded": "Fredoka-SemiBold.ttf"}
"""Fonts of the data, by the words that a recipe has for them."""

_PLACES = ("at_mm", "box_mm", "area", "area_mm")


@dataclass(frozen=True, slots=True)
class Inscription(Row):
    """One text that is set on the piece: the words, where, how large, in which color and font.

    Examples
    --------
    >>> Inscription("Mirabel", at_mm=(0, -20)).size_mm is None
    True
    """

    NAME: ClassVar[str] = "lettering"
    text: str = setting(REQUIRED, "what is to be read; | begins a new line", high=MOST_CHARACTERS)
    place: str = setting("front", "on which side", choices=("front", "back"))
    at_mm: tuple[float, float] | None = setting(
        None,
        "point halfway up the capitals at which the text stands, or the middle of its circle; on the back too"
        " as seen from the front",
        kind="point",
        low=-WIDEST_MM,
        high=WIDEST_MM,
    )
    box_mm: tuple[float, float, float, float] | None = setting(
        None,
        "left, lower side, width and height of a box that the text fills, turned with it; the base"
        " carries it",
        kind="box",
        low=-WIDEST_MM,
        high=WIDEST_MM,
    )
    area: str | None = setting(
        None, 'the area that the text fills, by its number: "area 7", or "area 7, red"', high=40
    )
    area_mm: tuple[float, float] | None = setting(
        None, "point in the area that the text fills", kind="point", low=-WIDEST_MM, high=WIDEST_MM
    )
    arc_mm: float | None = setting(
        None,
        "radius of the circle round at_mm on which the text stands; negative, inside along its bottom",
        low=-1000,
        high=1000,
    )
    size_mm: float | None = setting(
        None,
        f"height of its capitals; unset, {USUAL_CAPITALS_MM:g} mm at a point, else as large as it goes",
        low=1,
        high=500,
    )
    align: str = setting(
        "center",
        "which end lies at the point, or at the side of the box",
        choices=("left", "center", "right"),
    )
    letters: str = setting(
        "apart",
        "whether letters stand apart, or touch so that each word is one shape",
        choices=("apart", "touching"),
    )
    turn_deg: float = setting(0.0, "how far it is turned, counter-clockwise as read", low=-180, high=180)
    mirror: bool = setting(
        False, "mirrored left to right, to be read where it is stamped; artwork.mirror does it too"
    )
    color: str = setting(
        "auto",
        "its color; auto, that of the piece's colors seen best there; letters on the back are cut in, and"
        " laid in again in a color that is given",
        kind="color",
        choices=("auto",),
    )
    relief: str = setting(
        "auto",
        "raised: in its color like a motif; sunk: cut in; auto, raised in front and sunk on the back",
        choices=("auto", "raised", "sunk"),
    )
    depth_mm: float = setting(0.4, "how deep sunk letters are", low=0.1, high=10)
    font: str = setting(
        "sans",
        f"a shipped font ({', '.join(SHIPPED_FONTS)}), or a TTF or OTF file found from the recipe's folder",
        high=1000,
    )

    @property
    def number(self) -> int | None:
        """The number of the area that it names, if it does."""
        named = area_named(self.area)
        return named[0] if named else None

    @property
    def stated(self) -> str:
        """The color that it says that area has; empty where it says none."""
        named = area_named(self.area)
        return named[1] if named else ""

    @property
    def is_sunk(self) -> bool:
        """Whether it is cut in; all letters on the back are."""
        return self.relief == "sunk" or self.place == "back"

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        given = [name for name in _PLACES if getattr(self, name) is not None]
        radius, least = abs(self.arc_mm or 0.0), self.size_mm or 0.0
        rules = (
            (not self.text.strip(), "text is empty; write what is to be read"),
            (
                not all(line.strip() for line in self.text.split("|")),
                "text has an empty line; a | begins a new one, so take one out",
            ),
            (self.arc_mm is not None and "|" in self.text, "a text on an arc has one line; take | out"),
            (not self.font, f"font is empty; name {' or '.join(SHIPPED_FONTS)}, or a TTF or OTF file"),
            (len(given) > 1, f"{' and '.join(given)} cannot all be given; keep one"),
            (
                self.area is not None and self.number is None,
                f'area must be an area by its number, such as "area 7", got {shown(self.area)}',
            ),
            (self.arc_mm is not None and self.at_mm is None, "arc_mm needs at_mm, the middle of its circle"),
            (
                self.arc_mm is not None and radius <= least,
                "arc_mm must be more than the height of the letters",
            ),
            (
                self.box_mm is not None and min(self.box_mm[2:]) <= 0,
                "box_mm has no width or height; give left, lower side, width and height",
            ),
            *self._rules_of_the_back(),
        )
        return next((words for is_wrong, words in rules if is_wrong), "")

    def _rules_of_the_back(self) -> tuple[tuple[bool, str], ...]:
        is_back, has_area = self.place == "back", (self.area or self.area_mm) is not None
        return (
            (
                is_back and self.relief == "raised",
                "letters on the back are sunk, since the back lies flat on the bed; leave relief out",
            ),
            (is_back and has_area, "area is one of the front; on the back give at_mm, box_mm or neither"),
            (is_back and self.mirror, "letters on the back read from behind already; leave mirror out"),
        )
