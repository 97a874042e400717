"""What a maker should know of a text: its font is too fine for its size, or it stands across edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...findings import Finding, finding
from ...model import Plan, SetText
from ...recipe.sections import SHIPPED_FONTS
from ...typeset.fonts import face_of, shipped_font
from ...typeset.lines import LINE_BREAK
from ...typeset.shaping import lacks_nothing
from ...typeset.standing import Type, as_drawn, drawn_letters
from ..strokes.changed import MUCH
from .compose import Composer
from .inkcolor import colors_under
from .printable import STEP, Mending, rung_mm

__all__ = ["text_findings"]

_LARGEST = 4.0
"""Sizes up to so many times as large are tried: beyond it is no way out (common practice, no source)."""

_RUNGS = 2
"""Larger sizes are tried every so many of those at which letters are mended: 17 % apart."""

_READ_SHARE = 0.1
"""A color under more of the letters' area than this share is one that they stand across (common practice,
no source)."""


def text_findings(plan: Plan, composer: Composer, made: SetText) -> tuple[Finding, ...]:
    """Return what is to be said of a text that is about to be joined to a plan."""
    x, y = (round(float(value), 2) for value in made.letters.centroid.coords[0])
    found = []
    if words := _too_fine(composer, made.size_mm):
        found.append(finding("text-thin", f"Text {made.number} {words}", (x, y, 0.0)))
    shares = colors_under(plan, made) if made.side == "front" else []
    under = [color for color, share in shares if share > _READ_SHARE]
    if len(under) > 1:
        words = (
            f"Text {made.number} stands across {len(under)} colors, where it is hard to read; place it in one"
            " area (area_mm) or beside the artwork."
        )
        found.append(finding("text-across", words, (x, y, 0.0)))
    return tuple(found)


def _too_fine(composer: Composer, size: float) -> str:
    """Return how much repair changes of the letters and what would do, if that is much."""
    face, text, limits = composer.face, composer.text, composer.limits
    how, mending = composer.type_of(size, as_drawn), Mending(limits)
    mended = composer.mending(size, fitted=not composer.inscription.size_mm)
    if _prints(text, how, mended):
        return ""
    worst, share = _judged(text, how, mended)
    ways = []
    larger = rung_mm(size, _RUNGS)
    while larger < _LARGEST * size:
        larger *= STEP**_RUNGS
        if _prints(text, replace(how, size_mm=larger), mending, worst):
            ways.append(f"set it with capitals of {larger + 0.05:.1f} mm")
            break
    for word, file in SHIPPED_FONTS.items():
        other = face_of(shipped_font(word, file))
        serves = word != composer.inscription.font and lacks_nothing(other, text)
        if serves and _prints(text, replace(how, face=other, size_mm=rung_mm(size)), mending, worst):
            ways.append(f"take the shipped font {word}")
    ways = ways or ["take a bolder font and a larger size"]
    return (
        f"is too fine in {face.title} with capitals of {size:.1f} mm: {100 * share:.0f} % of it was changed"
        f" to be printable; {', or '.join(ways)}."
    )


def _prints(text: str, how: Type, mending: Mending, first: Sequence[int] = ()) -> bool:
    """Tell whether mending changes little of a text's letters, each counted once.

    Letters after those that are too much are not mended; those at the places `first` are looked at before.
    """
    letters = _letters(text, how)
    area = math.fsum(letter.area for letter in letters)
    gained = 0.0
    for place in dict.fromkeys((*(at for at in first if at < len(letters)), *range(len(letters)))):
        gained += float(letters[place].area) * mending.changed(letters[place])
        if gained > MUCH * area:
            return False
    return True


def _judged(text: str, how: Type, mending: Mending) -> tuple[list[int], float]:
    """Return the places of a text's letters, the most changed by mending first, and the share that is."""
    letters = _letters(text, how)
    gained = [float(letter.area) * mending.changed(letter) for letter in letters]
    ranked = sorted(range(len(letters)), key=lambda at: -gained[at])
    return ranked, math.fsum(gained) / math.fsum(letter.area for letter in letters)


def _letters(text: str, how: Type) -> list[shapely.MultiPolygon]:
    return drawn_letters(text.replace(LINE_BREAK, " "), how)
