"""Straight lines of a picture, and the quadrilaterals between four of them that look most like a sheet.

Each line is read once along its whole length: the colors on its two sides, summed up. So the colors along any
stretch of it are two look-ups, and thousands of quadrilaterals can be compared.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt
from skimage.feature import canny
from skimage.transform import hough_line, hough_line_peaks

from .shapes import Floats, convex

__all__ = ["between_lines"]

_LINES, _KEPT = 18, 40
"""Lines of the picture, and quadrilaterals between lines and sides that go on, at most."""
_ANGLES = np.linspace(-np.pi / 2, np.pi / 2, 360, endpoint=False)
_ALONG, _ACROSS = 0.8, 0.8
"""Cosine between two directions above which lines may be opposite sides, and below which neighbors."""
_STEP_PX = 2.0
_BESIDE_PX = np.arange(2.0, 6.0)
"""Along a line, and to either side of it, where colors are read."""
_CLEAR = 12.0
"""Difference in Lab between the colors beside a line that leaves no doubt."""
_ALIKE = 12.0
"""Difference of chroma between what lies within two sides at which they are not of one sheet."""


def between_lines(lab: Floats, sides: Floats) -> Floats:
    """Return the likeliest quadrilaterals (n, 4, 2) between lines of the picture and sides (m, 2, 2)."""
    lines = np.concatenate([_hough(lab[..., 0]), _through(sides)])
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
    order = np.argsort(-_likeness(lab, lines, fours, corners))
    return corners[order[:_KEPT]]


def _hough(light: Floats) -> Floats:
    """Return the strongest lines (n, 3): a x + b y + c = 0 with a unit normal."""
    edges = canny(light, 1.5)
    votes, angles, distances = hough_line(edges, _ANGLES)
    _, turns, shifts = hough_line_peaks(votes, angles, distances, 5, 5, num_peaks=_LINES)
    across, down = np.cos(turns), np.sin(turns)
    return np.stack([across, down, -(shifts + 0.5 * (across + down))], axis=-1)


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


def _likeness(lab: Floats, lines: Floats, fours: npt.NDArray[np.intp], corners: Floats) -> Floats:
    """Return how much quadrilaterals look like a sheet: one color within, other and darker ones beyond."""
    height, width = lab.shape[:2]
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
    apart = np.linalg.norm(colors[0] - colors[1], axis=-1)
    total = np.concatenate([np.zeros_like(apart[:, :1]), np.cumsum(apart, axis=1)], axis=1)
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
    step = np.linalg.norm(within - beyond, axis=-1)
    even = step / np.maximum((total[fours, high] - total[fours, low]) / count[..., 0], 1e-6)
    clear = np.minimum(step / _CLEAR, 1.0) * even
    chroma = within[..., 1:] - np.median(within[..., 1:], axis=1, keepdims=True)
    unlike = np.sort(np.linalg.norm(chroma, axis=-1), axis=1)[:, 2] / _ALIKE
    darker = (within[..., 0] < beyond[..., 0] - 1).sum(axis=1)
    pale = within[..., 0] - np.linalg.norm(within[..., 1:], axis=-1)
    usual = np.median(lab[..., 0] - np.linalg.norm(lab[..., 1:], axis=-1))
    paper = np.clip((pale.mean(axis=1) - usual) / _CLEAR, -1.0, 1.0)
    likeness: Floats = clear.min(axis=1) + clear.mean(axis=1) + paper - unlike - 0.3 * darker
    return likeness
