"""The sides of a sheet to a part of a pixel, in the picture at full size.

Across each side the place is found where the color turns from that within to that beyond. A straight line
that most places agree on leaves out pens and drawn lines (RANSAC: Fischler and Bolles, Communications of the
ACM 24 (1981) 381-395; from memory). Then a parabola is fitted to those near it, as lenses bend sides and
paper curls: straight sides would leave corners off by some pixels.
"""

from __future__ import annotations

import numpy as np
from skimage.measure import LineModelND, ransac

from ...model.arrays import Flags, Floats, Rgb
from ..bilinear import sampled
from .bows import crossed, outward, powers_of

__all__ = ["refined"]

_PLACES = 160
_ENDS = 0.015
"""Along a side, and the share of it that is left off at either end: corners are bent or rounded."""
_REACH = 3.2
"""Pixels of the small picture to either side of a side as found in it."""
_STEP_PX = 0.5
_SIGMA_PX = 1.0
"""Steps of the profile across a side, and sigma of the derivative by which its edge is placed."""
_NEAR = 0.6
"""Pixels of the small picture between a place and the line that goes through most."""
_CLEAR = 0.3
"""Of the usual change of color that a place must show."""
_ROUNDS = 5
_LEAST_ON = 0.15
_TRIALS = 200
"""Trimmed fits; how near, by `_NEAR`, a place is always on the side; lines tried by lot for a start."""


def refined(rgb: Rgb, quad: Floats, bows: Floats, scale: float) -> tuple[Floats, Floats, float]:
    """Measure the sides of a sheet.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
    quad : float array of shape (4, 2)
        In pixels of the full picture, within `_REACH` of the truth.
    bows : float array of shape (4, 3)
        Parabolas of its sides in pixels of the small picture.
    scale : float
        Pixels of the full picture for one of the small one.

    Returns
    -------
    float array of shape (4, 2)
        The corners in px of the full picture.
    float array of shape (4,)
        The share of places on each side's parabola.
    float
        How far the sides bend inward from straight lines between the corners, at most, in px.
    """
    place = np.linspace(-1 + 2 * _ENDS, 1 - 2 * _ENDS, _PLACES)
    powers = powers_of(place)
    ends = np.roll(quad, -1, axis=0)
    on = (quad + ends)[:, None] / 2 + place[:, None] * (ends - quad)[:, None] / 2
    on = on + (bows * scale @ powers.T)[..., None] * outward(quad)[:, None]
    offsets = np.arange(-_REACH * scale, _REACH * scale + _STEP_PX, _STEP_PX)
    colors = sampled(rgb, on[:, :, None] + offsets[:, None] * outward(quad)[:, None, None])
    new, shares = np.empty((4, 3)), np.empty(4)
    halves = np.linalg.norm(ends - quad, axis=1) / 2
    for side in range(4):
        at, clear = _steps(colors[side], offsets)
        bow, shares[side] = _parabola(place, halves[side], at, clear, _NEAR * scale)
        new[side] = bows[side] * scale + bow
    return crossed(quad, new), shares, max(float(new[:, 0].max()), 0.0)


def _steps(colors: Floats, offsets: Floats) -> tuple[Floats, Flags]:
    """Return at which offset each place (n) of a side changes color most, and where it does so clearly."""
    third = len(offsets) // 3
    way = np.median(colors[:, :third], axis=(0, 1)) - np.median(colors[:, -third:], axis=(0, 1))
    values = colors @ (way / max(float(np.linalg.norm(way)), 1e-6))
    reach = round(4 * _SIGMA_PX / _STEP_PX)
    near = np.arange(-reach, reach + 1) * _STEP_PX
    kernel = near * np.exp(-(near**2) / (2 * _SIGMA_PX**2))
    change = np.stack([np.convolve(row, kernel, mode="same") for row in values])
    change[:, :reach] = change[:, -reach:] = 0.0
    top = np.clip(np.argmax(change, axis=1), 1, len(offsets) - 2)
    rows = np.arange(len(change))
    before, peak, after = (change[rows, top + shift] for shift in (-1, 0, 1))
    shift = np.clip(0.5 * (before - after) / np.minimum(before - 2 * peak + after, -1e-9), -0.5, 0.5)
    return offsets[top] + shift * _STEP_PX, peak > _CLEAR * np.median(peak)


def _parabola(place: Floats, half: float, at: Floats, clear: Flags, near: float) -> tuple[Floats, float]:
    """Return the parabola (3) through most places of a side, half as long in px, and their share on it."""
    points = np.stack([place * half, at], axis=-1)  # both in px: distances from lines are those across
    if clear.sum() < _PLACES // 4:
        return np.zeros(3), 0.0
    line, _ = ransac(points[clear], LineModelND, 2, near, max_trials=_TRIALS, rng=0)
    if line is None:
        return np.zeros(3), 0.0
    on = clear & (line.residuals(points) < near)
    bow = np.zeros(3)
    for _ in range(_ROUNDS):
        if on.sum() < _PLACES // 4:
            return np.zeros(3), 0.0
        bow = np.polyfit(place[on], at[on], 2)
        off = np.abs(at - np.polyval(bow, place))
        on = clear & (off < np.clip(3 * 1.4826 * np.median(off[on]), _LEAST_ON * near, near))
    return bow, float(on.mean())
