"""Colors that no calm pixel shows: of lines too thin for one, of patches that edges round on all sides.

What is measured of them becomes a color by the same gain and price as the modes of calm pixels.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.window import amid
from .background import Ground, shades
from .cost import MOST_OPEN, NOISE_ALONE, Judge, by_nearness, color_price, hidden_price
from .find import Found, mixing_colors
from .labels import Unexplained
from .mixing import CHANNELS, Flags, Waves
from .modes import Floats
from .palette import Choice
from .ridges import Line, commonest, find_ridges

__all__ = ["hidden_color", "with_color", "with_lines"]

_EDGE_PX = 2  # pixels all round: edges and lines are narrower; with 1 and 4 compressed lettering lost .002
_SAME_DIRECTION = 0.5  # cosine
_FULLEST_SHARE = 0.1  # of the strongest pixels, that a line covers whole, give its color; flat from .02 to .2


def with_lines(found: Found, ground: Ground, most: int) -> Found:
    """Add the colors of lines over areas of one color, up to so many in all, in an opaque lossy picture.

    A line's color was put together from what compression spread, so it pays the price of a clean picture.
    """
    known = mixing_colors(found.choice.shown, ground)
    first = int(not ground.exists)
    ridges = find_ridges(found.mixing, found.seeds, known, found.capture, first)
    price = color_price(found.art_px, found.capture, pure=True)
    left = ridges.lines(known)
    while left and len(found.choice.colors) < most:
        gains = [_line_gain(line, known, found, ground) for line in left]
        best = int(np.argmax(gains))
        if gains[best] <= price:
            break
        found = with_color(found, left.pop(best).color)
        known = mixing_colors(found.choice.shown, ground)
    shown, _ = ridges.shown(known)
    marks = found.seeds.copy()
    marks.ravel()[ridges.positions[shown >= 0]] = shown[shown >= 0]
    return replace(found, marks=marks)


def _line_gain(line: Line, known: Floats, found: Found, ground: Ground) -> float:
    """Return what a line's color gains, in squares of noise, beside its ground with any other color."""
    if _is_shade(line.color, found, ground):
        return 0.0
    judge = Judge(known, found.capture)
    pairs = (1 << np.arange(len(known)) | 1 << line.ground).astype(np.uint16)
    values = np.repeat(line.color[:, None], len(pairs), axis=1)
    left = judge.left_open_beside(values, pairs, pairs)
    gap = ciede2000(srgb_to_lab(known), srgb_to_lab(line.color)).min()
    return float(by_nearness(left.min(), gap)) * line.pixels


def hidden_color(found: Found, ground: Ground, rest: Unexplained) -> Floats | None:
    """Return the color (c,) that most of what is left open shows, or None if it gains less than it costs.

    A color met already makes a pixel with any other one, wherever they are.
    """
    capture = found.capture
    price = hidden_price(found.art_px, capture) * capture.enlarged**2
    if MOST_OPEN * len(rest.positions) <= price:
        return None
    first = int(not ground.exists)
    known = mixing_colors(found.choice.shown, ground, rest.values.shape[1])[first:]
    values, inner = rest.values.T, _inner(rest, found)
    left = Judge(known, capture).left_open_by_any(values, inner)
    open_ = left > NOISE_ALONE
    if left[open_].sum() <= price:
        return None
    color = _strongest(rest.values[open_], rest.offsets[open_], inner[open_], lossy=capture.lossy)
    with_it = Judge(np.concatenate([known, color[None]]), capture).left_open_by_any(values, inner)
    gain = np.maximum(left - with_it, 0.0).sum()
    gain = by_nearness(gain, ciede2000(srgb_to_lab(known[:, :3]), srgb_to_lab(color[:3])).min())
    return None if gain <= price or _is_shade(color[:3], found, ground) else color


def _inner(rest: Unexplained, found: Found) -> Flags:
    """Return which open pixels (n,) have only open ones within the reach of an edge."""
    left = np.zeros(found.mixing.shape, dtype=bool)
    left.ravel()[rest.positions] = True
    return amid(left, _EDGE_PX).ravel()[rest.positions]


def _strongest(values: Waves, offsets: Waves, inner: Flags, *, lossy: bool) -> Floats:
    """Return the color (c,) of inner or else the strongest pixels that stray in the commonest direction."""
    along = np.flatnonzero(commonest(offsets.astype(np.float64), _SAME_DIRECTION))
    whole = along[inner[along]]
    if not len(whole):
        count = int(np.ceil(_FULLEST_SHARE * len(along)))
        strength = (offsets[along] * offsets[along]).sum(axis=1)
        whole = along[np.argsort(-strength, kind="stable")[:count]]
    # In the mean of a patch compression's ripple cancels; a clean one shows the color itself.
    shown = values[whole]
    color: Floats = (shown.mean(axis=0) if lossy else np.median(shown, axis=0)).astype(np.float64)
    if len(color) > CHANNELS:
        color = np.minimum(color * (255.0 / max(color[CHANNELS], 1.0)), 255.0)
    return color


def _is_shade(color: Floats, found: Found, ground: Ground) -> bool:
    """Return whether a color is the ground in the shadow that lies on it."""
    return found.shadow and ground.color is not None and bool(shades(color[None], ground.color)[0])


def with_color(found: Found, color: Floats) -> Found:
    """Add a color (c,) to those that were found."""
    colors, shown = (
        np.concatenate([one, color[None, :3]]) for one in (found.choice.colors, found.choice.shown)
    )
    return replace(found, choice=Choice(colors, shown, found.choice.of_cluster))
