"""What may be a sheet of paper: quadrilaterals round light groups of pixels, and between straight lines."""

from __future__ import annotations

import math

import numpy as np
from scipy.ndimage import binary_fill_holes
from scipy.spatial import ConvexHull, QhullError
from skimage.filters import gaussian, threshold_multiotsu, threshold_otsu
from skimage.measure import label
from skimage.morphology import isotropic_opening, opening

from ...model.arrays import Flags, Floats
from .shapes import convex, ordered, without_twins
from .sidelines import between_lines

__all__ = ["outlines"]

_LEAST_SHARE = 0.03
"""Of the picture, that a group covers; it may be a sheet in pieces."""
_GROUPS = 2
"""The largest ones of each threshold that are looked at."""
_SMOOTHED_PX = 1.2
"""Sigma before thresholds, in px of the small picture: weave and grain are a pixel or two wide."""
_LEAST_RANGE = 2.0
"""Units of Lab in a channel, below which it parts nothing: chroma of a grey picture."""
_WIDE_PX = 24
"""What is narrower is no sheet but lies on it or touches it, in px of the small picture."""
_OPENED = np.ones((5, 5), dtype=bool)


def outlines(lab: Floats, grain: float) -> Floats:
    """Return quadrilaterals (n, 4, 2) in px, clockwise from the corner nearest to the upper left.

    Parameters
    ----------
    lab : float array of shape (h, w, 3)
        A small picture in CIE Lab.
    grain : float
        Of it (`sides.grain_of`).
    """
    masks = _masks(lab)
    masks += [_without_arms(mask) for mask in masks]
    found = [quad for mask in masks for quad in _round_groups(mask)]
    size = lab.shape[1::-1]
    round_groups = ordered(np.array(found).reshape(-1, 4, 2))
    round_groups = without_twins(round_groups[convex(round_groups, size)])
    sides = np.stack([round_groups, np.roll(round_groups, -1, axis=1)], axis=2).reshape(-1, 2, 2)
    return without_twins(np.concatenate([round_groups, ordered(between_lines(lab, sides, grain))]))


def _masks(lab: Floats) -> list[Flags]:
    """Return masks of what is light, or pale, or unlike the picture's rim, at several thresholds each."""
    light, chroma = lab[..., 0], np.hypot(lab[..., 1], lab[..., 2])
    rim = np.concatenate(
        [
            lab[:4].reshape(-1, 3),
            lab[-4:].reshape(-1, 3),
            lab[:, :4].reshape(-1, 3),
            lab[:, -4:].reshape(-1, 3),
        ]
    )
    unlike = (lab - np.median(rim, axis=0)) * (0.5, 1.0, 1.0)
    channels = (light, light - 1.2 * chroma, -chroma, np.linalg.norm(unlike, axis=-1))
    masks = []
    for channel in channels:
        smooth = gaussian(channel, _SMOOTHED_PX)
        if np.ptp(smooth) < _LEAST_RANGE:
            continue
        cuts = {float(threshold_otsu(smooth)), *map(float, threshold_multiotsu(smooth, 3))}
        low, high = np.percentile(smooth, [1, 90])
        cuts.add(float(high - 0.12 * (high - low)))
        masks += [opening(smooth > cut, _OPENED) for cut in cuts]
    return masks


def _without_arms(mask: Flags) -> Flags:
    """Return a mask without what is narrower than a sheet, such as light checks of a cloth that touch it."""
    filled = binary_fill_holes(mask[::2, ::2])
    wide: Flags = isotropic_opening(filled, _WIDE_PX / 2).repeat(2, axis=0).repeat(2, axis=1)
    return wide[: mask.shape[0], : mask.shape[1]]


def _round_groups(mask: Flags) -> list[Floats]:
    """Return the quadrilaterals round the largest groups of a mask."""
    groups = label(mask)
    sizes = np.bincount(groups.ravel())
    sizes[0] = 0
    found = []
    for group in np.argsort(-sizes)[:_GROUPS]:
        if sizes[group] >= _LEAST_SHARE * mask.size:
            rows, columns = np.nonzero(groups == group)
            ends = np.diff(rows, prepend=-1).astype(bool) | np.diff(rows, append=-1).astype(bool)
            quad = _four_sides(np.stack([columns, rows], axis=-1)[ends].astype(np.float64) + 0.5)
            found += [] if quad is None else [quad]
    return found


def _four_sides(points: Floats) -> Floats | None:
    """Return the hull of points with all sides dropped but four, those that cost least area first.

    The neighbors of a side that is dropped are prolonged until they meet: so a corner that is clipped,
    rounded or hidden comes back.
    """
    try:
        hull = points[ConvexHull(points).vertices]
    except QhullError:
        return None
    corners = [tuple(corner) for corner in hull.tolist()]
    costs = [_prolonged(corners, at) for at in range(len(corners))]
    while len(corners) > 4:
        at = min(range(len(corners)), key=lambda at: costs[at][0])
        if not math.isfinite(costs[at][0]):
            return None
        corners[at], after = costs[at][1], (at + 1) % len(corners)
        del corners[after], costs[after]
        at -= after < at
        for near in range(at - 2, at + 2):  # the sides that this corner ends, and those beside them
            costs[near % len(corners)] = _prolonged(corners, near % len(corners))
    return np.array(corners)


def _prolonged(corners: list[tuple[float, ...]], at: int) -> tuple[float, tuple[float, float]]:
    """Return the area added where the side from a corner is dropped, and the corner that comes instead."""
    count = len(corners)
    (ax, ay), (bx, by) = corners[at - 1], corners[at]
    (cx, cy), (dx, dy) = corners[(at + 1) % count], corners[(at + 2) % count]
    first, second = (bx - ax, by - ay), (cx - dx, cy - dy)
    turn = first[0] * second[1] - first[1] * second[0]
    if turn == 0.0:
        return math.inf, (0.0, 0.0)
    along = ((cx - bx) * second[1] - (cy - by) * second[0]) / turn
    if along < 0.0:  # the neighbors part
        return math.inf, (0.0, 0.0)
    x, y = bx + along * first[0], by + along * first[1]
    return abs((x - bx) * (cy - by) - (y - by) * (cx - bx)) / 2, (x, y)
