"""From a label map to areas: one shared boundary between any two neighbors, at sub-pixel accuracy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from ..errors import GeometryError
from ..model import Artwork, Separation, TracedAreas
from ..model.arrays import Floats, Ints, Points
from ..progress import Progress, Steps, drained
from ..recipe.sections import AreasSettings
from .crossings import find_crossings, find_faults
from .fringes import without_fringes
from .graph import BoundaryGraph, build_graph
from .rings import build_polygons
from .shape import ArcLines, Grade, Restraint, replaced, shape_arcs
from .smooth import Window
from .subpixel import CrackPoints, locate_cracks
from .turn import judged_turn

__all__ = ["trace", "trace_steps"]

SIGMA, SIGMA_RATIO = 2.6, 2.4
"""Smoothing at 0.5 in working pixels, and the factor from there to 1 (or divided, to 0)."""

TOLERANCE, TOLERANCE_RATIO = 0.06, 3.5
"""Reduction at 0.5 in source pixels, under the 0.07 at which it would show; and the factor as above."""

LOSSY_RATIO = 1.35
"""Compression noise is correlated over a few pixels of the source; a wider fit averages it out."""

ROUNDS = 9
"""Rounds of repair; the reach grows with each, and the crack middles it falls back on never cross."""

REACH = 2.5
"""Pixels round a crossing that are restrained in the first round."""

WHOLE_FROM = 5
"""Round from which whole arcs are restrained: where two lie on each other, the reach grows too slowly."""

_NEIGHBORS = np.array([(dx, dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)])
"""Steps to a cell of a grid and to those round it."""


def trace_steps(artwork: Artwork, separation: Separation, settings: AreasSettings) -> Steps[TracedAreas]:
    """Trace the areas of a separated picture.

    Parameters
    ----------
    artwork : Artwork
    separation : Separation
        Its labels have the size of the artwork.
    settings : AreasSettings

    Returns
    -------
    TracedAreas
        A valid coverage in pixels of the upright source picture.

    Raises
    ------
    GeometryError
        If nothing is left but background.
    """
    if not separation.labels.any():
        raise GeometryError("the picture holds nothing but background; check background.mode and colors.omit")
    yield Progress("finding boundaries", 0.0)
    artwork = replace(artwork, lossy=artwork.lossy or separation.lossy)
    if separation.evened is not None:
        artwork = replace(artwork, rgb=separation.evened)
    graph = build_graph(separation.labels)
    mended = without_fringes(graph, artwork, separation)
    if mended is not None:
        separation = mended
        graph = build_graph(separation.labels)
    yield Progress("placing boundaries", 0.3)
    located = locate_cracks(graph, artwork, separation)
    yield Progress("smoothing boundaries", 0.5)
    grade = _grade(settings, artwork)
    lines, polygons = yield from _valid_areas(graph, located, grade, len(separation.colors))
    yield Progress("judging the turn", 0.95)
    turn_deg, findings, notes = judged_turn(ArcLines(lines.points / artwork.scale, lines.starts), artwork)
    polygons = tuple(
        shapely.transform(polygon, lambda points: points / artwork.scale) for polygon in polygons
    )
    return TracedAreas(
        polygons=polygons,
        colors=separation.colors,
        image_px=artwork.source_px,
        to_source=artwork.to_source,
        turn_deg=turn_deg,
        findings=(*separation.findings, *findings),
        notes=(*artwork.notes, *separation.notes, *notes),
        ground=separation.background,
        enclosed=separation.enclosed,
    )


def _grade(settings: AreasSettings, artwork: Artwork) -> Grade:
    """Turn the setting 0 to 1 into window and tolerance, both growing evenly on a logarithmic scale."""
    power = 2.0 * settings.smoothing - 1.0
    sigma = SIGMA * SIGMA_RATIO**power * (LOSSY_RATIO * max(artwork.scale, 1.0) if artwork.lossy else 1.0)
    tolerance = TOLERANCE * TOLERANCE_RATIO**power * artwork.scale
    return Grade(Window(max(2, round(2.0 * sigma)), sigma), tolerance)


def _valid_areas(
    graph: BoundaryGraph, located: CrackPoints, grade: Grade, colors: int
) -> Steps[tuple[ArcLines, tuple[shapely.MultiPolygon, ...]]]:
    """Shape all arcs; where areas would not be valid, keep arcs closer to the pixels, until all are."""
    restraint = Restraint.none(graph)
    lines, nodes = shape_arcs(graph, located, grade, restraint)
    places = find_crossings(lines, graph.tail, graph.head)
    for attempt in range(ROUNDS):
        if not len(places):
            polygons = build_polygons(graph, lines.points, lines.starts, colors)
            places = find_faults(polygons)
            if not len(places):
                return lines, polygons
        yield Progress("mending boundaries", 0.6 + 0.3 * attempt / ROUNDS)
        reach = REACH * (1 + attempt)
        tighter = _tightened(graph, restraint, places, reach, whole=attempt >= WHOLE_FROM)
        arcs = _changed(graph, restraint, tighter)
        restraint = tighter
        part, cracks = graph.only(arcs)
        own = Restraint(restraint.level[cracks], restraint.node_level)
        lines = replaced(lines, arcs, shape_arcs(part, located.only(cracks), grade, own, nodes)[0])
        # Arcs that cross all had cracks there, so that one of any two is among these.
        places = find_crossings(lines, graph.tail, graph.head, arcs)
    everywhere = Restraint(np.full_like(restraint.level, 2), np.full_like(restraint.node_level, 2))
    lines, _ = shape_arcs(graph, located, grade, everywhere)
    return lines, build_polygons(graph, lines.points, lines.starts, colors)


def _tightened(
    graph: BoundaryGraph, restraint: Restraint, places: Floats, reach: float, *, whole: bool
) -> Restraint:
    """Restrain one level more all cracks and nodes within reach of the given places, or their whole arcs."""
    level, node_level = restraint.level.copy(), restraint.node_level.copy()
    near = _near(places, graph.middle, reach)
    if whole:
        near = np.flatnonzero(np.isin(graph.arc_of, graph.arc_of[near]))
    level[near] = np.minimum(level[near] + 1, 2)
    node_level[_near(places, graph.nodes, reach)] = 2
    return Restraint(level, node_level)


def _changed(graph: BoundaryGraph, before: Restraint, after: Restraint) -> Ints:
    """Return the arcs that a new restraint touches: by their own cracks or by a node that they end at."""
    changed = np.bincount(graph.arc_of, weights=before.level != after.level) > 0
    moved = np.append(before.node_level != after.node_level, False)
    return np.flatnonzero(changed | moved[graph.tail] | moved[graph.head])


def _near(places: Points, points: Points, reach: float) -> Ints:
    """Return the indices of the points within reach of any of the places."""
    cells = np.floor(places / reach).astype(np.int64)
    around = (cells[:, None] + _NEIGHBORS).reshape(-1, 2)
    candidates = np.flatnonzero(np.isin(_packed(np.floor(points / reach).astype(np.int64)), _packed(around)))
    tree = shapely.STRtree(shapely.points(places))
    found, _ = tree.query(shapely.points(points[candidates]), predicate="dwithin", distance=reach)
    near: Ints = candidates[np.unique(found)]
    return near


def _packed(cells: Ints) -> Ints:
    return (cells[:, 0] << 32) + cells[:, 1]


trace = drained(trace_steps)
