"""The planar graph of a label map: cracks between unlike pixels, nodes, and the arcs that join them.

A *crack* is the side of a pixel between two unlike labels, a *node* a corner of the pixel lattice where
three or more boundaries meet, an *arc* the chain of cracks between two nodes or round a ring. Every crack is
directed so that the larger label lies on its left (left in numbers: turning x toward y), so all cracks of
an arc have the same two labels, and one boundary between two areas exists once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ..model.arrays import Flags, Ints, Labels, Points
from ..polygons.groups import counted_on, joined
from .chains import rank_chains

__all__ = ["BoundaryGraph", "build_graph"]

_STEP_X = np.array([1, 0, -1, 0])
_STEP_Y = np.array([0, 1, 0, -1])
"""Directions of a crack: 0 right, 1 down, 2 left, 3 up."""


@dataclass(frozen=True, slots=True)
class BoundaryGraph:
    """Cracks in the order of their arcs, the arcs, and the nodes they end at.

    Coordinates are working pixels, (0, 0) at the upper left corner of the upper left pixel.

    Parameters
    ----------
    shape : (int, int)
        Height and width of the label map.
    middle : float64 array of shape (n, 2)
        Middle of each crack.
    left, right : int64 arrays of shape (n, 2)
        Column and row of the pixels beside each crack; -1 or the size itself is outside the picture.
    direction : int64 array of shape (n,)
        0 right, 1 down, 2 left, 3 up.
    starts : int64 array of shape (m + 1,)
        Cracks `starts[i]:starts[i + 1]` are arc i.
    tail, head : int64 arrays of shape (m,)
        Nodes of each arc; -1 for a ring.
    left_label, right_label : int64 arrays of shape (m,)
    left_piece, right_piece : int64 arrays of shape (m,)
        Connected piece of equal label beside each arc.
    nodes : float64 array of shape (k, 2)
        Lattice corners of the nodes.
    """

    shape: tuple[int, int]
    middle: Points
    left: Ints
    right: Ints
    direction: Ints
    starts: Ints
    tail: Ints
    head: Ints
    left_label: Ints
    right_label: Ints
    left_piece: Ints
    right_piece: Ints
    nodes: Points

    @property
    def arc_of(self) -> Ints:
        """Arc of each crack."""
        return np.repeat(np.arange(self.starts.size - 1), np.diff(self.starts))

    def only(self, arcs: Ints) -> tuple[BoundaryGraph, Ints]:
        """Return the graph of some arcs, all nodes kept, and the indices of their cracks."""
        sizes = np.diff(self.starts)[arcs]
        starts = np.concatenate(([0], np.cumsum(sizes)))
        cracks, _ = counted_on(self.starts[arcs], sizes)
        part = replace(
            self,
            middle=self.middle[cracks],
            left=self.left[cracks],
            right=self.right[cracks],
            direction=self.direction[cracks],
            starts=starts,
            tail=self.tail[arcs],
            head=self.head[arcs],
            left_label=self.left_label[arcs],
            right_label=self.right_label[arcs],
            left_piece=self.left_piece[arcs],
            right_piece=self.right_piece[arcs],
        )
        return part, cracks


def build_graph(labels: Labels) -> BoundaryGraph:
    """Build the graph of all boundaries of a label map; outside the map all is background (0).

    Where two labels cross like a chessboard, the larger one (the rarer color) stays connected and no
    node is made; the two boundaries pass each other.
    """
    height, width = labels.shape
    padded = np.zeros((height + 2, width + 2), dtype=labels.dtype)
    padded[1:-1, 1:-1] = labels
    flat, stride = padded.ravel(), width + 2
    left, right, direction = _cracks(padded)
    tail, head = _ends(left, right, direction, stride)
    corners, place = np.unique(np.concatenate((tail, head)), return_inverse=True)
    tail_at, head_at = place[: tail.size], place[tail.size :]
    degree = np.bincount(place, minlength=corners.size)
    leaving = np.full((corners.size, 4), -1, dtype=np.int64)
    leaving[tail_at, direction] = np.arange(tail.size)
    chess = _chess(flat, corners, stride) & (degree == 4)
    is_node = (degree > 2) & ~chess
    previous = _links(leaving, head_at, direction, chess, is_node)
    first, rank, ring = rank_chains(previous)
    order = np.lexsort((rank, first))
    begins = np.flatnonzero(np.diff(first[order], prepend=-1))
    starts = np.append(begins, tail.size)
    head_crack, last_crack = order[begins], order[starts[1:] - 1]
    node_of = np.cumsum(is_node) - 1
    piece = _pieces(flat, stride, corners[chess])
    on_ring = ring[head_crack]
    beside = [_column_row(pixels[order], stride) for pixels in (left, right)]
    return BoundaryGraph(
        shape=(height, width),
        middle=(beside[0] + beside[1]) / 2.0 + 0.5,
        left=beside[0],
        right=beside[1],
        direction=direction[order],
        starts=starts,
        tail=np.where(on_ring, -1, node_of[tail_at[head_crack]]),
        head=np.where(on_ring, -1, node_of[head_at[last_crack]]),
        left_label=flat[left[head_crack]].astype(np.int64),
        right_label=flat[right[head_crack]].astype(np.int64),
        left_piece=piece(left[head_crack]),
        right_piece=piece(right[head_crack]),
        nodes=(_column_row(corners[is_node], stride) + 1).astype(np.float64),
    )


def _cracks(padded: Labels) -> tuple[Ints, Ints, Ints]:
    """Find all cracks: flat indices of the pixels on their left (larger label) and right, and direction."""
    flat, stride = padded.ravel(), padded.shape[1]
    across = np.flatnonzero(flat[:-1] != flat[1:])
    down = np.flatnonzero(flat[:-stride] != flat[stride:])
    first = np.concatenate((across, down))
    second = np.concatenate((across + 1, down + stride))
    vertical = np.arange(first.size) < across.size
    first_larger = flat[first] > flat[second]
    # Down has the pixel of smaller x on its left; right has the pixel of larger y on its left.
    direction = np.where(vertical, np.where(first_larger, 1, 3), np.where(first_larger, 2, 0))
    return np.where(first_larger, first, second), np.where(first_larger, second, first), direction


def _ends(left: Ints, right: Ints, direction: Ints, stride: int) -> tuple[Ints, Ints]:
    """Return the lattice corners where cracks begin and end, numbered by the pixel to their upper left."""
    upper_left = np.minimum(left, right)
    vertical = direction % 2 == 1
    low = np.where(vertical, upper_left - stride, upper_left - 1)
    forward = direction < 2
    return np.where(forward, low, upper_left), np.where(forward, upper_left, low)


def _chess(flat: Labels, corners: Ints, stride: int) -> Flags:
    upper_left, upper_right = flat[corners], flat[corners + 1]
    lower_left, lower_right = flat[corners + stride], flat[corners + stride + 1]
    crossing: Flags = (upper_left == lower_right) & (upper_right == lower_left) & (upper_left != upper_right)
    return crossing


def _links(
    leaving: Ints,
    head_at: Ints,
    direction: Ints,
    chess: Flags,
    is_node: Flags,
) -> Ints:
    """Return the crack before each crack along its arc, -1 after a node."""
    outgoing = leaving.max(axis=1)[head_at]
    # Turning right round the smaller label's pixel keeps the larger label connected.
    turned = leaving[head_at, (direction - 1) % 4]
    following = np.where(chess[head_at], turned, outgoing)
    linked = np.flatnonzero(~is_node[head_at])
    previous = np.full(direction.size, -1, dtype=np.int64)
    previous[following[linked]] = linked
    return previous


def _pieces(flat: Labels, stride: int, chess: Ints) -> Callable[[Ints], Ints]:
    """Return a function that numbers the connected piece of equal label that holds a pixel (flat index).

    Works on runs of equal label along the rows, so its cost grows with the boundary and not with the area.
    """
    begins = np.concatenate(([0], np.flatnonzero(flat[:-1] != flat[1:]) + 1))

    def run(pixels: Ints) -> Ints:
        return np.searchsorted(begins, pixels, side="right") - 1

    above, below = begins[begins >= stride], begins[begins < flat.size - stride]
    one = np.concatenate((above, below))
    other = np.concatenate((above - stride, below + stride))
    if chess.size:
        larger = flat[chess] > flat[chess + 1]
        one = np.concatenate((one, np.where(larger, chess, chess + 1)))
        other = np.concatenate((other, np.where(larger, chess + stride + 1, chess + stride)))
    alike = flat[one] == flat[other]
    a, b = run(one[alike]), run(other[alike])
    _, number = joined(begins.size, a, b)

    def piece(pixels: Ints) -> Ints:
        return number[run(pixels)]

    return piece


def _column_row(pixels: Ints, stride: int) -> Ints:
    return np.stack((pixels % stride - 1, pixels // stride - 1), axis=1)
