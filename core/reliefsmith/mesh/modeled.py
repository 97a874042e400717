"""Modeled tops: caps of a solid exchanged for a surface of any heights, rims and all, walls still upright.

Every point of a wall stays above its foot, so neighbors cannot come to share volume whatever their heights.
Along a rim points are added where a height does not run straight; they depend on the two ends of the edge
only, so that both neighbors add the same ones. All heights here count from the level of the cap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..errors import GeometryError
from ..model.arrays import Flags, Floats, Ints
from ..polygons import as_multi, from_grid, polygons_of, to_grid
from ..polygons.groups import counted_on
from .gridrings import Rings, found_in, rings_of
from .insets import insets
from .lattice import Cells, lattice_cells
from .prism import covered, section_difference
from .surface import HEIGHT_DECIMALS, Cast

__all__ = ["ModeledTop", "Surface", "modeled_top", "with_tops"]

LEAN_MM = 0.02
"""How far a step beside something that stands on the top leans: 20 grid steps, a 20th of a bead."""

STRAIGHT_MM = 0.001
"""A rim runs straight where its height is off the line by less than this: one step of written heights."""

LEVEL_MM = 1e-6
"""Cells bend where heights differ from those of a plane by more: no sagitta over a wide piece is seen."""


HeightsAt = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True)
class Surface:
    """How far a top is above its level at places (n, 2) in mm: inside, and along its rim, as neighbors are.

    An even one has all points of its lattice, not only those where it bends.
    """

    inside: HeightsAt
    rim: HeightsAt
    step_mm: float
    even: bool = False


@dataclass(frozen=True, slots=True)
class ModeledTop:
    """A triangulated top over one cap of a solid.

    Parameters
    ----------
    points : int64 array of shape (n, 2)
        In grid steps, no two equal.
    heights : float64 array of shape (n,)
        In mm above the level.
    triangles : int64 array of shape (m, 3)
        Counter-clockwise seen from above.
    chains : list of int64 arrays
        Edges of the cap that got points: start, points between, end, with the material on the left.
    """

    points: Ints
    heights: Floats
    triangles: Ints
    chains: list[Ints]


def modeled_top(
    cap: shapely.Geometry, kept: shapely.Geometry, above: shapely.Geometry, surface: Surface
) -> ModeledTop:
    """Return a top over a cap.

    Parameters
    ----------
    cap : Polygon or MultiPolygon
    kept : Polygon or MultiPolygon
        What of it stays level.
    above : Polygon or MultiPolygon
        What of the same solid stands beside it on the same level; points that it shares stay level.
    surface : Surface

    Raises
    ------
    GeometryError
        If the shapes are not unions of faces of one coverage.
    """
    free = section_difference(cap, kept)
    level = np.concatenate([rings_of(kept).points, rings_of(above).points])
    shell, chains = _divided(
        rings_of(free), surface.rim, surface.step_mm, lambda points: found_in(points, level) >= 0
    )
    shape = _whole(shell) if chains else free
    inner = _drawn_in(free, shape, surface) if shape.is_valid else None
    if inner is None:  # a rim so narrow that added points would meet: it stays as it is
        shell, chains, shape = rings_of(free), [], free
        inner = _drawn_in(free, free, surface) or shapely.MultiPolygon()
    shell_points = shell.points
    around = np.concatenate([shell_points, rings_of(kept).points, rings_of(cap).points])
    rim_points = np.unique(around[:, ::-1], axis=0)[:, ::-1]
    inner_points = rings_of(inner).points
    cells = lattice_cells(inner, surface.step_mm, None if surface.even else _bent(surface))
    points = np.concatenate([rim_points, inner_points, cells.points])
    on_rim = len(rim_points)
    heights = np.concatenate([surface.rim(from_grid(rim_points)), surface.inside(from_grid(points[on_rim:]))])
    held = found_in(rim_points, level) >= 0
    heights[:on_rim][held] = 0.0
    heights = heights.round(HEIGHT_DECIMALS)
    first = on_rim + len(inner_points)
    rest = inner if cells.shape.is_empty else section_difference(inner, cells.shape)
    band = shape if inner.is_empty else section_difference(shape, inner)
    pieces = [covered(shapely.MultiPolygon() if kept.is_empty else kept, points), covered(band, points)]
    pieces += [covered(rest, points), cells.triangles(heights[first:]) + first]
    ends = [found_in(shell_points[chain], rim_points) for chain in chains]
    return ModeledTop(points, heights, np.concatenate(pieces), ends)


def with_tops(cast: Cast, tops: Sequence[tuple[int, ModeledTop]]) -> Cast:
    """Return a solid with the caps of some levels exchanged for modeled tops.

    Parameters
    ----------
    cast : Cast
        As `upright` gives it.
    tops : sequence of (int, ModeledTop)
        The level of each cap, none twice, and what lies there instead.
    """
    rise, triangles = cast.rise.copy(), cast.triangles.astype(np.int64)
    points, levels, rises = [cast.points], [cast.level], [rise]
    kept, added = np.ones(len(triangles), dtype=bool), []
    count = len(rise)
    split: dict[tuple[int, int], Ints] = {}
    for level, top in tops:
        on_level = np.flatnonzero(cast.level == level)
        kept &= ~_caps(cast, level)
        at = found_in(to_grid(cast.points[on_level]), top.points)
        known = np.full(len(top.points), -1, dtype=np.int64)
        known[at[at >= 0]] = on_level[at >= 0]
        rise[known[known >= 0]] = top.heights[known >= 0]
        fresh = np.flatnonzero(known < 0)
        known[fresh] = np.arange(len(fresh)) + count
        count += len(fresh)
        points.append(from_grid(top.points[fresh]))
        levels.append(np.full(len(fresh), level))
        rises.append(top.heights[fresh])
        added.append(known[top.triangles])
        split |= {(int(known[c[-1]]), int(known[c[0]])): known[c] for c in top.chains}
    walls = _fanned(triangles[kept], split)
    whole = np.concatenate([walls, *added]).astype(np.int32)
    return Cast(np.concatenate(points), np.concatenate(levels), np.concatenate(rises), whole)


def _caps(cast: Cast, level: int) -> Flags:
    """Return which triangles lie on a level with their outside upward."""
    found = (cast.level == level)[cast.triangles].all(axis=1)
    a, b, c = (cast.points[cast.triangles[found, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    found[found] = ux * vy - uy * vx > 0
    return np.asarray(found)


def _fanned(triangles: Ints, split: dict[tuple[int, int], Ints]) -> Ints:
    """Return triangles with those at a divided upper edge of a wall cut into a fan from their foot."""
    if not split:
        return triangles
    count = int(triangles.max()) + 1
    keys = np.array([a * count + b for a, b in split], dtype=np.int64)
    chains = list(split.values())
    order = {int(key): number for number, key in enumerate(keys)}
    rows, fans = [], []
    for corner in range(3):
        start, end = triangles[:, corner], triangles[:, (corner + 1) % 3]
        own = np.flatnonzero(np.isin(start * count + end, keys))
        for row in own.tolist():  # a loop over the few edges that got points
            chain = chains[order[int(start[row] * count + end[row])]][::-1]
            foot = np.full(len(chain) - 1, triangles[row, (corner + 2) % 3])
            rows.append(row)
            fans.append(np.column_stack([chain[:-1], chain[1:], foot]))
    if len(rows) != len(split):
        raise GeometryError("a divided rim is not the upper edge of one wall")
    whole = np.ones(len(triangles), dtype=bool)
    whole[rows] = False
    return np.concatenate([triangles[whole], *fans])


def _drawn_in(
    free: shapely.Geometry, shape: shapely.Geometry, surface: Surface
) -> shapely.MultiPolygon | None:
    """Return a shape drawn in by the lean, with points where heights bend; None where it meets the rim."""
    found = [one for piece in polygons_of(free) for one in insets(piece, (LEAN_MM,), 0.0)]
    inner = as_multi([polygon for one in found for polygon in polygons_of(one)])
    rings, chains = _divided(rings_of(inner), surface.inside, surface.step_mm)
    fine = as_multi(_whole(rings)) if chains else inner
    for one in (fine, inner):
        if one.is_empty or (one.is_valid and shapely.contains_properly(shape, one)):
            return one
    return None


def _divided(
    rings: Rings,
    heights_at: HeightsAt,
    step_mm: float,
    held: Callable[[Ints], Flags] | None = None,
) -> tuple[Rings, list[Ints]]:
    """Return rings with points added to edges along which heights do not run straight, and those chains.

    An edge between two held points stays.
    """
    start, end = rings.points, rings.points[rings.following]
    # From the lower end on, so that an edge is divided alike whichever way it runs.
    turned = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    low, high = np.where(turned[:, None], end, start), np.where(turned[:, None], start, end)
    length = np.hypot(*(high - low).T) / 1000
    parts = np.maximum(np.ceil(length / step_mm - 1e-9).astype(np.int64), 1)
    if held is not None:
        fixed = held(rings.points)
        parts[fixed & fixed[rings.following]] = 1
    number, edge = counted_on(np.ones_like(parts), parts - 1)
    share = number / parts[edge]
    between = np.rint(low[edge] + (high - low)[edge] * share[:, None]).astype(np.int64)
    ends = heights_at(from_grid(np.concatenate([low, high])))
    line = ends[edge] * (1 - share) + ends[len(low) + edge] * share
    off = np.abs(heights_at(from_grid(between)) - line) > STRAIGHT_MM
    bent = np.zeros(len(parts), dtype=bool)
    bent[edge[off]] = True
    chosen = bent[edge]
    edge, between, number = edge[chosen], between[chosen], number[chosen]
    along = np.where(turned[edge], parts[edge] - number, number)
    order = np.lexsort((along, edge))
    edge, between = edge[order], between[order]
    return _inserted(rings, edge, between)


def _inserted(rings: Rings, edge: Ints, between: Ints) -> tuple[Rings, list[Ints]]:
    """Put points, in the order of their edges, behind the points at which the edges start."""
    count = len(rings.points)
    more = np.bincount(edge, minlength=count)
    places = np.arange(count) + np.concatenate([[0], np.cumsum(more)[:-1]])
    points = np.insert(rings.points, edge + 1, between, axis=0)
    starts = np.append(places, len(points))[rings.ring_starts]
    found = Rings(points, starts, rings.polygon_starts)
    after = places[rings.following]
    chains = [
        np.append(np.arange(places[one], places[one] + more[one] + 1), after[one])
        for one in np.flatnonzero(more).tolist()
    ]
    return found, chains


def _whole(rings: Rings) -> shapely.MultiPolygon:
    """Return the polygons of rings."""
    ends = rings.ring_starts[1:] - rings.ring_starts[:-1]
    closed = np.insert(rings.points, rings.ring_starts[1:], rings.points[rings.ring_starts[:-1]], axis=0)
    starts = np.concatenate([[0], np.cumsum(ends + 1)])
    kind = shapely.GeometryType.POLYGON
    return as_multi(shapely.from_ragged_array(kind, from_grid(closed), (starts, rings.polygon_starts)))


def _bent(surface: Surface) -> Cells:
    """Return which cells of the lattice do not lie in a plane with those around them."""

    def wanted(columns: Ints, rows: Ints) -> Flags:
        grid = np.meshgrid(columns * surface.step_mm, rows * surface.step_mm)
        flat = surface.inside(np.column_stack([item.reshape(-1) for item in grid]))
        heights = np.pad(flat.reshape(grid[0].shape), 1, mode="reflect", reflect_type="odd")
        across = np.abs(np.diff(heights[1:-1], 2, axis=1)) > LEVEL_MM
        along = np.abs(np.diff(heights[:, 1:-1], 2, axis=0)) > LEVEL_MM
        node = across | along
        own = heights[1:-1, 1:-1]
        twisted = np.abs(own[1:, 1:] - own[1:, :-1] - own[:-1, 1:] + own[:-1, :-1]) > LEVEL_MM
        bent = twisted | node[1:, 1:] | node[1:, :-1] | node[:-1, 1:] | node[:-1, :-1]
        # Cells along the edge are none of the lattice: whole ones beside a bent one hold the rest level.
        return _widened(_widened(bent).T).T

    return wanted


def _widened(cells: Flags) -> Flags:
    """Return cells and two more to either side."""
    found = cells.copy()
    for far in (1, 2):
        found[:, far:] |= cells[:, :-far]
        found[:, :-far] |= cells[:, far:]
    return found
