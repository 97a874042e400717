"""Which filament each part is matched to."""

from __future__ import annotations

from dataclasses import dataclass

from ..findings import Finding
from .arrays import Color

__all__ = ["Filament", "FilamentMatch", "Matching"]


@dataclass(frozen=True, slots=True)
class Filament:
    """One filament that a part can be printed in.

    Parameters
    ----------
    name : str
        As the user or the shipped table calls it.
    color : (int, int, int)
        sRGB.
    finish : str
    source : str
        "stock", the user's own, or "table", a generic entry without a brand.
    grams : float or None
        What is left of it, where known.
    opaque_mm : float or None
        Thickness from which it hides black, where tested.
    """

    name: str
    color: Color
    finish: str
    source: str
    grams: float | None = None
    opaque_mm: float | None = None


@dataclass(frozen=True, slots=True)
class FilamentMatch:
    """The filament of one part, and the second best for it; None where there is none.

    The differences are CIEDE2000 between the part's color and the filament's.
    """

    part: str
    filament: Filament | None
    delta_e00: float | None
    second: Filament | None
    second_delta_e00: float | None


@dataclass(frozen=True, slots=True)
class Matching:
    """One match for each part, in the order of the parts.

    Parameters
    ----------
    asked : bool
        Whether the recipe names a stock; otherwise the matches are a suggestion for the report only.
    """

    matches: tuple[FilamentMatch, ...] = ()
    asked: bool = False
    findings: tuple[Finding, ...] = ()

    def of(self, part: str) -> FilamentMatch | None:
        """Return the match of a part, or None if it was not matched."""
        return next((match for match in self.matches if match.part == part), None)
