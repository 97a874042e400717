"""The section on what a piece is to be used as: what a preset says of itself beside its settings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting
from .limits import WIDEST_MM

__all__ = ["FormSettings"]


@dataclass(frozen=True, slots=True)
class FormSettings(Section):
    """What the piece is to be used as."""

    NAME: ClassVar[str] = "form"
    kind: str = setting("", "what it is to be used as, such as coaster", high=40)
    about: str = setting("", "what this recipe is for, in one line", high=200)
    caution: str = setting("", "what whoever gets it is to know, beside what its hardware says", high=300)
    example: str = setting(
        "", "words that stand for the customer's own: a text that still has them is told", high=40
    )
    least_mm: float | None = setting(
        None,
        "least longest side of the artwork that it can carry; a smaller one is refused",
        low=5,
        high=WIDEST_MM,
    )
