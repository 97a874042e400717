"""The shape of all arcs: corners and nodes placed, curves smoothed, vertices reduced."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import Flags, Ints, Points
from ..polygons.groups import counted_on
from .corners import Corners, find_corners
from .graph import BoundaryGraph
from .junctions import fit_nodes
from .neighbors import Chains
from .reduce import balance_chords, keep_vertices
from .smooth import Window, smooth_chains
from .spans import Pieces, cut_pieces
from .subpixel import CrackPoints

__all__ = ["ArcLines", "Grade", "Restraint", "replaced", "shape_arcs"]

MOST_MOVE = 1.2
"""Pixels that a smoothed point may lie from the middle of its crack; more is no longer that boundary."""

LIMITED_MOVE = 0.3
"""The same where boundaries would cross otherwise."""


@dataclass(frozen=True, slots=True)
class Grade:
    """How strongly boundaries are smoothed: the window of the fit and the tolerance, in working pixels."""

    window: Window
    tolerance: float


@dataclass(frozen=True, slots=True)
class Restraint:
    """Where boundaries crossed and must keep closer to the pixels.

    Parameters
    ----------
    level : int8 array of shape (n,)
        For each crack: 0 free; 1 no corner, moves limited, kept as a vertex; 2 the crack's middle.
    node_level : int8 array of shape (k,)
        0 free, 2 its lattice corner.
    """

    level: npt.NDArray[np.int8]
    node_level: npt.NDArray[np.int8]

    @classmethod
    def none(cls, graph: BoundaryGraph) -> Restraint:
        """Restrain nothing."""
        return cls(np.zeros(len(graph.middle), np.int8), np.zeros(len(graph.nodes), np.int8))


@dataclass(frozen=True, slots=True)
class ArcLines:
    """The polylines of all arcs.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
        Both nodes included; a ring's last point equals its first.
    starts : int64 array of shape (m + 1,)
        First point of each arc, and n.
    """

    points: Points
    starts: Ints


def shape_arcs(
    graph: BoundaryGraph,
    located: CrackPoints,
    grade: Grade,
    restraint: Restraint,
    nodes: Points | None = None,
) -> tuple[ArcLines, Points]:
    """Shape all arcs of the graph; also return where its nodes are, fitted unless given."""
    raw = _restrained(located.points, graph.middle, restraint.level)
    chains = Chains(raw, located.weights, graph.starts, graph.tail < 0)
    corners = find_corners(chains, restraint.level > 0, located.framed)
    inside = np.clip(corners.place, 0.0, np.array(graph.shape[::-1], dtype=np.float64))
    corners = Corners(corners.at, inside, corners.rounded)
    if nodes is None:
        nodes = fit_nodes(graph, chains, corners)
    nodes = np.where((restraint.node_level > 0)[:, None], graph.nodes, nodes)
    pieces = cut_pieces(graph, chains, corners, nodes, restraint.level > 0)
    moved = _smoothed(graph, located, pieces, grade, restraint)
    return _reduced(graph, pieces, moved, grade, restraint), nodes


def replaced(lines: ArcLines, arcs: Ints, part: ArcLines) -> ArcLines:
    """Return the lines with those of the given arcs exchanged for others."""
    sizes = np.diff(lines.starts)
    begins = lines.starts[:-1].copy()
    sizes[arcs] = np.diff(part.starts)
    begins[arcs] = part.starts[:-1] + len(lines.points)
    starts = np.concatenate(([0], np.cumsum(sizes)))
    index, _ = counted_on(begins, sizes)
    return ArcLines(np.vstack((lines.points, part.points))[index], starts)


def _restrained(points: Points, middle: Points, level: npt.NDArray[np.int8]) -> Points:
    limited = middle + np.clip(points - middle, -LIMITED_MOVE, LIMITED_MOVE)
    points = np.where((level == 1)[:, None], limited, points)
    return np.where((level >= 2)[:, None], middle, points)


def _smoothed(
    graph: BoundaryGraph, located: CrackPoints, pieces: Pieces, grade: Grade, restraint: Restraint
) -> Points:
    """Smooth all pieces; fixed ends, the picture's frame and restrained points stay."""
    chains, crack = pieces.chains, pieces.crack
    moved = smooth_chains(chains, grade.window)
    known = crack >= 0
    at = np.maximum(crack, 0)
    ends = np.zeros(crack.size, dtype=bool)
    is_open = ~chains.closed
    ends[chains.starts[:-1][is_open]] = True
    ends[chains.starts[1:][is_open] - 1] = True
    middle = graph.middle[at]
    held = middle + np.clip(moved - middle, -MOST_MOVE, MOST_MOVE)
    held = _restrained(held, middle, restraint.level[at])
    held = np.where(located.framed[at][:, None], located.points[at], held)
    held = np.clip(held, 0.0, np.array(graph.shape[::-1], dtype=np.float64))
    return np.where((known & ~ends)[:, None], held, chains.points)


def _reduced(
    graph: BoundaryGraph, pieces: Pieces, moved: Points, grade: Grade, restraint: Restraint
) -> ArcLines:
    """Reduce each piece and join the pieces of each arc."""
    chains = pieces.chains
    points, starts, crack = _with_closing(moved, chains, pieces.crack)
    tolerance = np.full(pieces.arc.size, grade.tolerance)
    level = np.where(crack >= 0, restraint.level[np.maximum(crack, 0)], 0)
    kept = keep_vertices(points, starts, tolerance, level >= 1)
    kept = _at_least_a_triangle(graph, starts, kept, pieces)
    result = balance_chords(points, starts, kept, (level == 0).astype(np.float64))
    return _joined(result, kept, starts, pieces, graph.starts.size - 1)


def _with_closing(points: Points, chains: Chains, crack: Ints) -> tuple[Points, Ints, Ints]:
    """Repeat the first point of each closed chain at its end."""
    first = chains.starts[:-1][chains.closed]
    key = np.concatenate((np.arange(len(points)), chains.starts[1:][chains.closed] - 0.5))
    order = np.concatenate((np.arange(len(points)), first))[np.argsort(key, kind="stable")]
    starts = chains.starts + np.concatenate(([0], np.cumsum(chains.closed)))
    return points[order], starts, crack[order]


def _at_least_a_triangle(graph: BoundaryGraph, starts: Ints, kept: Flags, pieces: Pieces) -> Flags:
    """Keep all points of arcs that begin and end at one place and would lose their inside."""
    arcs = graph.starts.size - 1
    arc = np.repeat(pieces.arc, np.diff(starts))
    count = np.bincount(arc, weights=kept, minlength=arcs) - np.bincount(pieces.arc, minlength=arcs) + 1
    poor: Flags = (graph.tail == graph.head) & (count < 4)
    whole: Flags = kept | poor[arc]
    return whole


def _joined(result: Points, kept: Flags, starts: Ints, pieces: Pieces, arcs: int) -> ArcLines:
    """Join the pieces of each arc, the corner between two of them once."""
    piece = np.repeat(np.arange(starts.size - 1), np.diff(starts))[kept]
    first_of_piece = np.diff(piece, prepend=-1) > 0
    same_arc = np.concatenate(([False], np.diff(pieces.arc) == 0))
    use = ~(first_of_piece & same_arc[piece])
    arc = pieces.arc[piece][use]
    sizes = np.bincount(arc, minlength=arcs)
    return ArcLines(result[use], np.concatenate(([0], np.cumsum(sizes))))
