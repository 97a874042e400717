"""Cubic Bezier curves along polylines, within a tolerance that is checked both ways.

After P. J. Schneider, "An Algorithm for Automatically Fitting Digitized Curves", Graphics Gems (1990), pages
612-626: least squares for the two handles along given tangents, better parameters by Newton's step, and where
that does not reach the tolerance, a split at the farthest point. Ours differs in the check (of the curve
against the whole polyline too, not only of its points against the curve), in straight lines where no curve
stays within the tolerance, and in corners, which stay.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..polygons import GRID_MM, snapped

__all__ = ["CURVE_MM", "curved", "flattened"]

CURVE_MM = 0.01
"""A curve and the polyline it stands for lie within this of each other: twice what reducing allows."""

CORNER_DEG = 40.0
"""A sharper turn is a corner; the chords of a circle of 0.1 mm, reduced within 0.005 mm, turn by 36."""

_ROUNDS = 4
"""Steps of better parameters before a split."""

_SAMPLES = 24
"""Places at which a curve is held against its polyline, beside those at and between the polyline's points."""

_CAUTION = 0.97
"""Share of the tolerance that is used: between the places looked at a curve strays by less than the rest."""

Points = npt.NDArray[np.float64]

_TIMES = np.linspace(0.0, 1.0, _SAMPLES + 1)


def curved(points: Points, tolerance_mm: float = CURVE_MM) -> list[Points]:
    """Return a polyline as lines (2, 2) and cubic curves (4, 2), end to end, all on the 1 um grid.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
        On the grid, n >= 2, no two neighbors equal; closed and smooth at its start if the last is the first.
    tolerance_mm : float
        Largest distance of the curve from the polyline, and of the polyline's points from the curve.

    Examples
    --------
    >>> [len(piece) for piece in curved(np.array([[0.0, 0], [4, 0], [4, 3]]))]
    [2, 2]
    >>> half = np.linspace(0, np.pi, 40)
    >>> [len(piece) for piece in curved(np.stack((np.cos(half), np.sin(half)), axis=1).round(3))]
    [4, 4]
    """
    tangents, corner = _tangents(points)
    ends = [0, *(np.flatnonzero(corner[1:-1]) + 1).tolist(), len(points) - 1]
    found: list[Points] = []
    for first, last in pairwise(ends):
        piece = points[first : last + 1]
        own = tangents[first : last + 1].copy()
        if corner[first]:
            own[0] = _end_tangent(piece)
        if corner[last]:
            own[-1] = -_end_tangent(piece[::-1])
        found += _fitted(piece, own, tolerance_mm * _CAUTION)
    return found


def flattened(pieces: list[Points], steps: int = _SAMPLES) -> Points:
    """Return points along lines and curves, `steps` for each curve, ends included once."""
    times = np.linspace(0.0, 1.0, steps + 1)
    runs = [piece[:1] if len(piece) == 2 else _at(piece, times)[:-1] for piece in pieces]
    return np.concatenate([*runs, pieces[-1][-1:]])


def _tangents(points: Points) -> tuple[Points, npt.NDArray[np.bool_]]:
    """Return the tangent of the circle through each point and its neighbors, and what is a corner or end."""
    closed = bool((points[0] == points[-1]).all()) and len(points) > 3
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    units = steps / lengths[:, None]
    before = np.concatenate([units[-1:], units])
    after = np.concatenate([units, units[:1]])
    long_before = np.concatenate([lengths[-1:], lengths])[:, None]
    long_after = np.concatenate([lengths, lengths[:1]])[:, None]
    sums = before * long_after + after * long_before
    corner = (before * after).sum(axis=1) < np.cos(np.radians(CORNER_DEG))
    if not closed:
        corner[[0, -1]] = True
    sizes = np.hypot(*sums.T)
    sizes[sizes == 0.0] = 1.0
    return sums / sizes[:, None], corner


def _end_tangent(points: Points) -> Points:
    """Return the tangent at the first point: of the circle through the first three, else along the chord."""
    step = points[1] - points[0]
    first: Points = step / np.hypot(*step)
    if len(points) < 3:
        return first
    tangents, corner = _tangents(points[:3])
    if corner[1]:
        return first
    mirrored: Points = 2.0 * (first * tangents[1]).sum() * first - tangents[1]
    return mirrored


def _fitted(points: Points, tangents: Points, tolerance: float) -> list[Points]:
    """Fit one stretch without corners, split where needed; a stack instead of recursion keeps any length."""
    found: list[Points] = []
    waiting = [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        own = points[first : last + 1]
        curve, farthest = _one_curve(own, tangents[first], tangents[last], tolerance)
        if curve is not None:
            found.append(curve)
        elif len(own) == 2:
            found.append(own)
        else:
            waiting += [(first + farthest, last), (first, first + farthest)]
    return found


def _one_curve(own: Points, start: Points, end: Points, tolerance: float) -> tuple[Points | None, int]:
    """Return the curve within the tolerance, or None and the point to split at."""
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(own, axis=0).T))])
    times = lengths / lengths[-1]
    farthest = len(own) // 2
    for _ in range(_ROUNDS):
        curve = _handles(own, times, start, end)
        gaps = np.hypot(*(_at(curve, times) - own).T)
        if gaps.max() <= tolerance and _apart(curve, own, times) <= tolerance:
            straight = _is_straight(curve) and _away(own, curve[[0, 3]]) <= tolerance
            return (curve[[0, 3]] if straight else curve), 0
        if len(own) > 2:
            farthest = 1 + int(np.argmax(gaps[1:-1]))
        times = _better(curve, own, times)
    return None, farthest


def _is_straight(curve: Points) -> bool:
    """Tell whether both handles lie within a step of the grid from the chord, so that a line will do."""
    chord = curve[3] - curve[0]
    size = float(np.hypot(*chord))
    across = np.abs(chord[0] * (curve[1:3, 1] - curve[0, 1]) - chord[1] * (curve[1:3, 0] - curve[0, 0]))
    return size > 0.0 and bool((across <= GRID_MM * size).all())


def _handles(own: Points, times: Points, start: Points, end: Points) -> Points:
    """Return the cubic with least squares at the times; handles of a third where that has no answer."""
    t, s = times, 1.0 - times
    b0, b1, b2, b3 = s**3, 3 * t * s * s, 3 * t * t * s, t**3
    left, right = b1[:, None] * start, -b2[:, None] * end
    rest = own - (b0 + b1)[:, None] * own[0] - (b2 + b3)[:, None] * own[-1]
    c00, c01, c11 = (left * left).sum(), (left * right).sum(), (right * right).sum()
    x0, x1 = (left * rest).sum(), (right * rest).sum()
    chord = float(np.hypot(*(own[-1] - own[0])))
    whole = float(np.hypot(*np.diff(own, axis=0).T).sum())
    scale = c00 * c11 - c01 * c01
    one = other = whole / 3 if chord == 0.0 else chord / 3
    if len(own) > 2 and scale > 1e-9 * c00 * c11:
        alpha, beta = (x0 * c11 - x1 * c01) / scale, (c00 * x1 - c01 * x0) / scale
        if 0.0 < alpha < whole and 0.0 < beta < whole:
            one, other = alpha, beta
    return np.stack((own[0], *snapped([own[0] + one * start, own[-1] - other * end]), own[-1]))


def _better(curve: Points, own: Points, times: Points) -> Points:
    """Return times moved by one step of Newton's towards the nearest points of the curve."""
    first, second = 3 * np.diff(curve, axis=0), 6 * np.diff(curve, n=2, axis=0)
    t, s = times[:, None], 1.0 - times[:, None]
    speed = s * s * first[0] + 2 * t * s * first[1] + t * t * first[2]
    bend = s * second[0] + t * second[1]
    gap = _at(curve, times) - own
    slope = (speed * speed).sum(axis=1) + (gap * bend).sum(axis=1)
    moved = times - np.divide((gap * speed).sum(axis=1), slope, out=np.zeros_like(times), where=slope > 0)
    moved = np.maximum.accumulate(np.clip(moved, 0.0, 1.0))
    moved[[0, -1]] = 0.0, 1.0
    return moved


def _at(curve: Points, times: Points) -> Points:
    t, s = times[:, None], 1.0 - times[:, None]
    found: Points = s**3 * curve[0] + 3 * t * s * s * curve[1] + 3 * t * t * s * curve[2] + t**3 * curve[3]
    return found


def _apart(curve: Points, own: Points, times: Points) -> float:
    """Return how far curve and polyline lie apart, looked at between all points, both ways."""
    halves = (times[1:] + times[:-1]) / 2
    places = _at(curve, np.sort(np.concatenate([_TIMES, times, halves])))
    places = places[np.concatenate([[True], (np.diff(places, axis=0) != 0).any(axis=1)])]
    return max(_away(places, own), _away((own[1:] + own[:-1]) / 2, places))


def _away(places: Points, line: Points) -> float:
    """Return the largest distance of places from a polyline."""
    start, step = line[:-1], np.diff(line, axis=0)
    gap = places[:, None] - start[None]
    share = np.clip((gap * step).sum(axis=2) / (step * step).sum(axis=1), 0.0, 1.0)
    apart = gap - share[..., None] * step
    return float(np.sqrt((apart * apart).sum(axis=2).min(axis=1).max()))
