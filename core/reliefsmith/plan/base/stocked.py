"""A base that can be printed from what is in stock, where nothing else is to be used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ...colorimetry import color_phrase
from ...colorimetry.difference import FAR, differences
from ...colorimetry.words import parse_hex
from ...findings import Finding, finding
from ...model.arrays import Color
from ...recipe.sections import FilamentSettings
from .basecolor import BaseColor
from .ground import Art
from .legible import edges_on

__all__ = ["in_stock", "printed_in"]


def in_stock(
    chosen: BaseColor, picture: Art, base: shapely.Geometry, filaments: FilamentSettings
) -> tuple[BaseColor, tuple[Finding, ...]]:
    """Return the color chosen for a base, or the art's best one that the stock has.

    The best is the one on which, all colors being those of the nearest filaments, most edges are kept. Where
    the stock has none of them, the choice stays, and matching tells what is missing.
    """
    stock: list[Color] = [parse_hex(spool.color) for spool in filaments.stock]
    if not filaments.only_stock or not stock or differences(chosen.color, stock).min() <= FAR:
        return chosen, ()
    had = [i for i, color in enumerate(picture.colors) if differences(color, stock).min() <= FAR]
    if not had:
        return chosen, ()
    printed = printed_in(filaments, picture.colors)
    kept = edges_on(replace(picture, colors=tuple(printed)), base, [printed[index] for index in had])
    best = had[int(np.argmax(kept))]
    words = (
        f"No filament in stock comes near {color_phrase(chosen.color)}, which the base would have;"
        f" it is {color_phrase(picture.colors[best])} instead."
    )
    return BaseColor(picture.colors[best], best), (finding("base-not-in-stock", words),)


def printed_in(filaments: FilamentSettings, colors: Sequence[Color]) -> list[Color]:
    """Return the color that each is printed in: its own, or the nearest filament's of a stock that is all."""
    stock: list[Color] = [parse_hex(spool.color) for spool in filaments.stock]
    if not filaments.only_stock or not stock:
        return list(colors)
    return [stock[int(np.argmin(differences(color, stock)))] for color in colors]
