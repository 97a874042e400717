"""What speaks for the sides of a quadrilateral being those of a sheet: an edge all along, paper within, none beyond.

Across each side colors are read at many places. The side of a sheet is a parabola through steps of color: a lens
bends it, and paper curls.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

__all__ = ["Evidence", "crossed", "evidence", "moved", "outward"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_PLACES = 40
_ENDS = 0.05
_REACH = 10
"""Pixels to either side of a line in which its edge is looked for."""
_IN, _OUT = 23, 24
_STEP = 5.5
"""Weighted Lab difference that counts as an edge."""
_WEIGHTS = np.array([1.0, 1.5, 1.5])
_ALIKE = 4.0
_AS_BEYOND = 5.0
_PAPER_CHROMA = 8.0
_PAPER_LIGHT = (0.5, 1.25)
_DRAWN = 0.5
_PLAIN_STEP, _OUTWARD = 15.0, 0.02
_ROUNDS = (8.0, 5.0, 3.0, 2.0, 1.6)
_ON_PX = 1.6


@dataclass(frozen=True)
class Evidence:
    """What was found along the four sides of n quadrilaterals.

    Parameters
    ----------
    bows : float array of shape (n, 4, 3)
        Parabola of each side: offset outward in px by place from -1 to 1, highest power first.
    support : float array of shape (n, 4)
        Share of places with an edge on the parabola.
    paper : float array of shape (n, 4)
        Share of places within that have the paper's color.
    table : float array of shape (n, 4)
        Share of places within that have a color found beyond one of the sides.
    beyond : float array of shape (n, 4)
        Share of places where the color beyond is that within.
    lighter : float array of shape (n, 4)
        L* by which it is lighter within.
    """

    bows: Floats
    support: Floats
    paper: Floats
    table: Floats
    beyond: Floats
    lighter: Floats

    def only(self, at: int) -> Evidence:
        """Return that of one quadrilateral."""
        return Evidence(*(getattr(self, item.name)[at] for item in fields(self)))


def evidence(lab: Floats, quads: Floats) -> Evidence:
    """Read the sides of quadrilaterals (n, 4, 2) in a small picture in Lab (h, w, 3)."""
    across, seen = _profiles(lab, quads)
    sums = np.concatenate([np.zeros_like(across[..., :1, :]), np.cumsum(across, axis=-2)], axis=-2)

    def mean(first: Floats, last: Floats) -> Floats:
        """Return the mean color from offset `first` to `last` for offsets (n, 4, places) or (offsets,)."""
        low, high = first + _IN, last + _IN + 1
        if low.ndim == 1:
            return (sums[..., high, :] - sums[..., low, :]) / (high - low)[:, None]
        picked = [np.take_along_axis(sums, at[..., None, None], axis=-2)[..., 0, :] for at in (low, high)]
        return (picked[1] - picked[0]) / (high - low)[..., None]

    paper_color = _paper_color(lab, quads)[:, None, None, None]
    offsets = np.arange(-_REACH, _REACH + 1)
    inside, outside = mean(offsets - 3, offsets - 1), mean(offsets + 1, offsets + 3)
    far = mean(offsets + 6, offsets + 9)
    step = _difference(inside, outside)
    apart = np.minimum(step, 2 * np.maximum(_difference(inside, far) - _ALIKE, 0))
    drawn = _DRAWN * step * ~(_is_paper(outside, paper_color) | _is_paper(far, paper_color))
    apart = np.where(_is_paper(inside, paper_color), apart, drawn)
    good = seen[..., _IN - _REACH : _IN + _REACH + 1]
    weight = np.where(good, np.minimum(apart, _PLAIN_STEP) * (1 + _OUTWARD * offsets), 0.0)
    raw = np.where(good, apart, 0.0)
    chosen = _strongest_near(raw, np.argmax(weight, axis=-1), 2)
    place = np.linspace(-1, 1, _PLACES)
    strong = np.take_along_axis(raw, chosen[..., None], axis=-1)[..., 0] > _STEP
    bows = _fitted(place, (chosen - _REACH).astype(float), strong)
    at = bows @ np.stack([place**2, place, np.ones_like(place)])
    at = np.clip(np.rint(at), -_REACH, _REACH).astype(int)
    nearest = _strongest_near(raw, at + _REACH, 1)
    best = np.take_along_axis(raw, nearest[..., None], axis=-1)[..., 0]
    band = mean(at - 13, at - 4)
    paper = _is_paper(band, paper_color[..., 0, :])
    table = ~paper & _as_beyond(band, mean(at + 4, at + 9), paper_color[..., 0, :])
    beyond = _difference(mean(at - 6, at - 3), mean(at + 8, at + 12)) < _ALIKE
    lighter = np.median(mean(at - 6, at - 2)[..., 0] - mean(at + 2, at + 6)[..., 0], axis=-1)
    return Evidence(bows, (best > _STEP).mean(-1), paper.mean(-1), table.mean(-1), beyond.mean(-1), lighter)


def moved(quads: Floats, bows: Floats) -> Floats:
    """Return quadrilaterals moved onto the parabolas of their sides."""
    return np.array([crossed(quad, bow) for quad, bow in zip(quads, bows, strict=True)])


def outward(quad: Floats) -> Floats:
    """Return the unit normals (..., 4, 2) of sides, from corner i to corner i + 1."""
    steps = np.roll(quad, -1, axis=-2) - quad
    normal = np.stack([steps[..., 1], -steps[..., 0]], axis=-1)
    unit: Floats = normal / np.linalg.norm(steps, axis=-1, keepdims=True)
    return unit


def crossed(quad: Floats, bows: Floats) -> Floats:
    """Return where neighboring parabolas of a quadrilateral's sides meet, by Newton's steps.

    A side's place runs from -1 at one corner to 1 at the next; its parabola gives the offset outward there.
    """
    ends = np.roll(quad, -1, axis=0)
    half, middle, normal = (ends - quad) / 2, (ends + quad) / 2, outward(quad)
    corners = []
    for at in range(4):
        before = at - 1
        s, t = 1.0, -1.0
        for _ in range(8):
            one = middle[before] + s * half[before] + np.polyval(bows[before], s) * normal[before]
            two = middle[at] + t * half[at] + np.polyval(bows[at], t) * normal[at]
            slope = np.stack([
                half[before] + np.polyval(np.polyder(bows[before]), s) * normal[before],
                -(half[at] + np.polyval(np.polyder(bows[at]), t) * normal[at]),
            ], axis=-1)
            if abs(np.linalg.det(slope)) < 1e-6:
                break
            step = np.linalg.solve(slope, two - one)
            s, t = float(np.clip(s + step[0], -3, 3)), float(np.clip(t + step[1], -3, 3))
        corners.append(middle[at] + t * half[at] + np.polyval(bows[at], t) * normal[at])
    return np.array(corners)


def _profiles(lab: Floats, quads: Floats) -> tuple[Floats, Flags]:
    """Return colors (n, 4, places, offsets, 3) across the sides, and which of them lie in the picture."""
    ends = np.roll(quads, -1, axis=1)
    along = np.linspace(_ENDS, 1 - _ENDS, _PLACES)
    steps, normal = ends - quads, outward(quads)
    on = quads[:, :, None] + along[:, None] * steps[:, :, None]
    places = on[..., None, :] + np.arange(-_IN, _OUT)[:, None] * normal[:, :, None, None]
    height, width = lab.shape[:2]
    column, row = np.floor(places[..., 0]).astype(int), np.floor(places[..., 1]).astype(int)
    seen = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    return lab[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)], seen


def _strongest_near(weight: Floats, index: Floats, reach: int) -> Floats:
    """Return the index of the largest weight along the last axis, no farther than `reach` from an index."""
    near = np.clip(index[..., None] + np.arange(-reach, reach + 1), 0, weight.shape[-1] - 1)
    best = np.argmax(np.take_along_axis(weight, near, axis=-1), axis=-1)
    return np.take_along_axis(near, best[..., None], axis=-1)[..., 0]


def _difference(one: Floats, two: Floats) -> Floats:
    return np.linalg.norm((one - two) * _WEIGHTS, axis=-1)


def _paper_color(lab: Floats, quads: Floats) -> Floats:
    """Return the color (n, 3) of most of the lighter half within each quadrilateral."""
    share = np.linspace(0.08, 0.92, 14)
    left, right = (quads[:, at, None] + share[:, None] * (quads[:, other] - quads[:, at])[:, None] for at, other in ((0, 3), (1, 2)))
    places = left[:, :, None] + share[:, None] * (right - left)[:, :, None]
    height, width = lab.shape[:2]
    at = np.floor(places).astype(int)
    colors = lab[np.clip(at[..., 1], 0, height - 1), np.clip(at[..., 0], 0, width - 1)].reshape(len(quads), -1, 3)
    order = np.argsort(colors[..., 0], axis=1)[:, colors.shape[1] // 2 :]
    paper: Floats = np.median(np.take_along_axis(colors, order[..., None], axis=1), axis=1)
    return paper


def _is_paper(color: Floats, paper: Floats) -> Flags:
    """Return which colors are those of the paper, in less light or in a little more."""
    light = color[..., 0] / np.maximum(paper[..., 0], 1.0)
    off = np.linalg.norm(color[..., 1:] - paper[..., 1:] * light[..., None], axis=-1)
    return (off < _PAPER_CHROMA) & (light > _PAPER_LIGHT[0]) & (light < _PAPER_LIGHT[1])


def _as_beyond(band: Floats, beyond: Floats, paper: Floats) -> Flags:
    """Return which colors within (n, 4, places, 3) are like some beyond that are no paper's."""
    weights = np.array([0.5, 1.0, 1.0])
    within, out = (item.reshape(len(item), -1, 3) * weights for item in (band, beyond))
    other = ~_is_paper(beyond, paper).reshape(len(beyond), -1)
    apart = np.linalg.norm(within[:, :, None] - out[:, None], axis=-1)
    alike: Flags = (np.where(other[:, None], apart, np.inf).min(axis=-1) < _AS_BEYOND).reshape(band.shape[:-1])
    return alike


def _fitted(place: Floats, offset: Floats, known: Flags) -> Floats:
    """Fit parabolas (n, 4, 3) to offsets (n, 4, places), what lies far off left out more and more."""
    powers = np.stack([place**2, place, np.ones_like(place)], axis=-1)
    middle = np.median(np.where(known, offset, 0.0), axis=-1, keepdims=True)
    off = np.abs(offset - middle)
    bows = np.zeros((*offset.shape[:-1], 3))
    for reach in _ROUNDS:
        weight = (known & (off <= reach)).astype(float)
        normal = np.einsum("...p,pi,pj->...ij", weight, powers, powers) + np.diag([0.5, 0.05, 0.01])
        right = np.einsum("...p,...p,pi->...i", weight, offset, powers)
        bows = np.linalg.solve(normal, right[..., None])[..., 0]
        off = np.abs(offset - bows @ powers.T)
    return bows
