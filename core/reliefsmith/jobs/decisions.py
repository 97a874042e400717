"""What was decided where the recipe may decide otherwise: what is taken, why, and what else could be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..colorimetry import ciede2000, color_phrase, srgb_to_lab, to_hex
from ..model import Result
from ..model.arrays import Color
from ..recipe.sections import ArtworkSettings, BackgroundSettings, BaseSettings
from ..recipe.settings import specs

__all__ = ["PLAIN_DELTA_E", "Decision", "decisions"]

PLAIN_DELTA_E = 10.0
"""CIEDE2000 that is seen at a glance (common practice, no source): nearer colors are one to the eye."""

_EXTRA: tuple[Color, ...] = ((255, 255, 255), (26, 26, 26))
_STYLES = ("stepped", "raised", "flush", "sunk")
_ASKED = "the recipe asks for it"


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision.

    Parameters
    ----------
    setting : str
        Dotted key of the recipe that decides it.
    title : str
    taken : str
        What is taken, in words.
    why : str
        For a reader; empty where the setting's usual value is taken.
    others : tuple of str
        Values that the setting may have instead, the likeliest first; "auto", where it is set by hand.
    """

    setting: str
    title: str
    taken: str
    why: str
    others: tuple[str, ...]


def decisions(result: Result) -> tuple[Decision, ...]:
    """Return the decisions on a piece: what its picture is, its base's color, its style, what is open.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith import make
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> {item.setting: item.taken for item in decisions(make(picture).result)}["colors.base"]
    'white (#ffffff)'
    """
    return (*_kind(result), _base(result), _style(result), *_ground(result), *_openings(result))


def _kind(result: Result) -> Iterator[Decision]:
    """Tell what the picture was taken for, where it is not just a drawing."""
    taken, wanted = result.artwork_kind, result.recipe.artwork.kind
    if taken is None or (taken == "flat" and wanted == "auto"):
        return
    others = tuple(choice for choice in specs(ArtworkSettings)["kind"].choices if choice != wanted)
    why = _ASKED if wanted != "auto" else "its pixels are such as these have"
    yield Decision("artwork.kind", "Picture", taken, why, others)


def _base(result: Result) -> Decision:
    plan, asked = result.plan, result.recipe.colors.base != "auto"
    said = [item.message for item in plan.notes if item.code in ("base-color-anew", "base-color-added")]
    if asked:
        why = _ASKED
    elif _shows_ground(result):
        why = "the art encloses ground of this color, which the base shows"
    else:
        why = said[0] if said else "it meets the ground longest, and the drawing stays legible on it"
    others = ["auto"] if asked else []
    apart = [_lab(plan.base_color)]
    for color in _bases(result):
        if all(float(ciede2000(_lab(color), other)) >= PLAIN_DELTA_E for other in apart):
            apart.append(_lab(color))
            others.append(to_hex(color))
    return Decision("colors.base", "Base color", color_phrase(plan.base_color), why, tuple(others))


def _bases(result: Result) -> list[Color]:
    """Return the ground's color, those of the art by falling area, then white and near black."""
    areas = result.areas
    art = sorted(areas.art, key=lambda index: -areas.polygons[index].area)
    colors = [tuple(int(part) for part in areas.colors[index]) for index in art]
    ground = [] if areas.ground is None else [areas.ground]
    return [*ground, *((red, green, blue) for red, green, blue in colors), *_EXTRA]


def _lab(color: Color) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return srgb_to_lab(np.array(color, dtype=np.uint8))


def _style(result: Result) -> Decision:
    taken, asked = result.stack.style, result.recipe.heights.style != "auto"
    others = (*(["auto"] if asked else []), *(style for style in _STYLES if style != taken))
    return Decision("heights.style", "Style", taken, _ASKED if asked else result.stack.style_reason, others)


def _ground(result: Result) -> Iterator[Decision]:
    """Tell what became of ground that the art encloses, where it does."""
    areas, wanted = result.areas, result.recipe.background.enclosed
    if areas.enclosed is None and wanted == "auto":
        return
    taken = (
        "open"
        if wanted == "remove"
        else "shown by the base"
        if _shows_ground(result)
        else "a part of its own"
    )
    why = _ASKED if wanted != "auto" else "an opening and paint in the ground's color look the same there"
    choices = specs(BackgroundSettings)["enclosed"].choices
    others = tuple(choice for choice in choices if choice != wanted)
    yield Decision("background.enclosed", "Enclosed ground", taken, why, others)


def _shows_ground(result: Result) -> bool:
    """Tell whether the base has the color of ground that the art encloses."""
    enclosed = result.areas.enclosed
    return enclosed is not None and to_hex(result.areas.colors[enclosed]) == to_hex(result.plan.base_color)


def _openings(result: Result) -> Iterator[Decision]:
    """Tell what became of the artwork's openings, where it has any."""
    filled = sum(item.code == "opening-filled" for item in result.plan.notes)
    left = len(getattr(result.plan.base, "interiors", ())) - len(result.plan.holes)
    if filled == 0 and left <= 0:
        return
    wanted = result.recipe.base.openings
    taken = f"{filled} filled" if left <= 0 else f"{left} open" + (f", {filled} filled" if filled else "")
    choices = specs(BaseSettings)["openings"].choices
    others = tuple(choice for choice in choices if choice != wanted)
    yield Decision("base.openings", "Openings", taken, _ASKED if wanted != "keep" else "", others)
