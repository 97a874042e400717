"""Straight lines of a picture, and the quadrilaterals between four of them that look most like a sheet.

Each line is read once along its whole length: the colors on its two sides, summed up. So the colors along any
stretch of it are two look-ups, and thousands of quadrilaterals can be compared.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter, gaussian_filter1d
from skimage.feature import canny
from skimage.transform import hough_line_peaks

from ...model.arrays import Floats
from .shapes import convex

__all__ = ["between_lines"]

_LINES, _KEPT = 18, 60
"""Lines of the picture, and quadrilaterals between lines and sides that go on, at most."""
_ANGLES = np.linspace(-np.pi / 2, np.pi / 2, 180, endpoint=False)
"""A degree apart, in radians."""
_SLOPE_PX, _CLEAREST = 1.5, (0.8, 0.9)
"""Sigma of the slope in px, and its quantiles from which on edges go on and begin."""
_SAME_WAY = 0.98
"""Cosine between the ways of an edge and of a line for which it votes."""
_ON_PX = 2.0
"""How far from a line an edge lies that is on it."""
_LEAST_VOTES = 0.15
"""Of the strongest line's, that a line has."""
_ALONG, _ACROSS = 0.8, 0.8
"""Cosine between two directions above which lines may be opposite sides, and below which neighbors."""
_STEP_PX = 2.0
_BESIDE_PX = np.arange(2.0, 6.0)
"""Along a line, and to either side of it, where colors are read."""
_CLEAR = 12.0
"""Difference in Lab between the colors beside a line that leaves no doubt."""
_ALIKE = 12.0
"""Difference of chroma between what lies within two sides at which they are not of one sheet."""


def between_lines(lab: Floats, sides: Floats, grain: float) -> Floats:
    """Return the likeliest quadrilaterals (n, 4, 2) between lines of a picture and sides (m, 2, 2)."""
    edges = _edges(lab[..., 0])
    lines = np.concatenate([_one_way(edges, lab.shape[:2]), _through(sides)])
    lines = _without_twins(lines, lab.shape[1::-1])
    fours = _fours(lines)
    corners = _crossings(lines, fours)
    # Corners are found in a fixed turn; where that is not clockwise, it is gone round the other way.
    area = np.einsum(
        "ni,ni->n", corners[..., 0], np.roll(corners[..., 1], -1, 1) - np.roll(corners[..., 1], 1, 1)
    )
    back = area < 0
    corners[back], fours[back] = corners[back][:, [0, 3, 2, 1]], fours[back][:, [3, 2, 1, 0]]
    good = convex(corners, lab.shape[1::-1])
    corners, fours = corners[good], fours[good]
    order = np.argsort(-_likeness(lab, edges, lines, (fours, corners), grain * _CLEAR))
    return corners[order[:_KEPT]]


def _edges(light: Floats) -> Floats:
    """Return places (n) of thin edges, x and y, and the unit vector up the slope of each: (4, n)."""
    row, column = np.nonzero(canny(light, _SLOPE_PX, *_CLEAREST, use_quantiles=True))
    right, down = (gaussian_filter(light, _SLOPE_PX, order=way)[row, column] for way in ((0, 1), (1, 0)))
    size = np.maximum(np.hypot(right, down), 1e-9)
    return np.stack([column + 0.5, row + 0.5, right / size, down / size])


def _one_way(edges: Floats, shape: tuple[int, ...]) -> Floats:
    """Return lines (n, 3), a x + b y + c = 0 with a unit normal, along which the light turns one way.

    Each edge votes for the lines that run as it does, with the sign of its step: a faint edge as long as a
    sheet stands out, and weave, drawn lines and joints, which turn both ways, cancel out.
    """
    x, y, right, down = edges
    reach = math.ceil(math.hypot(*shape))
    votes = np.empty((2 * reach + 1, len(_ANGLES)))
    for at, angle in enumerate(_ANGLES):
        c, s = math.cos(angle), math.sin(angle)
        along = c * right + s * down
        on = np.abs(along) > _SAME_WAY
        bins = np.rint(c * x[on] + s * y[on]).astype(np.intp) + reach
        votes[:, at] = np.bincount(bins, np.sign(along[on]), 2 * reach + 1)
    votes = np.abs(gaussian_filter1d(votes, 1.0, axis=0))
    least = _LEAST_VOTES * float(votes.max())
    _, turns, shifts = hough_line_peaks(
        votes, _ANGLES, np.arange(-reach, reach + 1), 5, 5, threshold=least, num_peaks=_LINES
    )
    across, up = np.cos(turns), np.sin(turns)
    return np.stack([across, up, -shifts], axis=-1)


def _on_lines(edges: Floats, lines: Floats, stations: Floats) -> Floats:
    """Return which way the light turns at stations along lines (n, stations): -1, 1, or 0 for neither."""
    x, y, right, down = edges
    across, up, away = lines.T[:, :, None]
    turn = across * right + up * down
    on = (np.abs(across * x + up * y + away) < _ON_PX) & (np.abs(turn) > _SAME_WAY)
    line, edge = np.nonzero(on)
    along = lines[line, 0] * y[edge] - lines[line, 1] * x[edge]
    at = np.clip(((along - stations[0]) / _STEP_PX).astype(np.intp), 0, len(stations) - 1)
    size = len(lines) * len(stations)
    votes = np.bincount(line * len(stations) + at, np.sign(turn[line, edge]), size)
    signs: Floats = np.sign(votes).reshape(len(lines), len(stations))
    return signs


def _through(sides: Floats) -> Floats:
    step = sides[:, 1] - sides[:, 0]
    normal = np.stack([step[:, 1], -step[:, 0]], axis=-1) / np.linalg.norm(step, axis=-1, keepdims=True)
    return np.concatenate([normal, -(normal * sides[:, 0]).sum(-1, keepdims=True)], axis=-1)


def _without_twins(lines: Floats, size: tuple[int, ...]) -> Floats:
    """Return the lines without those that run within 2 px of an earlier one at the picture's middle."""
    kept: list[Floats] = []
    middle = np.array([size[0] / 2, size[1] / 2, 1.0])
    for line in lines:
        alike = [
            other
            for other in kept
            if abs(line[:2] @ other[:2]) > 0.9998 and abs(abs(line @ middle) - abs(other @ middle)) < 2.0
        ]
        if not alike:
            kept.append(line)
    return np.array(kept).reshape(-1, 3)


def _fours(lines: Floats) -> npt.NDArray[np.intp]:
    """Return numbers of four lines (n, 4), in the order in which they are sides."""
    along = np.abs(lines[:, :2] @ lines[:, :2].T)
    pairs = [pair for pair in combinations(range(len(lines)), 2) if along[pair] > _ALONG]
    if len(pairs) < 2:
        return np.empty((0, 4), dtype=np.intp)
    near = np.array(pairs, dtype=np.intp)
    one, two = np.triu_indices(len(near), 1)
    fours = np.stack([near[one, 0], near[two, 0], near[one, 1], near[two, 1]], axis=-1)
    mixed = [along[fours[:, a], fours[:, b]] for a, b in ((0, 1), (1, 2), (2, 3), (3, 0))]
    found: npt.NDArray[np.intp] = fours[np.max(mixed, axis=0) < _ACROSS]
    return found


def _crossings(lines: Floats, fours: npt.NDArray[np.intp]) -> Floats:
    """Return where each line meets the one before, (n, 4, 2): side i runs from corner i to corner i + 1."""
    points = np.cross(lines[np.roll(fours, 1, axis=1)], lines[fours])
    flat = np.where(np.abs(points[..., 2:]) < 1e-6, 1e-6, points[..., 2:])
    corners: Floats = points[..., :2] / flat
    return corners


def _likeness(
    lab: Floats,
    edges: Floats,
    lines: Floats,
    quads: tuple[npt.NDArray[np.intp], Floats],
    clear_step: float,
) -> Floats:
    """Return how much quadrilaterals look like a sheet: an edge along each side, one color within."""
    (fours, corners), (height, width) = quads, lab.shape[:2]
    reach = np.hypot(height, width)
    along = np.stack([-lines[:, 1], lines[:, 0]], axis=-1)
    foot = -lines[:, 2:] * lines[:, :2]
    stations = np.arange(-reach, reach, _STEP_PX)
    on = foot[:, None] + stations[:, None] * along[:, None]
    sums, colors = [], []
    for sign in (1.0, -1.0):
        at = np.floor(on[:, :, None] + sign * _BESIDE_PX[:, None] * lines[:, None, None, :2]).astype(int)
        color = lab[np.clip(at[..., 1], 0, height - 1), np.clip(at[..., 0], 0, width - 1)].mean(axis=2)
        colors.append(color)
        sums.append(np.concatenate([np.zeros_like(color[:, :1]), np.cumsum(color, axis=1)], axis=1))
    signs = _on_lines(edges, lines, stations)
    total = np.concatenate([np.zeros_like(signs[:, :1]), np.cumsum(signs, axis=1)], axis=1)
    ends = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2)
    place = (
        np.einsum("nskx,nsx->nsk", ends, along[fours])
        - np.einsum("nsx,nsx->ns", foot[fours], along[fours])[..., None]
    )
    index = np.clip(np.rint((np.sort(place, axis=-1) + reach) / _STEP_PX).astype(int), 0, len(stations))
    low, high = index[..., 0], np.maximum(index[..., 1], index[..., 0] + 1)
    count = (high - low)[..., None]
    beside = [(one[fours, high] - one[fours, low]) / count for one in sums]
    middle = corners.mean(axis=1, keepdims=True)
    upper = (
        np.einsum("nsx,nsx->ns", np.broadcast_to(middle, corners.shape), lines[fours][..., :2])
        + lines[fours][..., 2]
        > 0
    )[..., None]
    within, beyond = np.where(upper, *beside), np.where(upper, *beside[::-1])
    clear = np.abs(total[fours, high] - total[fours, low]) / count[..., 0]
    chroma = within[..., 1:] - np.median(within[..., 1:], axis=1, keepdims=True)
    unlike = np.sort(np.linalg.norm(chroma, axis=-1), axis=1)[:, 2] / _ALIKE
    darker = (within[..., 0] < beyond[..., 0] - 1).sum(axis=1)
    pale = within[..., 0] - np.linalg.norm(within[..., 1:], axis=-1)
    usual = np.median(lab[..., 0] - np.linalg.norm(lab[..., 1:], axis=-1))
    paper = np.clip((pale.mean(axis=1) - usual) / clear_step, -1.0, 1.0)
    weakest = np.sort(clear, axis=1)[:, :2].mean(axis=1)
    likeness: Floats = weakest + clear.mean(axis=1) + 0.5 * (paper - unlike) - 0.3 * darker
    return likeness
