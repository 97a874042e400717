"""The seam that shows least within a band: along boundaries of colors where that is cheaper than straight on.

A lattice of straight lines and the boundaries of colors cut the band into faces. Parting two neighbors costs
the length of the edge that they share, less where their colors differ. The cheapest cut between what lies
before the band and what lies after it is a cut of least capacity of that graph, whatever openings and arms
the piece has: a straight line is just one of those that are compared.

A part has to be worth its joint. Where an arm is narrower than the shortest key needs, its seam costs the
more the narrower it is, as it holds the less: so an arm that must be cut is cut where it is wide, and no tip
is taken off only because that is the shortest seam of all.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ...polygons import GRID_MM, faces_of, opened, shared_lengths, union_of_faces
from .jointkeys import NEEDED_MM
from .mincut import reached_side

__all__ = ["SEEN_SHARE", "cheapest_halves"]

SEEN_SHARE = 0.25
"""What a seam costs on a boundary of colors, where nobody looks for it, against one across a color."""

_LINES = 12
_STEP_MM = 4.0
"""Lines of the lattice stand this far apart, or twelve to the band where it is wide."""

_WIDTHS = (0.2, 0.4, 0.6, 0.8)
"""Shares of the width that the shortest key needs, by which widths of arms are told apart."""

_BARRED = 10**12  # grid steps: dearer than all seams of any piece together
_SOURCE, _SINK = 0, 1


def cheapest_halves(
    region: shapely.Polygon,
    colors: Sequence[shapely.Geometry],
    barred: shapely.Geometry,
    axis: int,
    band: tuple[float, float],
) -> tuple[shapely.MultiPolygon, shapely.MultiPolygon]:
    """Part a region in two, somewhere in a band across it.

    Parameters
    ----------
    region : Polygon
        On the grid.
    colors : sequence of geometries
        What is seen on it, each of one color.
    barred : geometry
        What no seam crosses: holes with their walls, pockets.
    axis : int
        0 where the band lies between two x, 1 for two y.
    band : (float, float)
        In mm; both may be the same.

    Returns
    -------
    (MultiPolygon, MultiPolygon)
        What lies before the seam and after it: unions of faces of one coverage.
    """
    low, high = round(band[0], 3), round(band[1], 3)
    faces = faces_of([region, *_boundaries(region, colors, axis, (low, high))])
    places = shapely.point_on_surface(faces)
    shapely.prepare(region)
    faces = faces[shapely.intersects(region, places)]
    places = shapely.point_on_surface(faces)
    bounds = shapely.bounds(faces)
    before, after = bounds[:, axis + 2] <= low + GRID_MM, bounds[:, axis] >= high - GRID_MM
    node = np.arange(len(faces)) + 2
    node[before], node[after] = _SOURCE, _SINK
    owners, weak = _owners(places, colors), _weakness(region, places)
    edges = _edges(faces, node, owners, weak, shapely.intersects(faces, barred))
    side = reached_side(len(faces) + 2, edges, _SOURCE, _SINK)
    first = np.array([side[index] for index in node], dtype=np.bool_)
    return union_of_faces(faces[first]), union_of_faces(faces[~first])


def _boundaries(
    region: shapely.Polygon, colors: Sequence[shapely.Geometry], axis: int, band: tuple[float, float]
) -> list[shapely.Geometry]:
    """Return the lattice of the band and the boundaries of colors in it."""
    left, bottom, right, top = region.bounds
    (low, high), (start, end) = band, ((bottom, top), (left, right))[axis]
    along = np.linspace(low, high, 1 + min(_LINES, int((high - low) / _STEP_MM) + 1))
    step = max(_STEP_MM, (high - low) / _LINES)
    across = np.arange(start + step, end, step)
    lines = [((at, start - 1), (at, end + 1)) for at in along.tolist()]
    lines += [((low, at), (high, at)) for at in across.tolist()] if high > low else []
    corners = [(low, start - 1), (high, end + 1)]
    if axis == 1:
        lines = [(one[::-1], other[::-1]) for one, other in lines]
        corners = [corner[::-1] for corner in corners]
    window = shapely.box(*corners[0], *corners[1])
    inside = [shapely.intersection(shapely.boundary(shape), window) for shape in colors] if high > low else []
    return [*(shapely.LineString(line) for line in lines), *(item for item in inside if not item.is_empty)]


def _owners(places: np.ndarray, colors: Sequence[shapely.Geometry]) -> np.ndarray:
    """Return for each place the color that it shows, -1 for none."""
    owner = np.full(len(places), -1)
    for index, shape in enumerate(colors):
        shapely.prepare(shape)
        owner[shapely.intersects(shape, places)] = index
    return owner


def _weakness(region: shapely.Polygon, places: np.ndarray) -> np.ndarray:
    """Return for each place the square of how often its width goes into what a key needs, at least 1."""
    widths = np.full(len(places), _WIDTHS[0])
    for share in (*_WIDTHS[1:], 1.0):
        wide = opened(region, share * NEEDED_MM / 2)
        shapely.prepare(wide)
        widths[shapely.intersects(wide, places)] = share
    return np.asarray(widths**-2.0)


def _edges(
    faces: np.ndarray,
    node: np.ndarray,
    owner: np.ndarray,
    weak: np.ndarray,
    barred: np.ndarray,
) -> list[tuple[int, int, int]]:
    """Return which nodes meet, and what parting them costs, in whole grid steps."""
    edges = []
    for one, other, length in shared_lengths(list(faces)).tolist():
        a, b = int(one), int(other)
        if node[a] == node[b]:
            continue
        share = (SEEN_SHARE if owner[a] != owner[b] else 1.0) * max(weak[a], weak[b])
        cost = _BARRED if barred[a] and barred[b] else max(1, round(share * length / GRID_MM))
        edges.append((int(node[a]), int(node[b]), cost))
    return edges
