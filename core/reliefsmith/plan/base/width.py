"""The width of the base: thin parts and necks are widened for strength, narrow slits are closed."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from ...findings import Note
from ...polygons import closed_fills, merged, polygons_of, shrink
from ..links.bars import spanning_pairs
from ..remarks import remarks
from ..strokes.centerlines import THIN_SLACK_MM, thickened

__all__ = ["SLIT_NOZZLES", "widened"]

SLIT_NOZZLES = 2.0
"""Slits narrower than this many nozzles fuse while printing, or hold dirt: they are closed."""

_LEAST_FILL_MM2 = 0.01
_OVERLAP_MM = 0.005
_LEAST_CORE_MM2 = 0.01
_ROUNDS = 3


def widened(
    shape: shapely.Geometry, width: float, slit: float
) -> tuple[shapely.MultiPolygon, tuple[Note, ...]]:
    """Return the base without slits, and nowhere narrower than its least width.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    width : float
        Least width in mm: a disc of this diameter reaches (nearly) everywhere, and passes all necks.
    slit : float
        Slits narrower than this are closed.

    Examples
    --------
    >>> waist = shapely.union_all([shapely.Point(x, 0).buffer(2.05) for x in (-2.0, 2.0)])
    >>> wide, notes = widened(waist, 2.0, 0.8)
    >>> len(shrink(waist, 0.98).geoms), len(shrink(wide, 0.98).geoms)
    (2, 1)
    """
    fills = [fill for fill in closed_fills(shape, slit / 2) if fill.area >= _LEAST_FILL_MM2]
    wide = merged([shape, *(fill.buffer(_OVERLAP_MM, join_style="mitre") for fill in fills)])
    added: list[shapely.Geometry] = []
    for _ in range(_ROUNDS):
        more = [thickened(wide, width), *_necks(wide, width)]
        gain = merged(more).difference(wide)
        if gain.area < _LEAST_FILL_MM2:
            break
        added.append(gain)
        wide = merged([wide, *more])
    notes = (
        *remarks("gap-closed", fills, "A slit of the base was closed over {size} mm."),
        *remarks("base-widened", merged(added), "The base was too narrow over {size} mm and was widened."),
    )
    return wide, notes


def _necks(shape: shapely.MultiPolygon, width: float) -> list[shapely.Geometry]:
    """Return bars over necks: places where a disc of this diameter fits on both sides but not through.

    An opening does not see such a waist, since discs from both sides overlap in it; an erosion does.
    """
    if width <= 2 * THIN_SLACK_MM:
        return []
    cores = np.asarray(polygons_of(shrink(shape, width / 2 - THIN_SLACK_MM)), dtype=object)
    bodies = np.asarray(polygons_of(shape), dtype=object)
    cores = cores[shapely.area(cores) >= _LEAST_CORE_MM2]
    if len(cores) <= 1:
        return []
    body, core = shapely.STRtree(cores).query(bodies, predicate="intersects")
    order = np.lexsort((core, body))
    body, core = body[order], core[order]
    bars: list[shapely.Geometry] = []
    starts = np.flatnonzero(np.diff(body, prepend=-1, append=len(bodies)))
    for first, last in pairwise(starts):
        inside = list(cores[core[first:last]])
        for one, other in spanning_pairs(inside) if len(inside) > 1 else ():
            line = shapely.shortest_line(inside[one], inside[other])
            if line.length <= 2 * width:
                bars.append(line.buffer(width / 2))
    return bars
