"""Coverages: polygons that share boundaries exactly, snapped to the 1 um grid by noding.

Snapping ring by ring would open gaps and overlaps between neighbors. Here all boundaries are united into one
noded set of lines with snap rounding (Hobby 1999, https://doi.org/10.1016/S0925-7721(99)00021-8), cut into
faces, and every face is given to one owner. All later sets are unions of faces, so neighbors share vertices
and containment is a matter of bookkeeping, without any tolerance.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Area, Flags, Ints, Shapes
from .edges import longest_neighbor, shared_lengths
from .grid import GRID_MM
from .pieces import as_multi

__all__ = ["faces_by_shape", "faces_of", "noded_coverage", "union_of_faces"]

SLIVER_MM = 2 * GRID_MM
"""A face whose mean width is under two grid steps is a leftover of snapping, not part of the drawing."""

_KEPT = 16
"""Coverages that are remembered: a changed height nodes nothing again."""

_NONE = -1


def noded_coverage(
    polygons: Sequence[Area],
    lines: Sequence[shapely.Geometry] = (),
) -> tuple[shapely.MultiPolygon, ...]:
    """Snap polygons to the grid by noding them together; the result is a valid coverage.

    Parameters
    ----------
    polygons : sequence of Polygon or MultiPolygon
        In mm. Where several cover the same place the first one owns it.
    lines : sequence of geometries
        Further boundaries (lines, or polygons for their rings) whose crossings become shared vertices.

    Returns
    -------
    tuple of MultiPolygon
        One for each input, in the same order, possibly empty.

    Raises
    ------
    GeometryError
        If the boundaries cannot be noded.

    Examples
    --------
    >>> left, right = noded_coverage([shapely.box(0, 0, 1.00049, 1), shapely.box(0.5, 0, 2, 1)])
    >>> left.area, right.area
    (1.0, 1.0)
    """
    return _noded(tuple(polygons), tuple(lines))


@lru_cache(maxsize=_KEPT)
def _noded(
    polygons: tuple[Area, ...], lines: tuple[shapely.Geometry, ...]
) -> tuple[shapely.MultiPolygon, ...]:
    faces = faces_of([*polygons, *lines])
    owner = _owners(faces, polygons)
    owner = _slivers_given(faces, owner)
    return tuple(union_of_faces(faces[owner == index]) for index in range(len(polygons)))


def faces_of(boundaries: Sequence[shapely.Geometry]) -> Shapes:
    """Return the faces, on the grid, into which boundaries (polygons or lines) cut the plane.

    Raises
    ------
    GeometryError
        If the boundaries cannot be noded.

    Examples
    --------
    >>> faces = faces_of([shapely.box(0, 0, 2, 2), shapely.box(1, 1, 3, 3)])
    >>> sorted(face.area for face in faces)
    [1.0, 3.0, 3.0]
    """
    lines = [_as_lines(item) for item in boundaries if not item.is_empty]
    if not lines:
        return np.empty(0, dtype=object)
    try:
        # Inside, lines that meet at a point may divide by zero, which sets a flag and nothing else.
        with np.errstate(divide="ignore", invalid="ignore"):
            noded = shapely.union_all(np.asarray(lines, dtype=object), grid_size=GRID_MM)
        faces = shapely.polygonize(shapely.get_parts(noded))
    except shapely.GEOSException as error:
        raise GeometryError(
            f"the boundaries cannot be put on the grid of {GRID_MM} mm; change the width a little"
        ) from error
    found: Shapes = np.asarray(shapely.get_parts(faces), dtype=object)
    return found


def faces_by_shape(shapes: Sequence[shapely.Geometry]) -> tuple[Shapes, Flags]:
    """Return the faces (m,), on the grid, into which shapes cut the plane, and which lie in each: (n, m).

    Examples
    --------
    >>> faces, inside = faces_by_shape([shapely.box(0, 0, 2, 2), shapely.box(1, 1, 3, 3)])
    >>> [union_of_faces(faces[own]).area for own in inside]
    [4.0, 4.0]
    """
    faces = faces_of(shapes)
    spots = shapely.point_on_surface(faces)
    shapely.prepare(shapes)
    return faces, np.array([shapely.intersects(shape, spots) for shape in shapes])


def union_of_faces(faces: Sequence[shapely.Geometry] | Shapes) -> shapely.MultiPolygon:
    """Return the union of polygons of one coverage, empty ones among them; no new vertices, no noding.

    Examples
    --------
    >>> union_of_faces(faces_of([shapely.box(0, 0, 2, 2), shapely.box(1, 1, 3, 3)])).area
    7.0
    """
    some = np.asarray(faces, dtype=object)
    return as_multi(shapely.coverage_union_all(some[~shapely.is_empty(some)]))


def _as_lines(geometry: shapely.Geometry) -> shapely.Geometry:
    return shapely.boundary(geometry) if shapely.get_dimensions(geometry) == 2 else geometry


def _owners(faces: Shapes, polygons: Sequence[Area]) -> Ints:
    """Return for each face the first polygon that holds an inner point of it, or -1."""
    owner = np.full(len(faces), len(polygons), dtype=np.int64)
    if len(faces) and len(polygons):
        tree = shapely.STRtree(shapely.point_on_surface(faces))
        holder, face = tree.query(np.asarray(polygons, dtype=object), predicate="intersects")
        np.minimum.at(owner, face, holder)
    owner[owner == len(polygons)] = _NONE
    return owner


def _slivers_given(faces: Shapes, owner: Ints) -> Ints:
    """Give faces of no one that are slivers left by snapping to the neighbor with the longest boundary."""
    if len(faces) == 0:
        return owner
    thin = shapely.area(faces) < SLIVER_MM * shapely.length(faces) / 2
    slivers = np.flatnonzero(thin & (owner == _NONE))
    if len(slivers) == 0:
        return owner
    table = shared_lengths(list(faces))
    given = owner.copy()
    for index in slivers:  # few: each is a crossing of two nearly equal boundaries
        neighbor = longest_neighbor(table, int(index))
        if neighbor is not None:
            given[index] = owner[neighbor]
    return given
