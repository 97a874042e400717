"""A page that notes what is written and drawn on it, where, and how wide it came out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reliefsmith.documents.canvas import At, Canvas


@dataclass(frozen=True)
class Said:
    """A text as it was drawn."""

    text: str
    at: At
    wide: float
    options: dict[str, Any]

    @property
    def left(self) -> float:
        """Where it begins, by its anchor."""
        side = self.options.get("anchor", "ls")[0]
        return self.at[0] - self.wide * {"l": 0.0, "m": 0.5, "r": 1.0}[side]


class Noted(Canvas):
    """A canvas with the texts, lines and discs that were drawn."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        super().__init__(width_mm, height_mm, 150)
        self.said: list[Said] = []
        self.lines: list[tuple[At, At]] = []
        self.discs: list[tuple[At, float]] = []

    def text(self, at: At, text: str, **options: Any) -> float:
        wide = super().text(at, text, **options)
        self.said.append(Said(text, at, wide, options))
        return wide

    def label(self, at: At, text: str, **options: Any) -> None:
        super().label(at, text, **options)
        self.said.append(Said(text, at, self.width(text), options))

    def line(self, start: At, end: At, **options: Any) -> None:
        super().line(start, end, **options)
        self.lines.append((start, end))

    def disc(self, at: At, radius_mm: float, **options: Any) -> None:
        super().disc(at, radius_mm, **options)
        self.discs.append((at, radius_mm))

    @property
    def words(self) -> str:
        """All that is written."""
        return " ".join(item.text for item in self.said)
