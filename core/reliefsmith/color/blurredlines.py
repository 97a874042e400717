"""Lines of lossy pictures: their luma stands, their chroma bleeds, so the color is put together from both.

Chroma is stored at half the resolution and rounded by blocks of 16 pixels, so that a line of 2 px shows a
washed tone everywhere. But what it lost, its surroundings gained: over a window across the line the sums of
luma and of chroma differences from the ground stand in the ratio that the line's own color has.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, from_luma_chroma, luma_chroma, srgb_to_lab
from ..colorimetry.median import median
from ..model.arrays import Labels
from .background import Ground
from .find import Found, mixing_colors
from .mixing import Mixing, bleeds, mixes_two
from .modes import Floats, Ints
from .palette import Choice
from .ridges import Ridges, find_ridges
from .soft import shades

__all__ = ["Lines", "find_lines", "with_lines"]

_LEAST_SHARE = 0.0004  # of the art: ridge pixels of one color
_LEAST_PX = 40
_KNOWN_COSINE = 0.99  # between directions in luma and chroma from the ground: that of a known color
_SAME_COSINE = 0.985  # of one unknown color
_TIGHT_COSINE, _TIGHT_SHARE = 0.997, 0.7  # of one color most lie so near: crossings and tips spread more
_MOST_TRIES = 100  # ridge pixels tried as the middle of a direction
_MOST_WINDOWS = 600  # that give a color
_SHIFTS = 4
_MOST_DIRECTIONS = 6  # over one ground
_PLATEAU_SHARE = 0.25  # of the rises; so many alike are those of lines wide enough to reach their luma
_PLATEAU_SPAN, _PLATEAU_LEVELS = 0.10, 6.0  # of the rise, or levels, within which they lie
_HIGHER = 1.25  # rises that far over a plateau are another color's, or its own, lower
_TOP = 0.93  # of the rises, where there is no plateau: lines that reach their luma in few places
_ROUNDS = 3
_CLIPPED_RISE = 0.7  # weight of a difference of luma in clipped pixels: there is little beside a line
_LEAST_RESIDUAL, _RESIDUAL_PER_SIGMA = 22.0, 4.0  # levels from what two known colors mix
_LEAST_GAP = 10.0  # dE00 from every known color
_BLEED_REACH = 8.0  # levels of Cb, Cr, as for calm pixels
_MOST_BEYOND = 20.0  # levels beyond white and black that a color may come out
_FULL_RISE = 0.6  # of a color's rise, from which on a ridge pixel is taken to show it


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of a lossy picture.

    Parameters
    ----------
    colors : float64 array of shape (m, 3)
        Those that no area has.
    positions, labels : int64 arrays of shape (n,)
        Pixels of the flattened picture that show a line's color, and its label; new colors count on.
    """

    colors: Floats
    positions: Ints
    labels: Ints

    def marked(self, seeds: Labels) -> Labels:
        """Return seeds (h, w) with the lines' pixels labeled."""
        result = seeds.copy()
        result.ravel()[self.positions] = self.labels
        return result


def with_lines(found: Found, ground: Ground, most: int) -> tuple[Found, Lines]:
    """Add the colors of lines, up to so many in all, to those found in an opaque lossy picture."""
    choice = found.choice
    lines = find_lines(
        found.mixing,
        found.seeds,
        mixing_colors(choice.shown, ground, 3),
        first=int(not ground.exists),
        art_px=found.art_px,
        sigma=found.capture.sigma,
        most=max(most - len(choice.colors), 0),
        shadowed=ground.color if found.shadow else None,
    )
    colors = np.concatenate([choice.colors, lines.colors])
    shown = np.concatenate([choice.shown, lines.colors])
    return replace(found, choice=Choice(colors, shown, choice.of_cluster)), lines


def find_lines(
    mixing: Mixing,
    seeds: Labels,
    known: Floats,
    *,
    first: int,
    art_px: float,
    sigma: float,
    most: int,
    shadowed: Floats | None = None,
) -> Lines:
    """Find lines over areas of one color, and the colors that show in lines only.

    Parameters
    ----------
    mixing : Mixing
        An opaque picture that was saved with lossy compression.
    seeds : uint8 array of shape (h, w)
        Labels of calm pixels, 255 elsewhere.
    known : float64 array of shape (k, 3)
        Color of each label.
    first : int
        0, or 1 where there is no background.
    art_px : float
        Pixels that are not background.
    sigma : float
        Noise in levels.
    most : int
        How many more colors there may be.
    shadowed : float64 array of shape (3,) or None
        The background where a shadow lies on it, which is no color.
    """
    ridges = find_ridges(mixing, seeds, known, sigma)
    needed = max(_LEAST_SHARE * art_px, _LEAST_PX)
    if len(ridges.positions) < _LEAST_PX:
        none = np.zeros(0, dtype=np.int64)
        return Lines(np.zeros((0, 3)), none, none)
    sums = _sums(ridges, known)
    colors = known
    reach = _LEAST_RESIDUAL + _RESIDUAL_PER_SIGMA * sigma
    for color in _candidates(ridges, sums, known, first=first, needed=needed):
        if len(colors) - len(known) >= most:
            break
        others = colors[first:]
        gaps = ciede2000(srgb_to_lab(others), srgb_to_lab(color))
        mixed = mixes_two(color, others, reach) or bleeds(color, others, _BLEED_REACH)
        shade = shadowed is not None and bool(shades(color[None], shadowed)[0])
        if (gaps >= _LEAST_GAP).all() and not mixed and not shade:
            colors = np.concatenate([colors, color[None]])
    shown, _ = _shown(ridges, sums, colors, first)
    sure = shown >= 0
    return Lines(colors[len(known) :], ridges.positions[sure], shown[sure])


def _sums(ridges: Ridges, known: Floats) -> Floats:
    """Return the summed differences from the ground (n, 3) in luma and chroma over each window."""
    mean = ridges.windows.mean(axis=1, dtype=np.float32).astype(np.float64)
    sums: Floats = luma_chroma(mean - known[ridges.grounds]) * ridges.windows.shape[1]
    return sums


def _shown(ridges: Ridges, sums: Floats, colors: Floats, first: int) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Return the label of the color that each ridge pixel shows, -1 for none, and whether one explains it."""
    values = luma_chroma(colors)
    length = np.maximum(np.sqrt((sums * sums).sum(axis=1)), 1e-9)
    best = np.full(len(sums), _KNOWN_COSINE)
    shown = np.full(len(sums), -1, dtype=np.int64)
    rise = np.zeros(len(sums))
    for label in range(first, len(colors)):
        toward = values[label] - values[ridges.grounds]
        across = np.maximum(np.sqrt((toward * toward).sum(axis=1)), 1e-9)
        cosine = (sums * toward).sum(axis=1) / (length * across)
        better = (cosine > best) & (label != ridges.grounds)
        best[better], shown[better], rise[better] = cosine[better], label, toward[better, 0]
    explained = shown >= 0
    full = np.abs(ridges.rises) >= _FULL_RISE * np.abs(rise)
    return np.where(explained & full, shown, -1), explained


def _candidates(ridges: Ridges, sums: Floats, known: Floats, *, first: int, needed: float) -> list[Floats]:
    """Return the colors of lines that no known color explains, the commonest first."""
    _, explained = _shown(ridges, sums, known, first)
    open_ = ~explained & (np.sign(sums[:, 0]) == np.sign(ridges.rises))
    found: list[tuple[Floats, int]] = []
    for ground in range(first, len(known)):
        left = np.flatnonzero(open_ & (ridges.grounds == ground))
        for _ in range(_MOST_DIRECTIONS):
            if len(left) < needed:
                break
            near, left = _commonest(left, sums)
            if len(near) < needed:
                break
            color = _line_color(ridges.only(near), known[ground])
            beyond = np.abs(color - np.clip(color, 0.0, 255.0)).max()
            if beyond < _MOST_BEYOND and _is_tight(sums[near]):
                found.append((np.clip(color, 0.0, 255.0), len(near)))
    return [color for color, _ in sorted(found, key=lambda one: -one[1])]


def _is_tight(sums: Floats) -> bool:
    """Return whether most of the sums lie in nearly one direction."""
    middle = sums.sum(axis=0)
    cosine = sums @ middle / np.sqrt((sums * sums).sum(axis=1) * (middle * middle).sum())
    return bool((cosine > _TIGHT_COSINE).mean() > _TIGHT_SHARE)


def _commonest(of: Ints, sums: Floats) -> tuple[Ints, Ints]:
    """Split the ridge pixels into those of the commonest direction and the others."""
    length = np.sqrt((sums[of] * sums[of]).sum(axis=1))
    unit = sums[of] / np.maximum(length, 1e-9)[:, None]
    tried = unit[:: len(of) // _MOST_TRIES + 1]
    weight = ((tried @ unit.T > _SAME_COSINE) * length).sum(axis=1)
    middle = tried[int(np.argmax(weight))]
    for _ in range(_SHIFTS):
        mean = sums[of][unit @ middle > _SAME_COSINE].sum(axis=0)
        middle = mean / max(float(np.sqrt((mean * mean).sum())), 1e-9)
    near = unit @ middle > _SAME_COSINE
    return of[near], of[~near]


def _line_color(ridges: Ridges, ground: Floats) -> Floats:
    """Put a line's color (3,) together from the luma of its ridge and the chroma of all round it.

    Beyond white and black values are clipped, and chroma that bled there shows in some channels only. Its
    amount is taken from those, its hue from the pixels that are whole.
    """
    windows = ridges.windows[:: len(ridges.windows) // _MOST_WINDOWS + 1].astype(np.float64)
    offset = windows - ground
    clipped = (windows <= 0.0) | (windows >= 255.0)
    some = clipped.any(axis=2)
    whole = luma_chroma(offset[~some]).sum(axis=0)
    total = whole
    seen, beside = ~clipped[some], offset[some]
    for _ in range(_ROUNDS):
        hue = total[1:] / max(float(np.sqrt((total[1:] ** 2).sum())), 1e-9)
        tint = from_luma_chroma(np.array([0.0, *hue]))
        # Least squares over the channels that are not clipped: offset = rise + amount * tint.
        count = seen.sum(axis=1) + _CLIPPED_RISE
        one, two = (seen * tint).sum(axis=1), (seen * tint * tint).sum(axis=1) + 0.05
        rises, amounts = (seen * beside).sum(axis=1), (seen * beside * tint).sum(axis=1)
        scale = count * two - one * one
        rise = (rises * two - amounts * one) / scale
        amount = (amounts * count - rises * one) / scale
        total = whole + np.array([rise.sum(), *(hue * amount.sum())])
    full = _full_rise(np.abs(ridges.rises)) * np.sign(total[0])
    color = luma_chroma(ground) + full / (total[0] or 1.0) * total
    return from_luma_chroma(color)


def _full_rise(rises: Floats) -> float:
    """Return the rise of lines that are wide enough to show their luma: a plateau, or near the top."""
    ordered = np.sort(rises)
    while True:
        count = max(int(_PLATEAU_SHARE * len(ordered)), 2)
        spans = ordered[count - 1 :] - ordered[: len(ordered) - count + 1]
        start = int(np.argmin(spans))
        middle = float(median(ordered[start : start + count]))
        if spans[start] > max(_PLATEAU_SPAN * middle, _PLATEAU_LEVELS):
            return float(ordered[int(_TOP * (len(ordered) - 1))])
        higher = ordered[ordered > _HIGHER * middle]
        if len(higher) < _PLATEAU_SHARE * len(rises):
            return middle
        ordered = higher
