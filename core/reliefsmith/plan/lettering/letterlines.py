"""Lines of letters among pieces: chains of like pieces that lie evenly on a line or a circle."""

from __future__ import annotations

import numpy as np
import shapely

from ...model.arrays import Flags, Floats, Ints, Shapes
from .letters import Letters

__all__ = ["lines_of"]


_REACH, _WORD_REACH = 5.0, 8.0
"""Radii of gyration to the next letter, at most: in one word letters lie 1.5 to 4 apart, words to twice."""
_SIZE_RATIO, _STROKE_RATIO = 2.2, 1.8
"""Of two neighboring letters, at most: a capital beside a small letter, one pen's thick and thin strokes."""
_STRAIGHT = float(np.cos(np.radians(40.0)))
"""A chain turns by less at each letter."""
_STEP_RATIO = 3.3
"""Of two steps that follow each other, at most: i and m have narrow and wide ones."""
_LEAST = 4
"""Letters of a line at least."""
_OFF_LINE = 0.4
"""Root mean square distance to the line or circle, in radii of gyration, at most."""
_STROKE_SPREAD, _DISC_TOLERANCE = 0.22, 0.05
"""One pen writes a line: its widest strokes differ by .01 to .13, if 2 px thin by .21; ribs by .25 to .4."""
_LEAST_SHAPES = 3
"""Different ones in a line: dots, windows and ribs repeat one or two."""
_ALIKE = np.array([0.12, 0.08, 0.5])
"""Two pieces within these of each other have one shape: area by radius squared, how long, openings."""
_LEAST_AMONG = 0.8
"""Share of the like pieces round a line that stand in lines: of feathers, curls, waves a half to 3/4 do."""
_LEAST_BENT = 0.5
"""Share of a line's letters that have an opening or a bay, at least."""


def lines_of(found: Letters) -> list[Ints]:
    """Return the lines, each as indices of its letters from one end to the other, the longest first.

    Four letters that follow each other closely make a line; then it goes on over the gaps between words.
    """
    if len(found) < _LEAST:
        return []
    near, far = _beside(found, _REACH), _beside(found, _WORD_REACH)
    free = np.ones(len(found), dtype=bool)
    lines: list[Ints] = []
    chains = [_chain(found, near, start, free) for start in range(len(found))]
    for first in sorted(chains, key=lambda item: -len(item)):
        chain = first if free[first].all() else _chain(found, near, int(first[0]), free)
        if len(chain) < _LEAST or not free[chain].all() or not _is_lettering(found, chain):
            continue
        longer = np.array(_grown(found, far, list(chain), free))
        if len(longer) > len(chain) and _is_lettering(found, longer):
            chain = longer
        free[chain] = False
        lines.append(chain)
    return [line for line in lines if _among_lines(line, near, free) >= _LEAST_AMONG]


def _among_lines(line: Ints, near: list[Ints], free: Flags) -> float:
    """Return the share of the like pieces round a line that stand in lines themselves."""
    around = np.concatenate([near[letter] for letter in line])
    return float(1 - free[around].mean())


def _beside(found: Letters, reach: float) -> list[Ints]:
    """Return for each piece the like ones within so many radii of gyration, the nearest first."""
    points = shapely.points(found.center)
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=reach * found.radius)
    gap = np.hypot(*(found.center[one] - found.center[other]).T)
    like = one != other
    like &= gap <= reach * np.minimum(found.radius[one], found.radius[other])
    like &= _ratio(found.radius, one, other) <= _SIZE_RATIO
    like &= _ratio(found.stroke, one, other) <= _STROKE_RATIO
    one, other, gap = one[like], other[like], gap[like]
    order = np.lexsort((gap, one))
    one, other = one[order], other[order]
    return np.split(other, np.cumsum(np.bincount(one, minlength=len(found)))[:-1])


def _ratio(values: Floats, one: Ints, other: Ints) -> Floats:
    ratio: Floats = np.maximum(values[one] / values[other], values[other] / values[one])
    return ratio


def _chain(found: Letters, beside: list[Ints], start: int, free: Flags) -> Ints:
    """Grow a chain from a piece and its nearest neighbor, both ways, as long as it goes on evenly."""
    first = next((int(item) for item in beside[start] if free[item]), None)
    if first is None or not free[start]:
        return np.array([start])
    return np.array(_grown(found, beside, [start, first], free))


def _grown(found: Letters, beside: list[Ints], chain: list[int], free: Flags) -> list[int]:
    for _ in range(2):
        while (more := _next(found, beside, chain, free)) is not None:
            chain.append(more)
        chain.reverse()
    return chain


def _next(found: Letters, beside: list[Ints], chain: list[int], free: Flags) -> int | None:
    """Return the nearest piece that goes on from the chain's end without a sharp turn."""
    last, before = found.center[chain[-1]], found.center[chain[-2]]
    step = last - before
    length = float(np.hypot(*step))
    for item in beside[chain[-1]]:
        if not free[item] or item in chain:
            continue
        way = found.center[item] - last
        gap = float(np.hypot(*way))
        if gap > _STEP_RATIO * length:
            return None
        if gap * _STEP_RATIO >= length and way @ step >= _STRAIGHT * gap * length:
            return int(item)
    return None


def _is_lettering(found: Letters, chain: Ints) -> bool:
    """Tell whether pieces in a row are letters: several shapes, bent, on a line or circle, of one pen."""
    size = float(np.median(found.radius[chain]))
    return (
        found.bent[chain].mean() >= _LEAST_BENT
        and _shapes(found.shape[chain]) >= _LEAST_SHAPES
        and min(_off_line(found.center[chain]), _off_circle(found.center[chain])) <= _OFF_LINE * size
        and _spread(found.polygons[chain], size) <= _STROKE_SPREAD
    )


def _spread(polygons: Shapes, size: float) -> float:
    """Return how much the widest strokes differ, each the largest disc in its letter: deviation by mean."""
    radii = shapely.length(shapely.maximum_inscribed_circle(polygons, _DISC_TOLERANCE * size))
    return float(radii.std() / radii.mean())


def _shapes(shape: Floats) -> int:
    """Count shapes that differ: pieces like an earlier one are not counted again."""
    different: list[Floats] = []
    for own in shape:
        if not any((np.abs(own - other) <= _ALIKE).all() for other in different):
            different.append(own)
    return len(different)


def _off_line(points: Floats) -> float:
    """Return the root mean square distance to the best line."""
    return float(np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[1] / np.sqrt(len(points)))


def _off_circle(points: Floats) -> float:
    """Return the root mean square distance to a circle (Kasa's algebraic fit, 1976, from memory)."""
    local = points - points.mean(axis=0)
    table = np.column_stack((2 * local, np.ones(len(local))))
    (x, y, rest), _, rank, _ = np.linalg.lstsq(table, (local**2).sum(axis=1), rcond=1e-9)
    if rank < 3:
        return float("inf")
    radius = np.sqrt(max(rest + x * x + y * y, 0.0))
    return float(np.sqrt(np.mean((np.hypot(*(local - (x, y)).T) - radius) ** 2)))
