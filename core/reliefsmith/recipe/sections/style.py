"""The style of relief that a job gets where its recipe leaves that open: one place for the choice.

The stage that balances the piece and the stage that puts it on layers both ask here, so they never differ.
"""

from __future__ import annotations

from dataclasses import replace

from .heights import HeightSettings
from .piece import BaseSettings
from .work import PrinterSettings

__all__ = ["chosen_style", "settled"]


def chosen_style(
    heights: HeightSettings, base: BaseSettings, printer: PrinterSettings, motifs: int
) -> tuple[str, str]:
    """Return the style of `heights.style` "auto" and why, in words that follow the style's name.

    Face down only motifs level with the base, or in a plate of their own, have something to lie on. Steps
    need one change of filament for each color, where colors in shared layers need one in every layer: so
    steps, unless there is nothing to save or another setting asks for something that steps cannot give.

    Parameters
    ----------
    motifs : int
        How many motifs, each a color of its own beside the base's.

    Examples
    --------
    >>> chosen_style(HeightSettings(), BaseSettings(), PrinterSettings(), 3)
    ('stepped', 'each of 3 colors on the base takes one change of filament')
    >>> chosen_style(HeightSettings(face="down"), BaseSettings(), PrinterSettings(), 3)
    ('flush', 'the face lies on the bed')
    """
    if heights.steps:
        return "stepped", "heights.steps says which steps there are"
    if heights.face == "down":
        if heights.split == "pegs":
            return "sunk", "the face lies on the bed and a back plate closes it"
        return "flush", "the face lies on the bed"
    without_steps = (
        (motifs == 0, "nothing lies on the base"),
        (motifs == 1, "one color on the base"),
        (bool(heights.colors), "heights.colors gives colors heights of their own"),
        (base.rim_mm > 0, "the rim has the base's color in the layers of the motifs"),
        (printer.filaments > motifs, f"{printer.filaments} filaments are loaded, one for each part"),
    )
    for holds, why in without_steps:
        if holds:
            return "raised", why
    return "stepped", f"each of {motifs} colors on the base takes one change of filament"


def settled(
    heights: HeightSettings, base: BaseSettings, printer: PrinterSettings, motifs: int
) -> tuple[HeightSettings, str]:
    """Return the heights with their style decided, and why; empty where the recipe asks for the style.

    Examples
    --------
    >>> heights, why = settled(HeightSettings(), BaseSettings(), PrinterSettings(), 1)
    >>> heights.style, why
    ('raised', 'one color on the base')
    >>> settled(HeightSettings(style="sunk"), BaseSettings(), PrinterSettings(), 1)[1]
    ''
    """
    if heights.style != "auto":
        return heights, ""
    style, why = chosen_style(heights, base, printer, motifs)
    return replace(heights, style=style), why
