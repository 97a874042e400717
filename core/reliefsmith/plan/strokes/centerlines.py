"""Strokes that are too thin: where they are, their center lines, and discs that make them wide enough.

An opening finds the thin places; there the medial axis is taken from a Delaunay triangulation of boundary
samples (Brandt and Algazi, Continuous skeleton computation by Voronoi diagram, CVGIP: Image Understanding 55,
1992, 329-338; volume and pages from memory). Discs along it thicken the stroke only where it is thin, and a
taper rule leaves corners and pointed ends alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ...model.arrays import Flags, Floats, Shapes
from ...polygons import PROTRUDING_MM, Tile, as_multi, grow, merged, near, polygons_of, protrusions, tiles
from ...polygons.groups import joined
from ...progress import Progress, Steps, drain
from .voronoi import Ridges, packed, ridges_within

__all__ = ["MARGIN", "REACH", "Strokes", "strokes_steps", "thickened", "thin_in", "thin_places"]


THIN_SLACK_MM = 0.004
"""A stroke this much under its width is wide enough: two chords of arcs, and the grid."""

_LEAST_PLACE = 0.02
"""Thin places smaller than this share of the width squared are rounded corners, not strokes."""

REACH = 0.75
"""Boundary within this many widths of a thin place is sampled: the disc there touches nothing farther."""

_LEAST_STEP_MM, _STEPS_PER_WIDTH = 0.02, 16
_FINE, _LONG = 0.34, 4.0
"""Lines thinner than this share of the width, with a rim of so many widths, are sampled at the least step: in
steps half as long as it is thick its two sides are not sampled alike, and it breaks into dashes."""

_WIDEST = 1.02
"""Center lines are followed a little past the place where the stroke is wide enough, for a smooth join."""

_NARROWEST, _NARROWEST_PARALLEL = 0.13, 1.0 / 16.0
"""Center lines this share of the width from the boundary are tips; between parallel sides, hairlines."""

_PARALLEL = 0.999
"""Cosine of half the angle between sides that count as parallel."""

_LEAST_COSINE = 0.90
"""Cosine of half the angle between the two sides: sides that diverge by more than 52 degrees are a corner."""

_TAPER = 0.08
"""A disc centered d behind a tip of half angle phi stays behind it if d >= r sin(phi); a bit is given."""

_SHORTEST = 0.5
"""Center lines shorter than this many widths are stubs in corners."""

_POINTED = 0.125
"""Sine of half the angle between the sides of a pointed end, 7.2 degrees: a ray of the sun has one, a reed
that narrows slowly is a stroke."""

_TIP_FROM = 0.8
"""Pointed ends are followed to where they are this share of the width of a tip: rounder, but as long."""

MARGIN = 1.25
"""Margin of tiles in widths: an opening's discs reach one, the corners of the cut a quarter more."""

_SMOOTH_MM = 0.01
_OVERSIZE = 1.001


@dataclass(frozen=True, slots=True)
class Strokes:
    """Strokes that are too thin.

    Parameters
    ----------
    discs : MultiPolygon
        Discs along their center lines; together with the area they make it wide enough.
    points : float64 array of shape (n, 2)
        Points of the center lines.
    widths : float64 array of shape (n,)
        How wide the strokes are at these points.
    """

    discs: shapely.MultiPolygon
    points: Floats
    widths: Floats


def thin_places(area: shapely.Geometry, width: float) -> list[shapely.Polygon]:
    """Return the places at which a disc of diameter `width` does not fit into the area.

    Examples
    --------
    >>> thin = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.9, 9, 2.1))
    >>> max(thin_places(thin, 0.6), key=lambda place: place.area).bounds[2] > 8.9
    True
    """
    return [place for tile in tiles(area, MARGIN * width) for place in thin_in(tile, width)]


def strokes_steps(
    area: shapely.Geometry,
    width: float,
    zone: shapely.Geometry | None = None,
    *,
    tip: float | None = None,
    fraction: float = 0.0,
) -> Steps[Strokes]:
    """Find strokes thinner than `width`, and the discs along their center lines that thicken them.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        In mm.
    width : float
        Least width of a stroke in mm; 0 thickens nothing.
    zone : geometry, optional
        Only thin places that meet it are looked at.
    tip : float, optional
        Width in mm to which pointed ends, whose sides diverge by over 14 degrees, are thickened instead of
        to `width`: wider discs would swell them to drops and reach into what lies beside.
    fraction : float
        Share of the stage that is done, for progress.
    """
    found: list[Strokes] = []
    if width > 2 * THIN_SLACK_MM and not area.is_empty:
        if zone is not None:
            shapely.prepare(zone)
            area = near(area, zone, 2 * MARGIN * width)
        for tile in tiles(area, MARGIN * width):
            places = [place for place in thin_in(tile, width) if zone is None or zone.intersects(place)]
            yield Progress("thickening strokes", fraction)
            if places:
                found += _strokes_at(tile.part, places, width, width if tip is None else tip)
                yield Progress("thickening strokes", fraction)
    if len(found) == 1:
        return found[0]
    return Strokes(
        merged([item.discs for item in found]),
        np.concatenate([np.empty((0, 2)), *(item.points for item in found)]),
        np.concatenate([np.empty(0), *(item.widths for item in found)]),
    )


def thickened(
    area: shapely.Geometry, width: float, zone: shapely.Geometry | None = None
) -> shapely.MultiPolygon:
    """Return discs along the center lines of strokes thinner than `width`; empty where none is.

    The union of the area and these discs is the area with its thin strokes thickened.

    Parameters
    ----------
    area, width, zone
        As in `strokes_steps`.

    Examples
    --------
    >>> bar = shapely.box(0, 0, 10, 0.3)
    >>> discs = thickened(bar, 0.6)
    >>> low, high = discs.bounds[1], discs.bounds[3]
    >>> round(high - low, 2)
    0.6
    """
    return drain(strokes_steps(area, width, zone)).discs


def thin_in(tile: Tile, width: float) -> list[shapely.Polygon]:
    """Return the thin places of a tile with a margin of `MARGIN` widths."""
    left = protrusions(tile.part, width / 2 - THIN_SLACK_MM)
    if left.is_empty:
        return []
    places = np.asarray(polygons_of(grow(tile.own(left), PROTRUDING_MM + _SMOOTH_MM)), dtype=object)
    return list(places[shapely.area(places) >= _LEAST_PLACE * width**2])


def _strokes_at(
    area: shapely.Geometry, places: list[shapely.Polygon], width: float, tip: float
) -> list[Strokes]:
    sites = _samples(area, places, width)
    if len(sites) < 4:
        return []
    ends, beside = _center_lines(area, sites, width)
    middle = ends.mean(axis=1)
    depth = np.hypot(*(middle - beside[:, 0]).T)
    kept, pointed = _strokes_and_ends(ends, depth, width)
    if tip >= width:
        kept, pointed = kept | pointed, np.zeros_like(pointed)
    pointed &= (depth >= _TIP_FROM * tip / 2) & (depth < _WIDEST * tip / 2)
    if not (kept.any() or pointed.any()):
        return []
    discs = [_along(ends[which], wide) for which, wide in ((kept, width), (pointed, tip))]
    return [Strokes(merged(discs), middle[kept], 2 * depth[kept])]


def _along(lines: Floats, width: float) -> shapely.MultiPolygon:
    """Return discs along lines (n, 2 ends, 2)."""
    if len(lines) == 0:
        return shapely.MultiPolygon()
    joint = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(lines)))
    return grow(shapely.simplify(joint, _SMOOTH_MM), width / 2 * _OVERSIZE)


def _samples(area: shapely.Geometry, places: list[shapely.Polygon], width: float) -> Floats:
    """Return points of the boundary near the thin places, at most a step apart, each once."""
    found = np.asarray(places, dtype=object)
    length = shapely.length(found)
    fine = (2 * shapely.area(found) < _FINE * width * length) & (length > _LONG * width)
    steps = ((found[~fine], max(_LEAST_STEP_MM, width / _STEPS_PER_WIDTH)), (found[fine], _LEAST_STEP_MM))
    boundary = shapely.boundary(as_multi(area))
    lines = [
        shapely.segmentize(boundary.intersection(_near(some, width)), step)
        for some, step in steps
        if len(some)
    ]
    points = shapely.get_coordinates(lines)
    _, first = np.unique(packed(points, points), return_index=True)
    unique: Floats = np.round(points[first], 6)
    return unique


def _near(places: Shapes, width: float) -> shapely.Geometry:
    return shapely.buffer(shapely.multipolygons(places), REACH * width, quad_segs=2)


def _center_lines(area: shapely.Geometry, sites: Floats, width: float) -> tuple[Floats, Floats]:
    """Return the ends (n, 2, 2) of ridges on center lines of thin strokes, and the sites on their sides."""
    ridges = ridges_within(sites, REACH * width)
    kept = np.flatnonzero(_is_centered(ridges, width))
    shapely.prepare(area)
    for end in (0, 1):
        kept = kept[shapely.contains_xy(area, *ridges.ends[kept, end].T)]
    return ridges.ends[kept], ridges.sites[kept]


def _is_centered(ridges: Ridges, width: float) -> Flags:
    """Tell which ridges lie midway between sides that are close and do not taper to a corner."""
    radius = width / 2
    one, other = ridges.sites[:, 0], ridges.sites[:, 1]
    depth = np.hypot(*(ridges.ends.mean(axis=1) - one).T)
    chord = np.hypot(*(other - one).T)
    cosine = np.minimum(chord / np.maximum(2 * depth, 1e-12), 1.0)
    sine = np.sqrt(1.0 - cosine**2)
    narrowest = np.where(cosine >= _PARALLEL, _NARROWEST_PARALLEL, _NARROWEST) * width
    shallower = np.minimum(*(np.hypot(*(ridges.ends[:, end] - one).T) for end in (0, 1)))
    kept: Flags = (depth < _WIDEST * radius) & (shallower >= narrowest)
    kept &= cosine >= _LEAST_COSINE
    kept &= depth >= radius * (sine - _TAPER)
    return kept


def _strokes_and_ends(ends: Floats, depth: Floats, width: float) -> tuple[Flags, Flags]:
    """Tell which ridges belong to center lines of strokes, and which to pointed ends of wider areas.

    Joined center lines shorter than a share of the width are stubs in corners, neither of both; along a
    pointed end the depth falls by more than a share of the way.
    """
    if len(ends) == 0:
        return np.empty(0, dtype=bool), np.empty(0, dtype=bool)
    points = 2 * ends.reshape(-1, 2)  # sites lie on a grid, and points midway between two on half of it
    _, joint = np.unique(packed(points, points), return_inverse=True)
    first, second = joint.reshape(-1, 2).T
    groups, group = joined(int(joint.max()) + 1, first, second)
    length = np.hypot(*(ends[:, 0] - ends[:, 1]).T)
    own = group[first]
    total = np.bincount(own, weights=length, minlength=groups)
    low, high = np.full(groups, np.inf), np.zeros(groups)
    np.minimum.at(low, own, depth)
    np.maximum.at(high, own, depth)
    long = total[own] >= _SHORTEST * width
    falling = high[own] - low[own] > _POINTED * total[own]
    return long & ~falling, long & falling
