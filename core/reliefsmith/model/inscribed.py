"""Texts that a recipe asks for: the fonts they are set in, and their letters as they will be printed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import shapely

from .arrays import Color

Side: TypeAlias = Literal["back", "front"]

__all__ = ["FontFile", "Inscribed", "SetText", "Side"]


@dataclass(frozen=True, slots=True)
class FontFile:
    """A font's file as it was read, and by what name messages call it."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class SetText:
    """One text of the recipe, set.

    Parameters
    ----------
    text : str
    number : int
        Of its table in the recipe, from 1.
    letters : MultiPolygon
        As printed, in the artwork's frame; on the back mirrored, so that they read from behind.
    size_mm : float
        Height of its capitals.
    at_mm : (float, float)
        Point at which it would stand in the same place, its middle there: of an arc that of its circle.
    side : str
        "front" or "back".
    color : (int, int, int) or None
        Of raised letters, and of those that are laid into the back, once it is known.
    cut : MultiPolygon
        Where sunk letters are cut into the base; where motifs cover it they only give way.
    depth_mm : float
        How deep, 0 for raised letters.
    """

    text: str
    number: int
    letters: shapely.MultiPolygon
    size_mm: float
    at_mm: tuple[float, float]
    side: Side = "front"
    color: Color | None = None
    cut: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    depth_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Inscribed:
    """The texts of the front that have a place of their own, set, and what texts need of base and back.

    Parameters
    ----------
    texts : tuple of SetText
    ground : MultiPolygon
        What the base must carry that it did not.
    reserved : MultiPolygon
        Where nothing else is to be put, such as a hanging hole.
    behind : MultiPolygon
        Where texts of the back stand that have a place of their own.
    """

    texts: tuple[SetText, ...] = ()
    ground: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    reserved: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    behind: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
