"""Find strips of a third color along the boundary of two others that are nothing but their mix."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..colorimetry.explain import dot, mixed
from ..model import Artwork, Separation
from ..model.arrays import Flags, Ints
from .graph import BoundaryGraph
from .subpixel import mixed_at, mixing_palette

__all__ = ["without_fringes"]

THIN_CLEAN, THIN_LOSSY = 1.6, 2.2
"""Mean width in source pixels up to which a strip may be a mix; chroma subsampling mixes over two pixels."""

OFF_CLEAN, OFF_LOSSY = 20.0, 50.0
"""Mean distance (levels) of a fringe's pixels from the line between its two neighbors' colors, and in any
case less than from its own color. Edges painted twice over each other leave up to 16; quality 60 leaves up
to 50 beside a strong edge."""

OFF_FAINT = 45.0
"""The same where that is under half of the distance from the strip's own color: a line of that color would
cover less than a third of a pixel there. An edge of three paints over each other leaves up to 40."""

OWN_CLEAN, OWN_LOSSY = 8.0, 12.0
"""A strip whose pixels mostly lie this near its own color is drawn, however thin."""

LEAST_SHARE, BOTH_SHARE = 0.25, 0.8
"""Shares of a fringe's boundary that each, and both, of its two neighbors have."""


def without_fringes(graph: BoundaryGraph, artwork: Artwork, separation: Separation) -> Separation | None:
    """Return the separation with all fringes given to the two colors that they mix; None if there is none."""
    width = (THIN_LOSSY if artwork.lossy else THIN_CLEAN) * max(artwork.scale, 1.0)
    first, second, candidate = _between(graph, len(separation.colors) + 1, width)
    if not candidate.any():
        return None
    x, y, piece = _pixels(graph, candidate)
    palette = mixing_palette(artwork, separation)
    value = mixed_at(artwork, x, y)
    fraction, rest = mixed(value.T, palette[first[piece]].T, palette[second[piece]].T)
    own = value - palette[separation.labels[y, x]]
    count = np.maximum(np.bincount(piece, minlength=candidate.size), 1)
    off = np.bincount(piece, weights=np.sqrt(dot(rest, rest)), minlength=candidate.size) / count
    own_off = np.sqrt((own * own).sum(axis=1))
    own_mean = np.bincount(piece, weights=own_off, minlength=candidate.size) / count
    most = np.where(off < own_mean / 2, OFF_FAINT, OFF_CLEAN)
    most = np.maximum(most, OFF_LOSSY) if artwork.lossy else most
    near = own_off < (OWN_LOSSY if artwork.lossy else OWN_CLEAN)
    drawn = np.bincount(piece, weights=near, minlength=candidate.size) / count > 0.5
    fringe = candidate & (off < np.minimum(own_mean, most)) & ~drawn
    taken = fringe[piece]
    if not taken.any():
        return None
    labels = separation.labels.copy()
    labels[y[taken], x[taken]] = np.where(fraction < 0.5, first[piece], second[piece])[taken]
    return replace(separation, labels=labels)


def _between(graph: BoundaryGraph, labels: int, width: float) -> tuple[Ints, Ints, Flags]:
    """Return the two labels with most of each piece's boundary, and whether it is a strip between them."""
    arc = graph.arc_of
    left, right = graph.left_piece[arc], graph.right_piece[arc]
    count = int(max(left.max(), right.max())) + 1
    rise = np.where(graph.direction == 1, 1.0, np.where(graph.direction == 3, -1.0, 0.0)) * graph.middle[:, 0]
    area = np.bincount(left, weights=rise, minlength=count) - np.bincount(
        right, weights=rise, minlength=count
    )
    shared = np.bincount(left * labels + graph.right_label[arc], minlength=count * labels)
    shared = shared + np.bincount(right * labels + graph.left_label[arc], minlength=count * labels)
    table = shared.reshape(count, labels)
    order = np.argsort(-table, axis=1, kind="stable")
    rows = np.arange(count)
    first, second = order[:, 0], order[:, min(1, labels - 1)]
    total = np.maximum(table.sum(axis=1), 1)
    least, both = table[rows, second] / total, (table[rows, first] + table[rows, second]) / total
    # The piece outside the picture has a negative area.
    thin = (area > 0) & (2.0 * area < width * total)
    return first, second, thin & (least >= LEAST_SHARE) & (both >= BOTH_SHARE) & (first != second)


def _pixels(graph: BoundaryGraph, candidate: Flags) -> tuple[Ints, Ints, Ints]:
    """Return column, row and piece of every pixel beside a crack that belongs to a candidate."""
    arc = graph.arc_of
    height, width = graph.shape
    pixel = np.vstack((graph.left, graph.right))
    piece = np.concatenate((graph.left_piece[arc], graph.right_piece[arc]))
    inside = (pixel >= 0).all(axis=1) & (pixel[:, 0] < width) & (pixel[:, 1] < height)
    mine = inside & candidate[piece]
    flat, once = np.unique(pixel[mine, 1] * width + pixel[mine, 0], return_index=True)
    return flat % width, flat // width, piece[mine][once]
