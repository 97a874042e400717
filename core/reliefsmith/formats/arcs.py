"""The boundaries of a coverage as arcs, each one once, though two areas have it in their rings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from ..polygons import from_grid, to_grid

__all__ = ["Arcs", "shared_arcs"]

Ids = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Arcs:
    """Arcs and the rings made of them.

    Parameters
    ----------
    points : tuple of float64 arrays (n, 2)
        Each from one meeting of boundaries to the next; closed (first point again at the end) without one.
    rings : tuple, for each area a tuple of rings, each a tuple of (arc, backward)
        Shells counter-clockwise, holes clockwise, in the order of the areas' polygons.
    """

    points: tuple[npt.NDArray[np.float64], ...]
    rings: tuple[tuple[tuple[tuple[int, bool], ...], ...], ...]


def shared_arcs(areas: Sequence[shapely.MultiPolygon]) -> Arcs:
    """Cut the rings of a valid coverage on the 1 um grid at the points where boundaries meet.

    An arc runs from its end with the smaller point (x, then y), so its direction does not depend on which
    area it is found in.

    Examples
    --------
    >>> pair = [shapely.MultiPolygon([shapely.box(x, 0, x + 1, 1)]) for x in (0, 1)]
    >>> arcs = shared_arcs(pair)
    >>> len(arcs.points), [len(rings[0]) for rings in arcs.rings]
    (3, [2, 2])
    """
    parts, area = shapely.get_parts(np.asarray(areas, dtype=object), return_index=True)
    rings, ring_part = shapely.get_rings(shapely.orient_polygons(parts), return_index=True)
    sizes = shapely.get_num_coordinates(rings)
    grid, ids = np.unique(to_grid(shapely.get_coordinates(rings)), axis=0, return_inverse=True)
    own = np.split(ids.reshape(-1), np.cumsum(sizes)[:-1])
    node = _meetings(own, len(grid))
    found: dict[bytes, int] = {}
    points: list[npt.NDArray[np.float64]] = []
    made: list[list[tuple[tuple[int, bool], ...]]] = [[] for _ in areas]
    for ring, part in zip(own, ring_part, strict=True):
        pieces = []
        for piece in _cut(ring[:-1], node):
            backward = (piece[0], piece[1]) > (piece[-1], piece[-2])
            forward = np.ascontiguousarray(piece[::-1] if backward else piece)
            key = forward.tobytes()
            if key not in found:
                found[key] = len(points)
                points.append(from_grid(grid[forward]))
            pieces.append((found[key], bool(backward)))
        made[area[part]].append(tuple(pieces))
    return Arcs(tuple(points), tuple(tuple(rings) for rings in made))


def _meetings(rings: Sequence[Ids], count: int) -> npt.NDArray[np.bool_]:
    """Tell which points have other than two edges, an edge of two rings counting once."""
    edges = np.concatenate([np.stack((ring[:-1], ring[1:]), axis=1) for ring in rings])
    single = np.unique(np.sort(edges, axis=1), axis=0)
    meets: npt.NDArray[np.bool_] = np.bincount(single.reshape(-1), minlength=count) != 2
    return meets


def _cut(ring: Ids, node: npt.NDArray[np.bool_]) -> list[Ids]:
    """Cut an open list of the ring's points at nodes; without one, close it at its smallest point."""
    at = np.flatnonzero(node[ring])
    if not len(at):
        start = int(np.argmin(ring))
        return [np.concatenate([ring[start:], ring[: start + 1]])]
    turned = np.concatenate([ring[at[0] :], ring[: at[0] + 1]])
    ends = [*(at - at[0]).tolist(), len(ring)]
    return [turned[one : other + 1] for one, other in pairwise(ends)]
