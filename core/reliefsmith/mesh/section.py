"""Plane sections of meshes: the shape that a printer lays at one height."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from ..model.arrays import Flags, Floats, Ints, Triangles, Vertices
from ..polygons import as_multi, merged
from ..polygons.groups import counted_on

__all__ = ["crossing", "cut", "cut_twice", "wound"]

_SAME_AREA = 1e-6
"""Share by which rings that lie in each other in turn may fill another area than their sum: rounding."""

_NODED_MM = 1e-6
"""Grid on which rings that meet are noded: without one, rounding opens a ring where it crosses by a hair."""

_LEAST_RING = 4
"""Points of a closed ring around some area: three and the first again."""


def crossing(vertices: Vertices, triangles: Triangles, z_mm: float) -> npt.NDArray[np.intp]:
    """Return the indices of the triangles that a horizontal plane cuts.

    A vertex in the plane counts as below it, so a plane through vertices still gives closed rings.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> mesh = prism(shapely.box(0, 0, 3, 2), 0.0, 1.0)
    >>> len(mesh.triangles), len(crossing(mesh.vertices, mesh.triangles, 0.5))
    (12, 8)
    """
    above = (vertices[:, 2] > z_mm)[triangles].sum(axis=1)
    return np.flatnonzero((above > 0) & (above < 3))


def cut(
    vertices: Vertices, triangles: Triangles, z_mm: float, cut_triangles: npt.NDArray[np.intp] | None = None
) -> shapely.MultiPolygon:
    """Return the section of a mesh at a height; see `cut_twice`.

    Examples
    --------
    >>> corner = np.array([[0, 0, 0], [4, 0, 0], [0, 4, 0], [0, 0, 4.0]])
    >>> cut(corner, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]), 2.0).area
    2.0
    """
    return cut_twice(vertices, triangles, z_mm, cut_triangles)[0]


def cut_twice(
    vertices: Vertices,
    triangles: Triangles,
    z_mm: float,
    cut_triangles: npt.NDArray[np.intp] | None = None,
    *,
    is_inside_out: bool | None = None,
) -> tuple[shapely.MultiPolygon, shapely.MultiPolygon]:
    """Return the section of a mesh at a height, and what of it the surface holds twice or the wrong way.

    Parameters
    ----------
    vertices : float64 array of shape (n, 3)
    triangles : int32 array of shape (m, 3)
        A closed solid; of an open one only the rings that close are kept.
    z_mm : float
    cut_triangles : int array, optional
        What `crossing` returned for this height, if known.
    is_inside_out : bool, optional
        Whether the solid as a whole is; else as most of the section is.

    Notes
    -----
    The solid is where the winding number of the rings is not zero, so bodies that overlap are united and a
    solid turned inside out still has its shape. In a sound solid the number is one there: where it is another
    one, bodies cross or double each other, or a surface passes through itself.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> one, other = (prism(shapely.box(x, 0, x + 2, 1), 0.0, 1.0) for x in (0, 1))
    >>> vertices = np.vstack([one.vertices, other.vertices])
    >>> triangles = np.vstack([one.triangles, other.triangles + len(one.vertices)])
    >>> [shape.area for shape in cut_twice(vertices, triangles, 0.5)]
    [3.0, 1.0]
    """
    found = crossing(vertices, triangles, z_mm) if cut_triangles is None else cut_triangles
    none = shapely.MultiPolygon()
    start, end, edges = _segments(vertices, triangles[found], z_mm)
    place = _places(vertices, edges, z_mm)
    rings = _rings(start, end, place, _within_walls(vertices, triangles[found], edges, start, end))
    if not rings:
        return none, none
    filled = sum(map(_signed_area, rings))
    usual = -1 if (filled < 0 if is_inside_out is None else is_inside_out) else 1
    outlines = shapely.multilinestrings([shapely.linestrings(ring) for ring in rings])
    if shapely.is_simple(outlines):
        shape = as_multi(shapely.build_area(outlines))
        if abs(shape.area - usual * filled) <= _SAME_AREA * shape.area:
            return shape, none
    return wound(rings, usual)


def _signed_area(ring: Floats) -> float:
    """Return the area in a ring, negative for one that runs clockwise."""
    x, y = (ring - ring[0]).T
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2)


def _segments(vertices: Vertices, triangles: Triangles, z_mm: float) -> tuple[Ints, Ints, Ints]:
    """Return for each triangle the cut edges where its segment starts and ends, and the ends of each edge.

    Segments run with the solid on their left, seen from above.
    """
    up = (vertices[:, 2] > z_mm)[triangles]
    lone_up = up.sum(axis=1) == 1
    lone = np.where(lone_up, up.argmax(axis=1), (~up).argmax(axis=1))
    row = np.arange(len(triangles))
    a, b, c = (triangles[row, (lone + step) % 3].astype(np.int64) for step in range(3))
    one, other = _edge(a, b, len(vertices)), _edge(a, c, len(vertices))
    keys, index = np.unique(np.concatenate([one, other]), return_inverse=True)
    first, second = np.split(index.reshape(-1), 2)
    ends = np.column_stack(np.divmod(keys, len(vertices)))
    return np.where(lone_up, first, second), np.where(lone_up, second, first), ends


def _places(vertices: Vertices, edges: Ints, z_mm: float) -> Floats:
    """Return where the plane cuts each edge."""
    low, high = edges.T
    share = (z_mm - vertices[low, 2]) / (vertices[high, 2] - vertices[low, 2])
    places: Floats = vertices[low, :2] + share[:, None] * (vertices[high, :2] - vertices[low, :2])
    return places


def _within_walls(
    vertices: Vertices,
    triangles: Triangles,
    edges: Ints,
    start: Ints,
    end: Ints,
) -> Flags:
    """Tell of each cut edge whether it only halves an upright wall, so that it is no corner of the section.

    Two upright triangles that share a slanted edge lie in one plane. Upright is a triangle of which two
    corners lie above one another, as in the wall of every prism.
    """
    flat = vertices[:, :2]
    a, b, c = (flat[triangles[:, corner]] for corner in range(3))
    upright = (a == b).all(axis=1) | (b == c).all(axis=1) | (c == a).all(axis=1)
    walls = np.bincount(np.concatenate([start[upright], end[upright]]), minlength=len(edges))
    every = np.bincount(np.concatenate([start, end]), minlength=len(edges))
    slanted = (flat[edges[:, 0]] != flat[edges[:, 1]]).any(axis=1)
    within: Flags = slanted & (walls == 2) & (every == 2)
    return within


def _edge(a: Ints, b: Ints, count: int) -> Ints:
    key: Ints = np.minimum(a, b) * count + np.maximum(a, b)
    return key


def _rings(
    start: Ints,
    end: Ints,
    place: Floats,
    within: Flags,
) -> list[Floats]:
    """Chain segments into closed rings without the points within walls; open chains are left out.

    A loop over segments, because each step depends on the one before.
    """
    order = np.argsort(start, kind="stable")
    onward, bounds = end[order].tolist(), np.searchsorted(start[order], np.arange(len(place) + 1)).tolist()
    taken, ends = bounds[:-1], bounds[1:]  # of the segments that start at each place
    rings = []
    for first in start.tolist():
        chain, here = [first], first
        while (at := taken[here]) < ends[here] and (here != first or len(chain) == 1):
            taken[here] = at + 1
            here = onward[at]
            chain.append(here)
        if len(chain) >= _LEAST_RING and here == first:
            rings.append(_ring(chain, place, within))
    return rings


def _ring(chain: list[int], place: Floats, within: Flags) -> Floats:
    """Return the corners of a closed chain, the first one again at the end."""
    around = np.array(chain[:-1])
    corners = around[~within[around]]
    kept = corners if len(corners) >= _LEAST_RING - 1 else around
    ring: Floats = place[np.append(kept, kept[0])]
    return ring


def wound(rings: Sequence[Floats], usual: int = 1) -> tuple[shapely.MultiPolygon, shapely.MultiPolygon]:
    """Return the faces that rings crossing each other wind around, and those not once the usual way.

    Parameters
    ----------
    rings : sequence of arrays (n, 2)
        The last point repeats the first.
    usual : int
        1 for rings that run counter-clockwise round what they hold, -1 for such that run clockwise.
    """
    lines = shapely.union_all([shapely.linestrings(ring) for ring in rings], grid_size=_NODED_MM)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    turns = _windings(rings, shapely.get_coordinates(shapely.point_on_surface(faces)))
    return merged(faces[turns != 0]), merged(faces[(turns != 0) & (turns != usual)])


def _windings(rings: Sequence[Floats], points: Floats) -> Ints:
    """Count how often rings go round each point (n, 2), by their crossings of a ray to the right of it."""
    start, end = (np.concatenate([ring[part] for ring in rings]) for part in (slice(-1), slice(1, None)))
    order = np.argsort(points[:, 1], kind="stable")
    low, high = np.sort([start[:, 1], end[:, 1]], axis=0)
    first, last = (np.searchsorted(points[order, 1], side) for side in (low, high))  # low <= y < high
    crossed, edge = counted_on(first, last - first)
    own = order[crossed]
    (x0, y0), (x1, y1) = ((side[edge] - points[own]).T for side in (start, end))
    left, rising = x0 * y1 - x1 * y0, y1 > y0
    turns = np.where(rising & (left > 0), 1, 0) - np.where(~rising & (left < 0), 1, 0)
    found = np.zeros(len(points), dtype=np.int64)
    np.add.at(found, own, turns)
    return found
