"""What may be a sheet of paper: quadrilaterals round light groups of pixels, and between straight lines."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError
from skimage.feature import canny
from skimage.filters import gaussian, threshold_multiotsu, threshold_otsu
from skimage.measure import label, regionprops
from skimage.morphology import disk, opening
from skimage.transform import hough_line, hough_line_peaks


__all__ = ["ordered", "outlines"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_LEAST_SHARE = 0.05
"""Of the picture, that a sheet covers."""
_GROUPS = 2
_SMOOTHED_PX = 1.2
_OPENED_PX = 2
_LINES, _LINE_QUADS = 14, 25
_TWINS_PX = 2.5
_OUTSIDE_PX = 4.0
"""How far a corner may lie outside of the picture: hulls of a sheet that touches its side reach over it."""


def outlines(lab: Floats) -> Floats:
    """Return quadrilaterals (n, 4, 2) in px, clockwise from the corner nearest to the upper left.

    Parameters
    ----------
    lab : float array of shape (h, w, 3)
        A small picture in CIE Lab.
    """
    quads = [quad for mask in _masks(lab) for quad in _round_groups(mask)]
    quads += _between_lines(lab[..., 0])
    return _kept(quads, lab.shape[1::-1])


def _masks(lab: Floats) -> list[Flags]:
    """Return masks of what is light, or pale, or unlike the picture's rim, at several thresholds each."""
    light, chroma = lab[..., 0], np.hypot(lab[..., 1], lab[..., 2])
    rim = np.concatenate([lab[:4].reshape(-1, 3), lab[-4:].reshape(-1, 3), lab[:, :4].reshape(-1, 3), lab[:, -4:].reshape(-1, 3)])
    unlike = (lab - np.median(rim, axis=0)) * (0.5, 1.0, 1.0)
    channels = (light, light - 1.2 * chroma, -chroma, np.linalg.norm(unlike, axis=-1))
    masks = []
    for channel in channels:
        smooth = gaussian(channel, _SMOOTHED_PX)
        cuts = {float(threshold_otsu(smooth)), *map(float, threshold_multiotsu(smooth, 3))}
        low, high = np.percentile(smooth, [1, 90])
        cuts.add(float(high - 0.12 * (high - low)))
        masks += [opening(smooth > cut, disk(_OPENED_PX)) for cut in cuts]
    return masks


def _round_groups(mask: Flags) -> list[Floats]:
    """Return the quadrilaterals round the largest groups of a mask."""
    groups = regionprops(label(mask))
    large = [group for group in groups if group.area_filled >= _LEAST_SHARE * mask.size]
    large.sort(key=lambda group: -group.area)
    return [quad for group in large[:_GROUPS] if (quad := _four_sides(group.coords[:, ::-1] + 0.5)) is not None]


def _four_sides(points: Floats) -> Floats | None:
    """Return the hull of points with all sides dropped but four, those that cost least area first.

    The neighbors of a side that is dropped are prolonged until they meet: so a corner that is clipped, rounded or
    hidden comes back.
    """
    try:
        hull = points[ConvexHull(points).vertices]
    except QhullError:
        return None
    corners = [tuple(corner) for corner in hull]
    while len(corners) > 4:
        costs = [_prolonged(corners, at) for at in range(len(corners))]
        at = min(range(len(corners)), key=lambda at: costs[at][0])
        if not np.isfinite(costs[at][0]):
            return None
        corners[at] = costs[at][1]
        del corners[(at + 1) % len(corners)]
    return np.array(corners)


def _prolonged(corners: list[tuple[float, ...]], at: int) -> tuple[float, tuple[float, float]]:
    """Return the area added where the side that begins at a corner is dropped, and the corner that comes instead."""
    count = len(corners)
    (ax, ay), (bx, by) = corners[at - 1], corners[at]
    (cx, cy), (dx, dy) = corners[(at + 1) % count], corners[(at + 2) % count]
    first, second = (bx - ax, by - ay), (cx - dx, cy - dy)
    turn = first[0] * second[1] - first[1] * second[0]
    if turn == 0.0:
        return np.inf, (0.0, 0.0)
    along = ((cx - bx) * second[1] - (cy - by) * second[0]) / turn
    if along < 0.0:  # the neighbors part
        return np.inf, (0.0, 0.0)
    x, y = bx + along * first[0], by + along * first[1]
    return abs((x - bx) * (cy - by) - (y - by) * (cx - bx)) / 2, (x, y)


def _between_lines(light: Floats) -> list[Floats]:
    """Return the largest quadrilaterals whose four sides are lines of the picture with edge under them."""
    edges = canny(light, 1.5)
    angles = np.linspace(-np.pi / 2, np.pi / 2, 360, endpoint=False)
    _, turns, shifts = hough_line_peaks(
        *hough_line(edges, angles), min_distance=6, min_angle=6, num_peaks=_LINES
    )
    lines = np.stack([np.cos(turns), np.sin(turns), -(shifts + 0.5 * (np.cos(turns) + np.sin(turns)))], axis=-1)
    near = [pair for pair in combinations(range(len(lines)), 2) if abs(lines[pair[0], :2] @ lines[pair[1], :2]) > 0.8]
    quads = []
    for one, two in combinations(near, 2):
        if set(one) & set(two) or abs(lines[one[0], :2] @ lines[two[0], :2]) > 0.8:
            continue
        crossings = [np.cross(lines[a], lines[b]) for a, b in ((one[0], two[0]), (two[0], one[1]), (one[1], two[1]), (two[1], one[0]))]
        if min(abs(point[2]) for point in crossings) < 1e-6:
            continue
        quads.append(np.array([point[:2] / point[2] for point in crossings]))
    quads = list(_kept(quads, light.shape[1::-1]))
    quads.sort(key=lambda quad: -_area(quad))
    return quads[: 4 * _LINE_QUADS]


def _area(quad: Floats) -> float:
    x, y = quad.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _kept(quads: list[Floats], size: tuple[int, ...]) -> Floats:
    """Return those that are convex, large, and in the picture, clockwise, none twice."""
    kept: list[Floats] = []
    for quad in quads:
        quad = ordered(quad)
        steps = np.roll(quad, -1, axis=0) - quad
        after = np.roll(steps, -1, axis=0)
        turns = (steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0]) / np.maximum(np.hypot(*steps.T) * np.hypot(*after.T), 1e-9)
        inside = ((quad > -_OUTSIDE_PX) & (quad < np.array(size) + _OUTSIDE_PX)).all()
        if not inside or (turns < 0.3).any() or _area(quad) < _LEAST_SHARE * size[0] * size[1]:
            continue
        if all(np.abs(quad - other).max() > _TWINS_PX for other in kept):
            kept.append(quad)
    return np.array(kept).reshape(-1, 4, 2)


def ordered(quad: Floats) -> Floats:
    """Return four corners clockwise as seen, the one nearest to the upper left first."""
    if _area(quad) < 0:
        quad = quad[::-1]
    return np.roll(quad, -int(np.argmin(quad.sum(axis=1))), axis=0)
