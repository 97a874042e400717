"""Links: short bars that join pieces of the base, where they cost least and have body behind their roots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from ...model.arrays import Floats, Ints
from ...polygons import GRID_MM, closed, merged, polygons_of
from ...polygons.groups import Groups

__all__ = [
    "Link",
    "between_roots",
    "closing_pairs",
    "fillets",
    "link_between",
    "link_places",
    "links_between",
    "pairs_by_distance",
    "spanning_pairs",
]


LONGEST_IN_WIDTHS = 4.0
"""A link longer than this many widths is made wider instead: it would snap."""

FILLET_MM = 1.0
"""Radius of the fillets at a link's roots: sharp inner corners are where printed parts crack."""

_SHIFTS = 9
"""Parallel places tried within one width to each side of the shortest connection."""

_BODY_MM = 3.0
"""This much body is wanted behind a root, so that a link does not hang on a pointed tip."""

_BODY_COST_MM2 = 6.0
_NARROW_COST_MM2 = 5.0
_NARROW = 0.9
_TOUCHING_MM = 0.01
_WINDOW_MM = 3.0
_ALL_PAIRS = 40
"""Up to this many pieces every pair is measured; above, pairs that are neighbors in a triangulation."""

_SAMPLE_MM = 1.0
_LONG_IN_WIDTHS = 4.0
"""Pieces that face each other along more than this many widths get two links, so that they do not twist."""

_FACING_MM = 1.0
_APART_WORTH = 0.5
"""What a millimetre between two links is worth, in mm2: a wide stance for a little more bar."""

_CLOSING = 1.5
"""The two ends of a chain of pieces are joined if that takes less than this many times the mean link."""

_LEAST_APART = 3.0
_CANDIDATES = 24


@dataclass(frozen=True, slots=True)
class Link:
    """A bar between two pieces, its length, and what it costs in area and weak roots."""

    bar: shapely.Geometry
    length: float
    cost: float


def spanning_pairs(pieces: list[shapely.Polygon]) -> list[tuple[int, int]]:
    """Return the pairs of pieces that a shortest tree of connections joins, shortest first.

    Kruskal's algorithm (1956) on exact distances; ties by the pieces' order.

    Examples
    --------
    >>> spanning_pairs([shapely.box(x, 0, x + 1, 1) for x in (0, 5, 2)])
    [(0, 2), (1, 2)]
    """
    groups = Groups(len(pieces))
    return [pair for pair in pairs_by_distance(pieces) if groups.join(*pair)]


def link_between(first: shapely.Polygon, second: shapely.Polygon, width: float) -> Link:
    """Return the cheapest bar between two pieces near their shortest connection.

    Cost in mm2: the area added, 5 for a root narrower than 0.9 widths, up to 6 for no body behind a root.
    """
    ends = shapely.get_coordinates(shapely.shortest_line(first, second))
    length = float(np.hypot(*(ends[1] - ends[0])))
    wide = max(width, length / LONGEST_IN_WIDTHS)
    along = _direction(first, second, ends)
    across = np.array([-along[1], along[0]])
    found: list[Link] = []
    for turn, shift in enumerate(np.linspace(-wide, wide, _SHIFTS)):
        link = _bar(first, second, ends + shift * across, along, wide)
        if link is not None:
            off_middle = 1e-6 * abs(turn - _SHIFTS // 2)  # of equal places the middle one
            found.append(Link(link.bar, link.length, link.cost + off_middle))
    if not found:
        whole = shapely.LineString(ends + np.outer([-wide, wide], along))
        bar = whole.buffer(wide / 2, cap_style="flat").difference(shapely.union(first, second))
        rod = between_roots(whole.buffer(wide / 2), whole, wide, (first, second))
        return Link(rod, length, float(bar.area) + 2 * _BODY_COST_MM2)
    return min(found, key=lambda link: round(link.cost, 6))


def links_between(first: shapely.Polygon, second: shapely.Polygon, width: float) -> list[Link]:
    """Return one link, or two far apart where the pieces face each other along more than four widths.

    Examples
    --------
    >>> bars = shapely.box(0, 0, 30, 4), shapely.box(0, 6, 30, 10)
    >>> [round(link.length, 6) for link in links_between(*bars, 3.0)]
    [2.0, 2.0]
    """
    best = link_between(first, second, width)
    near = second.buffer(best.length + _FACING_MM, quad_segs=4)
    facing = shapely.intersection(first.boundary, near)
    if facing.length <= _LONG_IN_WIDTHS * width:
        return [best]
    tried = [link for link in _along(first, second, facing, width) if link.cost <= 2 * best.cost + width**2]
    points = shapely.get_coordinates(shapely.centroid([link.bar for link in tried]))
    if len(tried) < 2:
        return [best]
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    cost = np.array([link.cost for link in tried])
    total = np.round(cost[:, None] + cost[None] - _APART_WORTH * apart, 6)
    total[apart < _LEAST_APART * width] = np.inf
    one, other = np.unravel_index(int(np.argmin(total)), total.shape)
    return [tried[one], tried[other]] if np.isfinite(total[one, other]) else [best]


def closing_pairs(pieces: list[shapely.Polygon], tree: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return pairs of pieces that close chains: both are ends of the tree and lie near each other.

    Examples
    --------
    >>> ring = [shapely.Point(x, y).buffer(4) for x, y in ((0, 0), (10, 0), (5, 8.7))]
    >>> closing_pairs(ring, spanning_pairs(ring))
    [(1, 2)]
    """
    degree = np.bincount(np.array(tree).reshape(-1), minlength=len(pieces))
    ends = [int(index) for index in np.flatnonzero(degree == 1)]
    mean = float(np.mean([pieces[a].distance(pieces[b]) for a, b in tree]))
    joined: list[tuple[int, int]] = []
    free = set(ends)
    pairs = [pair for pair in combinations(ends, 2) if pair not in tree and pair[::-1] not in tree]
    for distance, one, other in sorted((pieces[a].distance(pieces[b]), a, b) for a, b in pairs):
        if distance <= _CLOSING * mean and {one, other} <= free:
            joined.append((one, other))
            free -= {one, other}
    return joined


def link_places(first: shapely.Polygon, second: shapely.Polygon, width: float) -> list[Link]:
    """Return links at places all along a piece's boundary, where the usual ones are not allowed."""
    return _along(first, second, first.boundary, width)


def pairs_by_distance(pieces: list[shapely.Polygon]) -> list[tuple[int, int]]:
    """Return the pairs of pieces that may be joined, the nearest first; ties by the pieces' order."""
    pairs = _pairs(pieces)
    shapes = np.asarray(pieces, dtype=object)
    distance = np.round(shapely.distance(shapes[pairs[:, 0]], shapes[pairs[:, 1]]), 6)
    order = np.lexsort((pairs[:, 1], pairs[:, 0], distance))
    return [(int(first), int(second)) for first, second in pairs[order]]


def fillets(base: shapely.Geometry, part: shapely.Geometry, radius: float) -> shapely.MultiPolygon:
    """Return what rounds the inner corners between `part` and the base: a closing near the part.

    Parameters
    ----------
    base : geometry
        The base with the part.
    part : geometry
        The added bar or eyelet; only fillets that touch it are returned.
    """
    left, low, right, high = part.bounds
    reach = _WINDOW_MM + radius
    near = shapely.clip_by_rect(base, left - reach, low - reach, right + reach, high + reach)
    window = shapely.box(*part.bounds).buffer(_WINDOW_MM, join_style="mitre")
    fill = closed(near, radius).difference(near).intersection(window)
    touching = part.buffer(_TOUCHING_MM)
    kept = [piece.buffer(_TOUCHING_MM / 2) for piece in polygons_of(fill) if piece.intersects(touching)]
    return merged(kept)


def _along(
    first: shapely.Polygon, second: shapely.Polygon, facing: shapely.Geometry, width: float
) -> list[Link]:
    """Return links at places spread along the boundary that faces the other piece."""
    step = max(width / 2, facing.length / _CANDIDATES)
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(facing, step)))
    lines = shapely.shortest_line(points, second)
    order = np.argsort(np.round(shapely.length(lines), 6), kind="stable")[: 4 * _CANDIDATES]
    found: list[Link] = []
    for line in lines[np.sort(order)[:: max(1, len(order) // _CANDIDATES)]]:
        ends = shapely.get_coordinates(line)
        length = float(np.hypot(*(ends[1] - ends[0])))
        wide = max(width, length / LONGEST_IN_WIDTHS)
        link = _bar(first, second, ends, _direction(first, second, ends), wide)
        if link is not None:
            found.append(link)
    return found


def _bar(
    first: shapely.Polygon, second: shapely.Polygon, ends: Floats, along: Floats, width: float
) -> Link | None:
    """Return the bar with its axis through `ends`, or None if it does not reach both pieces."""
    reach = width + _BODY_MM
    axis = shapely.LineString(ends + np.outer([-reach, reach], along))
    strip = axis.buffer(width / 2, cap_style="flat")
    a, b = strip.intersection(first), strip.intersection(second)
    free = strip.difference(shapely.union(first, second))
    between = [piece for piece in polygons_of(free) if piece.distance(a) < 1e-9 and piece.distance(b) < 1e-9]
    if not between:
        return None
    bar = merged(between)
    length = float(a.distance(b))
    cost = float(bar.area)
    for body, end in ((a, ends[0]), (b, ends[1])):
        root = float(bar.boundary.intersection(body.buffer(1e-6)).length)
        cost += _NARROW_COST_MM2 * (root < _NARROW * width)
        behind = float(body.intersection(shapely.Point(end).buffer(_BODY_MM)).area)
        cost += _BODY_COST_MM2 * max(0.0, 1.0 - behind / (_BODY_MM * width * 0.8))
    bar = between_roots(bar, axis, width, (first, second))
    grown = merged([bar.buffer(_TOUCHING_MM, join_style="mitre")])
    return Link(grown, length, cost)


def between_roots(
    bar: shapely.Geometry, axis: shapely.LineString, width: float, bodies: Sequence[shapely.Geometry]
) -> shapely.Geometry:
    """Return a bar without what reaches past the pieces that it joins: it ends as they do, rounded.

    What lies between two roots lies in the convex hull of the bodies near the axis, within a width of it.
    """
    beside = axis.buffer(width, cap_style="flat")
    near = shapely.intersection(np.asarray(bodies, dtype=object), beside)
    hull = shapely.union_all(near).convex_hull
    if hull.covers(bar):
        return bar
    inner = shapely.intersection(bar, hull, grid_size=GRID_MM)
    return merged(polygons_of(inner))


def _direction(first: shapely.Polygon, second: shapely.Polygon, ends: Floats) -> Floats:
    """Return the unit direction of a link; pieces that touch are joined from middle to middle."""
    way = ends[1] - ends[0]
    if np.hypot(*way) < _TOUCHING_MM:
        near = shapely.Point(ends[0]).buffer(_BODY_MM)
        way = np.array(
            [
                second.intersection(near).centroid.x - first.intersection(near).centroid.x,
                second.intersection(near).centroid.y - first.intersection(near).centroid.y,
            ]
        )
    size = np.hypot(*way)
    return np.asarray(way / size if size > 0 else np.array([1.0, 0.0]), dtype=np.float64)


def _pairs(pieces: list[shapely.Polygon]) -> Ints:
    if len(pieces) <= _ALL_PAIRS:
        return np.array(list(combinations(range(len(pieces)), 2)), dtype=np.int64).reshape(-1, 2)
    rings = shapely.get_exterior_ring(np.asarray(pieces, dtype=object))
    points, owner = shapely.get_coordinates(shapely.segmentize(rings, _SAMPLE_MM), return_index=True)
    points, at = np.unique(np.round(points, 6), axis=0, return_index=True)
    edges = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(points), only_edges=True))
    ends = np.round(shapely.get_coordinates(edges), 6)
    keys = {(x, y): int(owner[index]) for (x, y), index in zip(points.tolist(), at.tolist(), strict=True)}
    owners = np.array([keys[x, y] for x, y in ends.tolist()], dtype=np.int64).reshape(-1, 2)
    apart = owners[owners[:, 0] != owners[:, 1]]
    return np.unique(np.sort(apart, axis=1), axis=0)
