"""From a label map to areas: one shared boundary between any two neighbors, at sub-pixel accuracy."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..errors import GeometryError
from ..model import Artwork, Separation, TracedAreas
from ..progress import Progress, Steps, drained
from ..sections import AreasSettings
from .crossings import find_crossings
from .graph import BoundaryGraph, build_graph
from .rings import build_polygons
from .shape import ArcLines, Grade, Restraint, shape_arcs
from .smooth import Window
from .subpixel import CrackPoints, locate_cracks
from .turn import judged_turn

__all__ = ["trace", "trace_steps"]

SIGMA, SIGMA_RATIO = 2.6, 2.4
"""Smoothing at 0.5 in working pixels, and the factor from there to 1 (or divided, to 0)."""

TOLERANCE, TOLERANCE_RATIO = 0.06, 3.5
"""Reduction at 0.5 in source pixels, under the 0.07 at which it would show; and the factor as above."""

LOSSY_RATIO = 1.35
"""Compression noise is correlated over a few pixels; a wider fit averages it out."""

ROUNDS = 9
"""Rounds of repair; the reach grows with each, and the crack middles it falls back on never cross."""

REACH = 2.5
"""Pixels round a crossing that are restrained in the first round."""


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
    graph = build_graph(separation.labels)
    yield Progress("placing boundaries", 0.3)
    located = locate_cracks(graph, artwork, separation)
    yield Progress("smoothing boundaries", 0.5)
    grade = _grade(settings, artwork)
    lines = yield from _valid_lines(graph, located, grade)
    yield Progress("building areas", 0.9)
    source = ArcLines(lines.points / artwork.scale, lines.starts)
    turn_deg, findings, notes = judged_turn(source, artwork)
    polygons = build_polygons(graph, source.points, source.starts, len(separation.colors))
    return TracedAreas(
        polygons=polygons,
        colors=separation.colors,
        image_px=artwork.source_px,
        turn_deg=turn_deg,
        findings=(*separation.findings, *findings),
        notes=(*artwork.notes, *notes),
    )


def _grade(settings: AreasSettings, artwork: Artwork) -> Grade:
    """Turn the setting 0 to 1 into window and tolerance, both growing evenly on a logarithmic scale."""
    power = 2.0 * settings.smoothing - 1.0
    sigma = SIGMA * SIGMA_RATIO**power * (LOSSY_RATIO if artwork.lossy else 1.0)
    tolerance = TOLERANCE * TOLERANCE_RATIO**power * artwork.scale
    return Grade(Window(max(2, round(2.0 * sigma)), sigma), tolerance)


def _valid_lines(graph: BoundaryGraph, located: CrackPoints, grade: Grade) -> Steps[ArcLines]:
    """Shape all arcs; where they would cross, keep them closer to the pixels, until none cross."""
    restraint = Restraint.none(graph)
    for attempt in range(ROUNDS):
        lines = shape_arcs(graph, located, grade, restraint)
        places, arcs = find_crossings(lines, graph.tail, graph.head)
        if not arcs.size:
            return lines
        yield Progress("mending boundaries", 0.6 + 0.3 * attempt / ROUNDS)
        restraint = _tightened(graph, restraint, places, arcs, REACH * (1 + attempt))
    everywhere = Restraint(
        np.full_like(restraint.level, 2), np.full_like(restraint.node_level, 2), restraint.tolerance
    )
    return shape_arcs(graph, located, grade, everywhere)


def _tightened(
    graph: BoundaryGraph,
    restraint: Restraint,
    places: npt.NDArray[np.float64],
    arcs: npt.NDArray[np.int64],
    reach: float,
) -> Restraint:
    """Restrain one level more all cracks and nodes within reach of the given places."""
    level, node_level = restraint.level.copy(), restraint.node_level.copy()
    tolerance = restraint.tolerance.copy()
    tolerance[np.unique(arcs)] *= 0.3
    around = cKDTree(places)
    near = _near(around, graph.middle, reach)
    level[near] = np.minimum(level[near] + 1, 2)
    node_level[_near(around, graph.nodes, reach)] = 2
    return Restraint(level, node_level, tolerance)


def _near(around: cKDTree, points: npt.NDArray[np.float64], reach: float) -> npt.NDArray[np.int64]:
    distance, _ = around.query(points, distance_upper_bound=reach)
    return np.flatnonzero(np.isfinite(distance))


trace = drained(trace_steps)
