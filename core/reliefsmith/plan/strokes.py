"""Strokes that are too thin: where they are, their center lines, and discs that make them wide enough.

An opening finds the thin places; there the medial axis is taken from a Delaunay triangulation of boundary
samples (Brandt and Algazi 1992, https://doi.org/10.1016/1049-9660(92)90033-U). Discs along it thicken the
stroke only where it is thin, and a taper rule leaves corners and pointed ends alone.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import GeometryError
from ..plane import as_multi, grow, polygons_of, residue
from ..plane.groups import joined

__all__ = ["thickened", "thin_places"]

_Indices = npt.NDArray[np.int64]
_Floats = npt.NDArray[np.float64]

THIN_SLACK_MM = 0.004
"""A stroke this much under its width is wide enough: two chords of arcs, and the grid."""

_LEAST_PLACE = 0.02
"""Thin places smaller than this share of the width squared are rounded corners, not strokes."""

_REACH = 0.75
"""Boundary within this many widths of a thin place is sampled: the disc there touches nothing farther."""

_LEAST_STEP_MM, _STEPS_PER_WIDTH = 0.02, 20
_WIDEST = 1.02
"""Center lines are followed a little past the place where the stroke is wide enough, for a smooth join."""

_NARROWEST, _NARROWEST_PARALLEL = 1.0 / 8.0, 1.0 / 16.0
"""Center lines this share of the width from the boundary are tips; between parallel sides, hairlines."""

_PARALLEL = 0.999
"""Cosine of half the angle between sides that count as parallel."""

_LEAST_COSINE = 0.90
"""Cosine of half the angle between the two sides: sides that diverge by more than 52 degrees are a corner."""

_TAPER = 0.08
"""A disc centered d behind a tip of half angle phi stays behind it if d >= r sin(phi); a bit is given."""

_SHORTEST = 0.5
"""Center lines shorter than this many widths are stubs in corners."""

_SMOOTH_MM = 0.01
_FAR_MM = 1e6
_OVERSIZE = 1.001
_SCALES = (1.0, 1000.0, 7.0, 0.03)


def thin_places(area: BaseGeometry, width: float) -> list[shapely.Polygon]:
    """Return the places at which a disc of diameter `width` does not fit into the area.

    Examples
    --------
    >>> thin = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.9, 9, 2.1))
    >>> max(thin_places(thin, 0.6), key=lambda place: place.area).bounds[2] > 8.9
    True
    """
    left = residue(area, width / 2 - THIN_SLACK_MM, _SMOOTH_MM)
    return [place for place in left if place.area >= _LEAST_PLACE * width**2]


def thickened(area: BaseGeometry, width: float, zone: BaseGeometry | None = None) -> shapely.MultiPolygon:
    """Return discs along the center lines of strokes thinner than `width`; empty where none is.

    The union of the area and these discs is the area with its thin strokes thickened.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        In mm.
    width : float
        Least width of a stroke in mm; 0 thickens nothing.
    zone : geometry, optional
        Only thin places that meet it are looked at.

    Examples
    --------
    >>> bar = shapely.box(0, 0, 10, 0.3)
    >>> discs = thickened(bar, 0.6)
    >>> low, high = discs.bounds[1], discs.bounds[3]
    >>> round(high - low, 2)
    0.6
    """
    if width <= 2 * THIN_SLACK_MM or area.is_empty:
        return shapely.MultiPolygon()
    if zone is not None:
        shapely.prepare(zone)
        area = as_multi([piece for piece in polygons_of(area) if zone.intersects(piece)])
    places = thin_places(area, width)
    if zone is not None:
        places = [place for place in places if zone.intersects(place)]
    if not places:
        return shapely.MultiPolygon()
    lines = _center_lines(area, places, width)
    return grow(lines, width / 2 * _OVERSIZE) if lines is not None else shapely.MultiPolygon()


def _center_lines(area: BaseGeometry, places: list[shapely.Polygon], width: float) -> BaseGeometry | None:
    sites = _samples(area, places, width)
    if len(sites) < 4:
        return None
    centers, ridges, pairs = _ridges(sites)
    kept = _is_center(area, centers, ridges, sites[pairs], width)
    ridges = ridges[kept]
    ridges = ridges[_is_long(centers, ridges, width)]
    if len(ridges) == 0:
        return None
    merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(centers[ridges])))
    return shapely.simplify(merged, _SMOOTH_MM)


def _samples(area: BaseGeometry, places: list[shapely.Polygon], width: float) -> _Floats:
    """Return points of the boundary near the thin places, at most a fixed step apart, each once."""
    reach = _REACH * width
    bounds = shapely.bounds(np.asarray(places, dtype=object)) + np.array([-reach, -reach, reach, reach])
    zone = shapely.union_all(shapely.box(*bounds.T))
    lines = shapely.boundary(as_multi(area)).intersection(zone)
    step = max(_LEAST_STEP_MM, width / _STEPS_PER_WIDTH)
    points = shapely.get_coordinates(shapely.segmentize(lines, step))
    unique: _Floats = np.unique(np.round(points, 6), axis=0)
    return unique


def _ridges(sites: _Floats) -> tuple[_Floats, _Indices, _Indices]:
    """Return Voronoi vertices (n, 2), ridges (m, 2) between them, and the two sites (m, 2) of each ridge."""
    corners = np.round(_delaunay(sites), 6)
    index = _find_rows(sites, corners.reshape(-1, 2)).reshape(-1, 3)
    edges = np.sort(index[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    triangle = np.repeat(np.arange(len(index)), 3)
    order = np.lexsort((triangle, edges[:, 1], edges[:, 0]))
    edges, triangle = edges[order], triangle[order]
    twin = np.flatnonzero(np.all(edges[1:] == edges[:-1], axis=1))
    ridges = np.column_stack([triangle[twin], triangle[twin + 1]])
    return _circumcenters(corners), ridges, edges[twin]


def _delaunay(sites: _Floats) -> _Floats:
    """Return the corners (n, 3, 2) of the Delaunay triangles of points.

    GEOS loses its way on rare sets of points ("could not locate vertex") that it triangulates at another
    scale; a scale by whole numbers changes no triangle.
    """
    for scale in _SCALES:
        try:
            triangles = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(sites * scale)))
        except shapely.GEOSException:
            continue
        return shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3] / scale
    x, y = sites[0]
    raise GeometryError(f"strokes near ({x:.1f}, {y:.1f}) mm cannot be measured; change the width a little")


def _find_rows(rows: _Floats, wanted: _Floats) -> _Indices:
    """Return the index of each wanted row in `rows`, which are sorted and hold them all."""
    keys = np.rint(rows * 1e6).astype(np.int64)
    seek = np.rint(wanted * 1e6).astype(np.int64)
    low, high = keys.min(axis=0), keys.max(axis=0)
    span = int(high[1] - low[1]) + 1
    packed = (keys[:, 0] - low[0]) * span + (keys[:, 1] - low[1])
    found = np.searchsorted(packed, (seek[:, 0] - low[0]) * span + (seek[:, 1] - low[1]))
    return np.asarray(found, dtype=np.int64)


def _circumcenters(corners: _Floats) -> _Floats:
    first = corners[:, 0]
    b, c = corners[:, 1] - first, corners[:, 2] - first
    twice = 2 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    twice[twice == 0] = np.finfo(np.float64).tiny
    bb, cc = (b**2).sum(axis=1), (c**2).sum(axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        x = (c[:, 1] * bb - b[:, 1] * cc) / twice
        y = (b[:, 0] * cc - c[:, 0] * bb) / twice
    offset: _Floats = np.column_stack([x, y])
    near = (np.abs(offset) < _FAR_MM).all(axis=1)
    offset[~near] = _FAR_MM  # a flat triangle: its center lies far away, where nothing is kept
    return first + offset


def _is_center(
    area: BaseGeometry, centers: _Floats, ridges: _Indices, sites: _Floats, width: float
) -> npt.NDArray[np.bool_]:
    """Tell which ridges lie on the center line of a thin stroke that does not taper to a corner."""
    radius = width / 2
    middle = centers[ridges].mean(axis=1)
    depth = np.hypot(*(middle - sites[:, 0]).T)
    chord = np.hypot(*(sites[:, 1] - sites[:, 0]).T)
    cosine = np.minimum(chord / np.maximum(2 * depth, 1e-12), 1.0)
    sine = np.sqrt(1.0 - cosine**2)
    narrowest = np.where(cosine >= _PARALLEL, _NARROWEST_PARALLEL, _NARROWEST) * width
    kept: npt.NDArray[np.bool_] = (depth < _WIDEST * radius) & (depth >= narrowest)
    kept &= cosine >= _LEAST_COSINE
    kept &= depth >= radius * (sine - _TAPER)
    shapely.prepare(area)
    for end in (0, 1):
        at = np.flatnonzero(kept)
        points = centers[ridges[at, end]]
        kept[at] = shapely.contains_xy(area, points[:, 0], points[:, 1])
    return kept


def _is_long(centers: _Floats, ridges: _Indices, width: float) -> npt.NDArray[np.bool_]:
    """Tell which ridges belong to a joined center line that is longer than a stub in a corner."""
    groups, group = joined(len(centers), ridges[:, 0], ridges[:, 1])
    length = np.hypot(*(centers[ridges[:, 0]] - centers[ridges[:, 1]]).T)
    own = group[ridges[:, 0]]
    total = np.bincount(own, weights=length, minlength=groups)
    kept: npt.NDArray[np.bool_] = total[own] >= _SHORTEST * width
    return kept
