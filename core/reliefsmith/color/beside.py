"""Edge pixels beside areas that were evened: they change by the mix of what their two sides changed by."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry.explain import mixed
from ..colorimetry.window import widened
from ..model.artwork import CLEAR
from ..polygons.around import around, behind
from ..polygons.runs import find_pieces
from .capture import NOISE, OPEN
from .mixing import CHANNELS, Bytes, Flags, Mixing
from .modes import Floats, Ints

__all__ = ["with_edges"]

_SIDE_PX = 5  # from an edge pixel to its two sides; flat up to 10, with 2 compressed shadows lost .001
_SOFTENED = OPEN * NOISE / 2  # levels added before a factor is taken, so that darkness is not divided by

_Wide = npt.NDArray[np.int32]


def with_edges(mixing: Mixing, kinds: Bytes, goals: tuple[Bytes, ...], *, lossy: bool) -> tuple[Bytes, ...]:
    """Change the pixels beside evened ones, in place.

    Parameters
    ----------
    mixing : Mixing
        The picture as it was.
    kinds : uint8 array of shape (h, w)
        0 for edge pixels.
    goals : tuple of uint8 arrays of shape (h, w)
        Its planes with every area evened.
    lossy : bool
        Whether slopes are rippled; else what lies on a side is carried on to the edge by its slope.
    """
    side, moved = _sides(mixing, kinds, goals)
    edges = np.flatnonzero(widened(moved, _SIDE_PX) & (side == 0))
    first, second = _two_sides(side, edges)
    known = first >= 0
    edges, first, second = edges[known], first[known], second[known]
    second = np.where(second < 0, first, second)

    def at(planes: tuple[Bytes, ...], pixels: Ints) -> Floats:
        return np.stack([plane.ravel()[pixels] for plane in planes], axis=1).astype(np.float64)

    planes = mixing.planes
    value, start, end = at(planes, edges), at(planes, first), at(planes, second)
    if not lossy:  # compression's ripple would be carried on, too
        behind, steps = _behind(side, edges, first)
        start = np.clip(start + (start - at(planes, behind)) * steps[:, None], 0.0, 255.0)
        behind, steps = _behind(side, edges, second)
        end = np.clip(end + (end - at(planes, behind)) * steps[:, None], 0.0, 255.0)
    part, rest = mixed(value.T, start.T, end.T)
    part, mix = part[:, None], value - rest.T
    change = (1.0 - part) * (at(goals, first) - start) + part * (at(goals, second) - end)
    # As a factor, so that a line of a third, dark color stays dark; exact where the pixel is the mix.
    value = (value + _SOFTENED) * (mix + change + _SOFTENED) / (mix + _SOFTENED) - _SOFTENED
    for channel, plane in enumerate(goals):
        plane.ravel()[edges] = np.clip(value[:, channel] + 0.5, 0.0, 255.0).astype(np.uint8)
    return goals


def _behind(side: _Wide, edges: Ints, near: Ints) -> tuple[Ints, Floats]:
    """Return the pixel two behind each near one, seen from the edge, and how often that step leads back.

    Where it is of another area, the near pixel itself.
    """
    found, reach = behind(edges, near, side.shape)
    flat = side.ravel()
    return np.where(flat[found] == flat[near], found, near), reach / 2.0


def _sides(mixing: Mixing, kinds: Bytes, goals: tuple[Bytes, ...]) -> tuple[_Wide, Flags]:
    """Return the number of the area that each calm pixel belongs to, 0 for none, and which pixels moved."""
    kinds = kinds.copy()
    if mixing.opaque is not None:
        kinds[goals[CHANNELS] <= CLEAR] = kinds.max() + 1
    pieces = find_pieces(kinds)
    number = np.where(pieces.labels > 0, np.arange(1, len(pieces.areas) + 1), 0)
    side = np.repeat(number[pieces.of_run], pieces.lengths).astype(np.int32).reshape(kinds.shape)
    moved = np.zeros(kinds.shape, dtype=bool)
    for goal, plane in zip(goals, mixing.planes, strict=True):
        moved |= goal != plane
    return side, moved


def _two_sides(side: _Wide, edges: Ints) -> tuple[Ints, Ints]:
    """Return for each pixel the nearest pixel of an area, and the nearest one of another; -1 for none."""
    first, second = np.full(len(edges), -1, dtype=np.int64), np.full(len(edges), -1, dtype=np.int64)
    own = np.zeros(len(edges), dtype=np.int32)
    flat = side.ravel()
    for at in around(edges, side.shape, _SIDE_PX):
        seen = flat[at]
        new = (first < 0) & (seen > 0)
        other = (first >= 0) & (second < 0) & (seen > 0) & (seen != own)
        first[new], own[new] = at[new], seen[new]
        second[other] = at[other]
    return first, second
