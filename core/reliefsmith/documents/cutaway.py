"""The section: the piece cut through where the cut shows most, with its layers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from ..mesh import plain_heights
from ..model import Contours, Field, Sculpted, Slab, Stack

__all__ = ["Band", "Section", "cut"]

CUT_STEPS = 61
"""Levels that are tried for the cut: about one a millimetre on a usual piece."""

TOUCHING_MM = 0.02
"""Stretches of a part closer than this are drawn as one: thinner than a drawn line."""


Counts = npt.NDArray[np.int64]
Values = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Band:
    """One stretch of one part on the cut: its profile from above, x and top in mm, over a flat underside."""

    part: int
    bottom_mm: float
    profile: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A cut along the x axis.

    Parameters
    ----------
    y_mm : float
        Where it is made.
    bands : tuple of Band
    x_mm : (float, float)
        From where to where the piece reaches.
    top_mm : float
        Height of the whole piece.
    levels_mm : tuple of float
        Heights at which something begins or ends.
    """

    y_mm: float
    bands: tuple[Band, ...]
    x_mm: tuple[float, float]
    top_mm: float
    levels_mm: tuple[float, ...] = ()


def cut(stack: Stack) -> Section:
    """Cut the piece where the most parts are met, of equal ones where the most changes of part are.

    It is cut as it lies on the bed; what lies face down is looked at from behind, so that left stays left.
    Two plates are cut as they lie on each other, front up.

    Examples
    --------
    >>> square = shapely.box(0, 0, 10, 10)
    >>> dot = shapely.box(4, 7, 6, 9)
    >>> base = Slab("base", "base", (0, 0, 0), square, 0.0, 2.0)
    >>> red = Slab("red", "motif", (211, 32, 32), dot, 2.0, 2.6)
    >>> section = cut(Stack((base, red), (2.0, 2.6), (), True))
    >>> 7 < section.y_mm < 9, len(section.bands), section.top_mm
    (True, 2, 2.6)
    """
    names = list(dict.fromkeys(slab.part for slab in stack.slabs))
    slabs = _lying(stack)
    low_x, low_y, high_x, high_y = shapely.total_bounds([slab.polygon for slab in slabs])
    levels = np.linspace(low_y, high_y, CUT_STEPS + 2)[1:-1]
    met = [_met(slab.polygon, levels) for slab in slabs]
    present = [name for name in names if any(slab.part == name for slab in slabs)]
    parts = np.sum([_any(met, [slab.part == name for slab in slabs]) for name in present], axis=0)
    changes = np.sum(met, axis=0)
    far = np.abs(levels - (low_y + high_y) / 2)
    y_mm = float(levels[np.lexsort((levels, -far, changes, parts))[-1]])
    bands = _joined([band for slab in slabs for band in _bands(slab, names, y_mm, (low_x, high_x))])
    top_mm = max(slab.highest_mm for slab in slabs)
    heights = sorted({slab.bottom_mm for slab in slabs} | {slab.highest_mm for slab in slabs})
    return Section(y_mm, tuple(bands), (float(low_x), float(high_x)), top_mm, tuple(heights))


def _joined(bands: Sequence[Band]) -> list[Band]:
    """Join bands of one part that stand on each other with the same ends: slabs parted by a pocket."""
    found: list[Band] = []
    for band in bands:
        ends = (band.profile[0][0], band.profile[-1][0])
        under = [
            index
            for index, other in enumerate(found)
            if other.part == band.part
            and (other.profile[0][0], other.profile[-1][0]) == ends
            and all(top == band.bottom_mm for _, top in other.profile)
        ]
        if under:
            found[under[0]] = replace(found[under[0]], profile=band.profile)
        else:
            found.append(band)
    return found


def _lying(stack: Stack) -> tuple[Slab, ...]:
    """Return the slabs in the artwork's frame, as high as on the bed; two plates as set together."""
    if not stack.piece or stack.back_at_mm is not None:
        return stack.seen
    high = max(slab.highest_mm for slab in stack.piece)
    return tuple(slab.turned_over(high) for slab in stack.piece)


def _any(met: Sequence[Counts], chosen: Sequence[bool]) -> Counts:
    """Return 1 where one of the chosen slabs is met, by level."""
    found: Counts = np.any([counts > 0 for counts, wanted in zip(met, chosen, strict=True) if wanted], axis=0)
    return found.astype(np.int64)


def _met(polygon: shapely.Geometry, levels: Values) -> Counts:
    """Return in how many stretches each level meets a polygon: its edges cross a level once for each end.

    An edge counts from its lower end on, below its upper one, so that a level through a corner crosses once.
    """
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(polygon)), return_index=True)
    heights = points[:, 1]
    edges = ring[1:] == ring[:-1]
    low = np.minimum(heights[:-1], heights[1:])[edges]
    high = np.maximum(heights[:-1], heights[1:])[edges]
    crossed = np.searchsorted(np.sort(low), levels, "right") - np.searchsorted(np.sort(high), levels, "right")
    stretches: Counts = (crossed // 2).astype(np.int64)
    return stretches


def _spans(slab: Slab, y_mm: float, x_mm: tuple[float, float]) -> list[tuple[float, float]]:
    line = shapely.LineString([(x_mm[0] - 1, y_mm), (x_mm[1] + 1, y_mm)])
    pieces = shapely.get_parts(shapely.intersection(slab.polygon, line))
    bounds = [
        shapely.bounds(piece) for piece in pieces if piece.geom_type == "LineString" and not piece.is_empty
    ]
    spans: list[tuple[float, float]] = []
    for start, end in sorted((float(box[0]), float(box[2])) for box in bounds):
        if spans and start - spans[-1][1] < TOUCHING_MM:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((start, end))
    return spans


def _bands(slab: Slab, names: list[str], y_mm: float, x_mm: tuple[float, float]) -> list[Band]:
    part = names.index(slab.part)
    return [Band(part, slab.bottom_mm, _profile(slab, span, y_mm)) for span in _spans(slab, y_mm, x_mm)]


def _profile(slab: Slab, span: tuple[float, float], y_mm: float) -> tuple[tuple[float, float], ...]:
    if isinstance(slab.top, Contours):
        return _contour_profile(slab.top, span, y_mm)
    if isinstance(slab.top, float):
        return (span[0], slab.top), (span[1], slab.top)
    step_mm = slab.top.step_mm if isinstance(slab.top, Field) else slab.top.hand.step_mm
    count = max(int((span[1] - span[0]) / step_mm) + 2, 2)
    x = np.linspace(span[0], span[1], count)
    places = np.column_stack([x, np.full(count, y_mm)])
    tops = plain_heights(slab.plain_top)(places)
    if isinstance(slab.top, Sculpted):
        tops = np.where(shapely.contains_xy(slab.top.ground, *places.T), slab.top.raised(places, tops), tops)
    return tuple(zip(x.tolist(), tops.tolist(), strict=True))


def _contour_profile(
    top: Contours, span: tuple[float, float], y_mm: float
) -> tuple[tuple[float, float], ...]:
    """Return the heights at which the cut crosses contours, between the ends of a stretch."""
    line = shapely.LineString([(span[0], y_mm), (span[1], y_mm)])
    places = [(span[0], top.levels_mm[0]), (span[1], top.levels_mm[0])]
    for shape, level in zip(top.shapes[1:], top.levels_mm[1:], strict=True):
        crossed = shapely.intersection(shapely.boundary(shape), line)
        places += [(float(x), level) for x in shapely.get_coordinates(crossed)[:, 0]]
    return tuple(sorted(places))
