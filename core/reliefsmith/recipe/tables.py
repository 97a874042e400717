"""The tables that a recipe lists: marks that correct the picture by place, filaments in stock."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from .hints import shown
from .sections.limits import MOST_CHARACTERS, WIDEST_MM
from .settings import REQUIRED, Row, setting

__all__ = ["AREA_KINDS", "FINISHES", "LINK_KINDS", "MARK_KINDS", "OUTLINE_KINDS", "STROKE_KINDS"]
__all__ += ["ColorHeight", "Mark", "MarkKind", "PartColor", "Spool", "area_named", "named"]

_NUMBERED = re.compile(
    r"area (?P<number>[0-9]{1,6})(?:, ?(?P<color>[a-z]+(?:-[0-9]+)?|#[0-9a-f]{6}))?", re.IGNORECASE
)

FINISHES = ("matte", "satin", "silk", "gloss", "clear", "glow", "wood", "stone")


@dataclass(frozen=True, slots=True)
class MarkKind:
    """One kind of mark: what it does, what its value is, and where it may be put.

    Parameters
    ----------
    does : str
        In the user's words.
    value : str
        "color", "mm", or empty where it takes none.
    needs_value : bool
    low, high : float
        Bounds of a value in mm.
    says : str
        What the value is, for an error.
    polygon, point : bool
        Whether it takes a polygon, and a point or area.
    """

    does: str
    value: str = ""
    needs_value: bool = False
    low: float = 0.0
    high: float = 0.0
    says: str = 'a color such as "#1b2a49"'
    polygon: bool = True
    point: bool = True


MARK_KINDS: dict[str, MarkKind] = {
    "erase": MarkKind("the area becomes background"),
    "recolor": MarkKind(
        "the area, or an opening round the point, takes the color in value", "color", needs_value=True
    ),
    "merge": MarkKind("the area joins its longest neighbor, or the color in value", "color", polygon=False),
    "open": MarkKind("the enclosed ground there becomes an opening", polygon=False),
    "replace": MarkKind("lettering in the polygon is set anew, in words", point=False),
    "protect": MarkKind("what lies there is kept as drawn"),
    "thicken": MarkKind(
        "strokes get at least the width in value", "mm", True, 0.1, 20, "the least stroke in mm, such as 0.9"
    ),
    "leave-thin": MarkKind("thin strokes stay thin"),
    "border": MarkKind(
        "the border has the width in value", "mm", True, 0, 50, "the width of the border in mm, such as 3.0"
    ),
    "link": MarkKind(
        "a link is added, as wide as value", "mm", False, 2, 20, "the width of the link in mm, such as 3.0"
    ),
    "no-link": MarkKind(
        "no link passes, within value round a point", "mm", False, 0.1, 200, "a distance in mm, such as 4.0"
    ),
}


@dataclass(frozen=True, slots=True)
class Mark(Row):
    """One correction by place: what is done, where, and with which color or width.

    Examples
    --------
    >>> Mark("recolor", at_mm=(3, -4), value="#D2322D").value
    '#d2322d'
    >>> Mark("thicken", at_mm=(3, -4), value=0.9).value_mm
    0.9
    """

    NAME: ClassVar[str] = "marks"
    kind: str = setting(
        REQUIRED,
        "what is done: " + "; ".join(f"{name}: {kind.does}" for name, kind in MARK_KINDS.items()),
        choices=tuple(MARK_KINDS),
    )
    at_mm: tuple[float, float] | None = setting(
        None, "point in the area that is meant", kind="point", low=-WIDEST_MM, high=WIDEST_MM
    )
    at: str | None = setting(
        None,
        'the area that is meant, by its number before all marks: "area 7", or "area 7, red" to be sure',
        high=40,
    )
    polygon_mm: tuple[tuple[float, float], ...] | None = setting(
        None,
        "corners of a polygon, instead of a point: everything inside is meant",
        kind="polygon",
        low=-WIDEST_MM,
        high=WIDEST_MM,
        most=500,
    )
    value: str | float | None = setting(
        None,
        "color that the place takes, or a width there",
        kind="color-or-number",
        unit="mm",
        low=0,
        high=200,
    )
    words: str | None = setting(None, "what replaced lettering reads", high=MOST_CHARACTERS)

    @property
    def number(self) -> int | None:
        """The number of the area that it names, if it does."""
        named = area_named(self.at)
        return named[0] if named else None

    @property
    def stated(self) -> str:
        """The color that it says that area has, a name or "#rrggbb"; empty where it says none."""
        named = area_named(self.at)
        return named[1] if named else ""

    @property
    def value_mm(self) -> float | None:
        """The value of a kind that takes millimetres."""
        return self.value if isinstance(self.value, float) else None

    @property
    def value_color(self) -> str | None:
        """The value of a kind that takes a color."""
        return self.value if isinstance(self.value, str) else None

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        if sum(place is not None for place in (self.at_mm, self.at, self.polygon_mm)) != 1:
            return f"{self.kind} needs at_mm, at or polygon_mm, and just one of them"
        if self.at is not None and self.number is None:
            return (
                f'at must be an area by its number, such as "area 7" or "area 7, red", got {shown(self.at)}'
            )
        if words := self._words_fault() or self._value_fault(MARK_KINDS[self.kind]):
            return words
        if not MARK_KINDS[self.kind].polygon and self.polygon_mm is not None:
            return f"{self.kind} needs at_mm or at, one area; recolor and erase take a polygon"
        return ""

    def _words_fault(self) -> str:
        if self.kind != "replace":
            return "" if self.words is None else f"{self.kind} takes no words; leave them out"
        if self.polygon_mm is None or not (self.words or "").strip():
            return "replace needs polygon_mm round the lettering, and words, what it reads"
        return ""

    def _value_fault(self, kind: MarkKind) -> str:
        if self.value is None:
            return f"{self.kind} needs value, {kind.says}" if kind.needs_value else ""
        if not kind.value:
            return f"{self.kind} takes no value; leave it out"
        if kind.value != ("color" if isinstance(self.value, str) else "mm"):
            return f"{self.kind} takes as value {kind.says}"
        if self.value_mm is not None and not kind.low <= self.value_mm <= kind.high:
            return f"{self.kind} takes a value between {kind.low:g} and {kind.high:g} mm"
        return ""


def area_named(words: str | None) -> tuple[int, str] | None:
    """Return number and color of an area by its words, or None if they are no such words.

    Examples
    --------
    >>> area_named("area 7, Red"), area_named("area 7"), area_named("the red one")
    ((7, 'red'), (7, ''), None)
    """
    found = _NUMBERED.fullmatch(words or "")
    return (int(found["number"]), (found["color"] or "").lower()) if found else None


AREA_KINDS = ("erase", "recolor", "merge", "open", "replace")
"""Kinds that correct the picture's areas, so that they show in areas too; the others act on the plan."""

OUTLINE_KINDS, STROKE_KINDS = ("border", "protect"), ("protect", "leave-thin", "thicken")
LINK_KINDS = ("link", "no-link")
"""Kinds that act on the base, on strokes, on links; a change of one kind runs only what depends on it."""


def named(marks: Iterable[Mark]) -> list[tuple[str, Mark]]:
    """Return marks with the names by which messages call them, counted for each kind.

    A name holds no number among all marks, so that a stage that knows some kinds only tells the same one.

    Examples
    --------
    >>> [name for name, _ in named([Mark("erase", at_mm=(x, 0)) for x in range(2)])]
    ['erase mark 1', 'erase mark 2']
    """
    turn: dict[str, int] = {}
    names: list[tuple[str, Mark]] = []
    for item in marks:
        turn[item.kind] = turn.get(item.kind, 0) + 1
        names.append((f"{item.kind} mark {turn[item.kind]}", item))
    return names


@dataclass(frozen=True, slots=True)
class Spool(Row):
    """One filament in stock."""

    NAME: ClassVar[str] = "filaments.stock"
    name: str = setting(REQUIRED, "what you call it", high=60)
    color: str = setting(REQUIRED, "its color as printed, measured, in sRGB", kind="color")
    finish: str = setting("matte", "how it shines", choices=FINISHES)
    grams: float | None = setting(None, "what is left of it", unit="g", low=0, high=100000)
    opaque_mm: float | None = setting(None, "thickness from which it hides black, tested", low=0.04, high=50)
    thin_color: str | None = setting(
        None, "its color as a thin layer, read from the test piece; gives how well it hides", kind="color"
    )
    thin_mm: float | None = setting(None, "thickness of that thin layer", low=0.04, high=5)
    thin_over: str | None = setting(
        None, "color of what lies under that thin layer, read beside it", kind="color"
    )

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        reading = (self.thin_color, self.thin_mm, self.thin_over)
        if any(item is not None for item in reading) and any(item is None for item in reading):
            return "thin_color, thin_mm and thin_over make one reading; give all three or none"
        return ""


@dataclass(frozen=True, slots=True)
class PartColor(Row):
    """The color that one part is printed in."""

    NAME: ClassVar[str] = "filaments.parts"
    part: str = setting(REQUIRED, "name of the part, such as red or base", high=60)
    color: str = setting(REQUIRED, "color that it is printed in", kind="color")


@dataclass(frozen=True, slots=True)
class ColorHeight(Row):
    """The height of the motifs of one color."""

    NAME: ClassVar[str] = "heights.colors"
    color: str = setting(REQUIRED, "color of the motifs that are meant", kind="color")
    height_mm: float = setting(REQUIRED, "their height above the base", low=0.1, high=50)
