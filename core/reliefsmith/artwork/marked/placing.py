"""Where a sheet lies in a photograph: from millimetres on it to pixels, measured along printed edges.

A homography (a flat sheet before a camera without a lens), one term for the lens, and two for how far paper
that curls stands up. All of it is fitted to places on the edges of the marks and on the line round the field
by least squares (Gauss and Newton); what lies off is left out: strokes that cross, a thumb, a shadow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ...formats.classlayout import FIELD, FRAME_MM, MARK_MM, MARKS, RINGS_MM
from ...model.arrays import Bytes, Flags, Floats
from ..bilinear import sampled
from ..framing import homography

__all__ = ["Place", "at_middles", "placed"]

_ALONG = np.linspace(0.1, 0.9, 9)
"""Places along each edge of a mark, as shares of it: not at its corners, which blur rounds."""
_ON_LINE = 48  # places along each side of the line round the field
_STEP_MM = 0.1  # between levels looked at across an edge: a pixel where 7 megapixels show a whole A4 sheet
_REACHES_MM = (1.6, 1.2, 0.9, 0.9)
"""How far from where it must be an edge is looked for, in each round; those of a mark are 2 mm apart."""
_LINE_MORE = 2.0
"""The line round the field stands alone and bends most: it is looked for so much farther."""
_CLEAR = 0.35
"""Of the usual change of brightness that a place must show."""
_BEYOND = -1000.0
"""Stands for the change of brightness where none is looked for: 255 is the most there is."""
_TRIMS = 6
_LEAST_MM = 0.12
"""Trimmed fits, and how near to its edge a place always counts."""
_NUDGE = 1e-4  # relative step of the differences that stand for derivatives
_TERMS = 11
"""Eight of the homography, the lens, two of curl."""
_FOCALS = (0.4, 1.2, 0.62)
"""Focal lengths of telephones' cameras by the picture's diagonal: least, most, usual (common practice)."""
_HELD = np.eye(_TERMS)[8:] * 0.5 / np.array([[0.05], [5.0], [5.0]])
"""What holds back a lens beyond 5 % and paper that stands up by more than 5 mm: as a place 0.5 mm off does.
Seen from straight above, as by a scanner, lens, curl and scale look alike; edges do not tell them apart."""
_TINY = 1e-30  # keeps a division by zero apart


@dataclass(frozen=True, slots=True)
class Place:
    """Where a sheet lies.

    Parameters
    ----------
    matrix : float array of shape (3, 3)
        From mm on the flat sheet to px without a lens.
    middle : float array of shape (2,)
        Of the picture, in px.
    reach : float
        Half of the picture's diagonal, in px.
    lens : float
        px without a lens = px seen times 1 + lens r^2, from the middle, r in `reach`.
    curl : float array of shape (2,)
        How far the paper's middle stands up, bent across and down, in mm.
    off_mm : float
        Median distance of the printed edges from where they must be.
    """

    matrix: Floats
    middle: Floats
    reach: float
    lens: float
    curl: Floats
    off_mm: float = 0.0

    def pixels(self, mm: Floats) -> Floats:
        """Return the pixels (..., 2) of places on the sheet."""
        share = mm / FRAME_MM
        height = (4 * share * (1 - share)) @ self.curl
        straight = mm @ self.matrix[:, :2].T + self.matrix[:, 2] + height[..., None] * self._up()
        straight = (straight[..., :2] / straight[..., 2:] - self.middle) / self.reach
        seen = straight
        for _ in range(6):
            seen = straight / (1 + self.lens * (seen**2).sum(axis=-1, keepdims=True))
        pixels: Floats = seen * self.reach + self.middle
        return pixels

    def _up(self) -> Floats:
        """Return what a millimetre toward the camera adds to a place, as the matrix does.

        Its columns, seen from the picture's middle, are the sheet's two directions times the focal length,
        the one that makes them as long as each other and square; the way up is square to both.
        """
        middle = np.append(self.middle, 0.0)
        across, down = (self.matrix[:, at] - self.matrix[2, at] * middle for at in (0, 1))
        flat = np.array([across[:2] @ down[:2], across[:2] @ across[:2] - down[:2] @ down[:2]])
        deep = np.array([across[2] * down[2], across[2] ** 2 - down[2] ** 2])
        squared = -float(flat @ deep) / max(float(deep @ deep), _TINY)
        low, high, usual = (2 * self.reach * share for share in _FOCALS)
        focal = min(math.sqrt(squared), high) if squared > low * low else usual
        seen = np.array([focal, focal, 1.0])
        way = np.cross(down / seen, across / seen) / np.linalg.norm(across / seen) * seen
        up: Floats = way + way[2] * middle
        return up

    def changed(self, by: Floats) -> Place:
        """Return it with eight terms of the matrix, the lens and the curl changed, all in terms near one."""
        matrix = self.matrix + np.append(by[:8], 0.0).reshape(3, 3) * _scales(self.matrix)
        return replace(self, matrix=matrix, lens=self.lens + by[8], curl=self.curl + by[9:])


def at_middles(middles: Floats, size: tuple[int, int]) -> Place:
    """Return where a sheet lies by the middles (4, 2) px of its marks in a picture of (width, height) px."""
    whole = np.array(size, dtype=np.float64)
    matrix = homography(np.array(MARKS) + MARK_MM / 2, middles)
    return Place(matrix, whole / 2, float(np.hypot(*whole)) / 2, 0.0, np.zeros(2))


def placed(grey: Bytes, place: Place) -> Place:
    """Measure where a sheet lies in a picture at full size, from a guess within a millimetre or so."""
    at, way, kind = _edges()
    for reach in _REACHES_MM:
        ends = np.where(kind == 0, reach + _LINE_MORE, reach)
        most = reach + _LINE_MORE + 1.0
        steps = np.arange(-most, most + _STEP_MM / 2, _STEP_MM)
        profile = sampled(grey, place.pixels(at[:, None] + steps[:, None] * way[:, None]))
        off, clear = _offsets(profile, steps, kind, ends)
        place = _fitted(place, at, way, off, clear)
    return place


def _scales(matrix: Floats) -> Floats:
    """Return how much each entry changes for a step of one: about a hundred pixels at the frame's end."""
    away = abs(matrix[2, 2])
    step = np.array([100 / FRAME_MM[0], 100 / FRAME_MM[1], 100.0]) * away
    bend = np.array([0.1 / FRAME_MM[0], 0.1 / FRAME_MM[1], 0.0]) * away
    return np.stack([step, step, bend])


def _edges() -> tuple[Floats, Floats, Floats]:
    """Return places on printed edges in mm (n, 2), the way out of each (n, 2), and what is there (n).

    1 stands for an edge where it gets lighter outward, -1 for a darker one, 0 for the field's line.
    """
    boxes = [
        (x + inset, y + inset, x + MARK_MM - inset, y + MARK_MM - inset, sign)
        for x, y in MARKS
        for inset, sign in zip(RINGS_MM, (1.0, -1.0, 1.0), strict=True)
    ]
    at, way, kind = [], [], []
    for left, top, right, low, sign in [*boxes, (*FIELD, 0.0)]:
        share = _ALONG if sign else (np.arange(_ON_LINE) + 0.5) / _ON_LINE
        x, y = left + share * (right - left), top + share * (low - top)
        for side, out in (
            (np.stack([x, np.full_like(x, top)], axis=-1), (0.0, -1.0)),
            (np.stack([np.full_like(y, right), y], axis=-1), (1.0, 0.0)),
            (np.stack([x, np.full_like(x, low)], axis=-1), (0.0, 1.0)),
            (np.stack([np.full_like(y, left), y], axis=-1), (-1.0, 0.0)),
        ):
            at.append(side)
            way.append(np.tile(out, (len(share), 1)))
            kind.append(np.full(len(share), sign))
    return np.concatenate(at), np.concatenate(way), np.concatenate(kind)


def _offsets(profile: Floats, steps: Floats, kind: Floats, ends: Floats) -> tuple[Floats, Flags]:
    """Return how far outward each edge is seen, in mm, and where it is seen clearly."""
    wide = round(0.4 / _STEP_MM)
    before, after = np.roll(profile, wide, axis=1), np.roll(profile, -wide, axis=1)
    aside = round(1.0 / _STEP_MM)
    beside = np.minimum(np.roll(profile, aside, axis=1), np.roll(profile, -aside, axis=1))
    narrow = (before + 2 * profile + after) / 4
    seen = np.where(kind[:, None] == 0, beside - narrow, kind[:, None] * (after - before))
    seen = np.where(np.abs(steps) > ends[:, None], _BEYOND, seen)
    top = np.argmax(seen, axis=1)
    rows = np.arange(len(seen))
    peak = seen[rows, top]
    left, right = seen[rows, np.maximum(top - 1, 0)], seen[rows, np.minimum(top + 1, len(steps) - 1)]
    bend = left - 2 * peak + right
    shift = 0.5 * (left - right) / np.minimum(bend, -1e-9)
    clear = np.minimum(left, right) > _BEYOND
    for one in (kind == 0, kind != 0):
        clear[one] &= peak[one] > _CLEAR * np.median(peak[one])
    return steps[top] + np.clip(shift, -0.5, 0.5) * _STEP_MM, clear


def _fitted(place: Place, at: Floats, way: Floats, off: Floats, clear: Flags) -> Place:
    """Return a place that fits edges seen so far outward of where it has them."""
    here = place.pixels(at)
    out = (place.pixels(at + _NUDGE * way) - here) / _NUDGE
    scale = np.maximum(np.linalg.norm(out, axis=1), 1e-9)  # px for a mm
    unit = out / scale[:, None]
    moved = [
        ((place.changed(_NUDGE * one).pixels(at) - here) / _NUDGE * unit).sum(axis=1) / scale
        for one in np.eye(_TERMS)
    ]
    terms = np.stack(moved, axis=1)
    used = clear
    by = np.zeros(_TERMS)
    held = -_HELD[:, 8:] @ np.append(place.lens, place.curl)
    for _ in range(_TRIMS):
        rows, seen = np.append(terms[used], _HELD, axis=0), np.append(off[used], held)
        by = np.linalg.lstsq(rows, seen, rcond=None)[0]
        left = np.abs(off - terms @ by)
        near = max(3 * 1.4826 * float(np.median(left[used])), _LEAST_MM)
        used = clear & (left < near)
    return replace(place.changed(by), off_mm=float(np.median(left[clear])))
