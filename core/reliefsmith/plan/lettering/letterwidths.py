"""How wide the strokes of letters are, and the gaps in and between them.

At a point p of an outline the width is that of the largest disc that touches it there and lies inside: the
least, over all other points q of the outline, of |q - p|^2 / (n (q - p)), n the normal (after Ma, Bae and
Choi, 3D medial axis point approximation using nearest neighbors and the normal field, The Visual Computer 28,
2012; from memory). It counts where the disc lies between two sides that face each other, so corners are no
thin strokes. The same on the outer side gives the gaps.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ...model.arrays import Floats

__all__ = ["stroke_and_gap"]

_STROKE_SHARE, _GAP_SHARE = 0.4, 0.2
"""Which widths count, as shares of the outline in order of width: few strokes may be thinner than the least,
fewer gaps narrower. Measured against what repair leaves of lines (tests/benchmarks/lettering.py)."""

_FACING = -0.5
"""Two sides face each other where their normals are 120 degrees apart or more."""

_SAME_MM2, _LEAST_BEND = 1e-12, 1e-4
"""A point does not touch itself, and a disc of 10 m is a straight line."""

_FINE = 2.5
"""Points that discs may touch, by width of stroke; the widths are taken at every other one."""


def stroke_and_gap(letters: Sequence[shapely.Polygon], about: float) -> tuple[float, float]:
    """Return the width of the strokes of a line of letters and of its gaps, in mm.

    Parameters
    ----------
    letters : sequence of Polygon
        In the order of the line, so that neighbors follow each other.
    about : float
        Roughly the width of a stroke.
    """
    sides = [_outline(letter, about / _FINE) for letter in letters]
    strokes, gaps = [], []
    for number, (points, normals, share) in enumerate(sides):
        at, inward, own = points[::2], normals[::2], share[::2]
        strokes.append(_widths(at, inward, points, normals, own))
        near = sides[max(number - 1, 0) : number + 2]
        around, facing = (np.concatenate([side[part] for side in near]) for part in (0, 1))
        gaps.append(_widths(at, -inward, around, -facing, own))
    return _at_share(strokes, _STROKE_SHARE, about), _at_share(gaps, _GAP_SHARE, np.inf)


def _outline(letter: shapely.Polygon, step: float) -> tuple[Floats, Floats, Floats]:
    """Return points along the outline, normals there that point inward, and the length each stands for."""
    points, normals, share = [], [], []
    rings = shapely.get_rings(shapely.orient_polygons(letter))  # the inside is on the left
    for ring in rings:
        length = float(shapely.length(ring))
        count = 2 * max(4, int(np.ceil(length / step / 2)))
        ends = np.arange(count + 1) * (length / count)
        corners = shapely.get_coordinates(shapely.line_interpolate_point(ring, ends))
        along = np.diff(corners, axis=0)
        size = np.maximum(np.hypot(*along.T), 1e-9)[:, None]
        points.append((corners[:-1] + corners[1:]) / 2)
        normals.append(np.column_stack((-along[:, 1], along[:, 0])) / size)
        share.append(np.full(count, length / count))
    return np.concatenate(points), np.concatenate(normals), np.concatenate(share)


def _widths(at: Floats, normal: Floats, around: Floats, facing: Floats, share: Floats) -> Floats:
    """Return rows of width and share, for points whose disc touches a side that faces theirs."""
    x = around[:, 0] - at[:, :1]
    y = around[:, 1] - at[:, 1:]
    bend = x * normal[:, :1] + y * normal[:, 1:]
    bend /= x * x + y * y + _SAME_MM2
    nearest = bend.argmax(axis=1)
    tightest = bend[np.arange(len(at)), nearest]
    between = (normal * facing[nearest]).sum(axis=1) <= _FACING
    kept = between & (tightest > _LEAST_BEND)
    rows: Floats = np.column_stack((1 / tightest[kept], share[kept]))
    return rows


def _at_share(rows: Sequence[Floats], share: float, otherwise: float) -> float:
    """Return the width below which a share of all lies; `otherwise` where there is none."""
    table = np.concatenate(rows)
    if len(table) == 0:
        return otherwise
    table = table[np.argsort(table[:, 0], kind="stable")]
    reached: Floats = np.cumsum(table[:, 1])
    return float(table[np.searchsorted(reached, share * reached[-1]), 0])
