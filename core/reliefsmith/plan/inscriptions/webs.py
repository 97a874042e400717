"""Webs across letters that are cut into the side on the bed, so that no eye comes loose from it."""

from __future__ import annotations

import numpy as np
import shapely

from ...polygons import as_multi, inscribed, noded_coverage, openings, polygons_of
from ...recipe.sections.limits import FIRST_ISLAND_MM, FIRST_ISLAND_MM2
from ..strokes.leastwidths import Limits

__all__ = ["webbed"]


def webbed(letters: shapely.MultiPolygon, limits: Limits) -> tuple[shapely.MultiPolygon, int]:
    """Return letters cut through where their eyes are nearest to what is round them, and the number of cuts.

    The eye of a letter, a part of the base, is an island in the first layers until the base closes over the
    letter. One too small to stay on the bed by itself is held by a web as wide as the least stroke, as in a
    stencil.

    Examples
    --------
    >>> ring = shapely.MultiPolygon([shapely.box(0, 0, 3, 5) - shapely.box(0.8, 1, 2.2, 4)])
    >>> cut, count = webbed(ring, Limits(0.6, 0.5, 1.0, 0.4))
    >>> count, len(cut.geoms[0].interiors), round(ring.area - cut.area, 2)
    (1, 0, 0.48)
    """
    webs = [
        _web(eye, letter, limits)
        for letter in polygons_of(letters)
        for eye in openings(letter)
        if eye.area < FIRST_ISLAND_MM2 or 2 * inscribed(eye).radius < FIRST_ISLAND_MM
    ]
    if not webs:
        return letters, 0
    cut = noded_coverage([as_multi(shapely.union_all(webs)), letters])[1]
    return as_multi([piece for piece in cut.geoms if piece.area > limits.nozzle**2]), len(webs)


def _web(eye: shapely.Polygon, letter: shapely.Polygon, limits: Limits) -> shapely.Polygon:
    """Return a bar from where all its width lies in an eye to outside the letter, by half a gap."""
    inner = shapely.buffer(eye, -limits.stroke / 2)
    start = eye.centroid if inner.is_empty else inner
    ends = shapely.get_coordinates(shapely.shortest_line(start, letter.exterior))
    ahead = np.diff(ends, axis=0)[0]
    bar = shapely.LineString([ends[0], ends[1] + limits.gap / 2 * ahead / np.hypot(*ahead)])
    return shapely.buffer(bar, limits.stroke / 2, cap_style="flat")
