"""Where a boundary crosses each crack: a sub-pixel point from the coverage along the row or column across it.

All mixing is judged in values that are linear in the stored bytes, as renderers mix them: sRGB (luma and
little chroma, where compression has blurred chroma), or with alpha premultiplied sRGB and alpha, where the
transparent background is (0, 0, 0, 0).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..colorimetry import luma_axes
from ..colorimetry.explain import dot, mixed
from ..model import Artwork, Separation
from ..model.arrays import Flags, Floats, Ints, Points
from .graph import BoundaryGraph
from .overpaint import OFF, Rims, settle_rims

__all__ = ["CrackPoints", "locate_cracks", "mixed_at", "mixing_palette"]


REACH = 4
"""Pixels looked at on each side of a crack: the width of a sigma-1 blur and a half."""

OFF_AXIS = 24.0
"""Distance (levels) from the line between two colors beyond which a pixel is no mix of the two."""

PURE_CLEAN, PURE_LOSSY = 0.04, 0.10
"""Mixing fraction up to which a pixel counts as pure; compression noise is about 0.1 of a usual contrast."""

MOST_SHIFT = 0.8
"""Pixels that an interpolated crossing may lie from its crack; more is a third color's doing."""

WEIGHT_INTERPOLATED, WEIGHT_OFF = 0.35, 0.05
"""Trust in an interpolated crossing, and in one beside unmixed pixels, against an exact window's 1."""


@dataclass(frozen=True, slots=True)
class CrackPoints:
    """A point for each crack, and how far it is to be trusted.

    Parameters
    ----------
    points : float64 array of shape (n, 2)
        In working pixels.
    weights : float64 array of shape (n,)
        1 where exact for a straight boundary, less where interpolated or disturbed.
    framed : bool array of shape (n,)
        Whether the crack lies on the picture's frame, where the boundary is known exactly.
    """

    points: Points
    weights: Floats
    framed: Flags

    def only(self, cracks: Ints) -> CrackPoints:
        """Return the points of some cracks."""
        return CrackPoints(self.points[cracks], self.weights[cracks], self.framed[cracks])


def locate_cracks(graph: BoundaryGraph, artwork: Artwork, separation: Separation) -> CrackPoints:
    """Find the sub-pixel point of every crack of the graph."""
    palette = mixing_palette(artwork, separation)
    height, width = graph.shape
    inside = _inside(graph.left, width, height) & _inside(graph.right, width, height)
    shift = np.zeros(inside.size)
    weights = np.ones(inside.size)
    arc = graph.arc_of
    near = palette[graph.right_label[arc]][inside]
    far = palette[graph.left_label[arc]][inside]
    toward = (graph.right - graph.left)[inside]
    profiles = _profiles(artwork, graph.right[inside], toward, near, far)
    if not artwork.lossy:
        profiles = _settled(artwork, palette, graph, np.flatnonzero(inside), profiles)
    pure = PURE_LOSSY if artwork.lossy else PURE_CLEAN
    shift[inside], weights[inside] = _crossings(*profiles, pure)
    points = graph.middle + (graph.right - graph.left) * shift[:, None]
    return CrackPoints(points, weights, ~inside)


def _settled(
    artwork: Artwork, palette: Floats, graph: BoundaryGraph, cracks: Ints, profiles: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Return the profiles of `_profiles`, set right where paint lies over paint."""
    fractions, off = profiles
    row, column = np.nonzero(off > OFF)
    if not row.size:
        return profiles
    crack = cracks[column]
    arc = graph.arc_of[crack]
    place = graph.right[crack] + (graph.left - graph.right)[crack] * (row - REACH + 1)[:, None]
    height, width = graph.shape
    x, y = np.clip(place[:, 0], 0, width - 1), np.clip(place[:, 1], 0, height - 1)
    rims = Rims(mixed_at(artwork, x, y), graph.right_label[arc], graph.left_label[arc], off[row, column], arc)
    fraction, rest = settle_rims(rims, palette, clear=artwork.has_alpha)
    found = ~np.isnan(fraction)
    fractions[row[found], column[found]] = fraction[found]
    off[row[found], column[found]] = rest[found]
    return fractions, off


def mixing_palette(artwork: Artwork, separation: Separation) -> Floats:
    """Return the colors of labels 0 to k in the mixing space, as they stand in the picture."""
    shown = separation.shown
    if shown is None:
        shown = np.vstack((separation.background or (0, 0, 0), separation.colors)).astype(np.float64)
    if not artwork.has_alpha:
        return _weighed(artwork, shown)
    opaque = np.hstack((shown[1:], np.full((len(shown) - 1, 1), 255.0)))
    return np.vstack((np.zeros(4), opaque))


def _weighed(artwork: Artwork, rgb: Floats) -> Floats:
    """Weigh luma and chroma of lossy pictures as they can be trusted."""
    if not artwork.lossy:
        return rgb
    return np.stack(luma_axes(rgb[:, 0], rgb[:, 1], rgb[:, 2]), axis=1)


def _inside(pixels: Ints, width: int, height: int) -> Flags:
    x, y = pixels[:, 0], pixels[:, 1]
    inside: Flags = (x >= 0) & (y >= 0) & (x < width) & (y < height)
    return inside


def mixed_at(artwork: Artwork, x: Ints, y: Ints) -> Floats:
    """Return the values of pixels in the mixing space, (n, c)."""
    return np.ascontiguousarray(_channels_at(artwork, y * artwork.rgb.shape[1] + x).T)


def _channels_at(artwork: Artwork, pixels: Ints) -> Floats:
    """Return the values of pixels, given by their flat indices, as (c, n): sums over c are fast then."""
    rgb = artwork.rgb.reshape(-1, 3)[pixels].T.astype(np.float64, order="C")
    if artwork.has_alpha:
        alpha = artwork.alpha.ravel()[pixels].astype(np.float64)
        return np.vstack((rgb * alpha, alpha * 255.0))
    return np.stack(luma_axes(*rgb)) if artwork.lossy else rgb


def _profiles(
    artwork: Artwork,
    start: Ints,
    toward: Ints,
    near: Floats,
    far: Floats,
) -> tuple[Floats, Floats]:
    """Sample the mixing fraction along the line across each crack.

    Returns
    -------
    fractions : float64 array of shape (2 * REACH, n)
        0 is the color on the right, 1 the color on the left; row REACH - 1 is the pixel right of the
        crack, row REACH the one left of it.
    off : float64 array of the same shape
        Distance from the axis in levels.
    """
    height, width = artwork.rgb.shape[:2]
    one, other = np.ascontiguousarray(near.T), np.ascontiguousarray(far.T)
    fractions = np.empty((2 * REACH, len(start)))
    off = np.empty_like(fractions)
    for row in range(2 * REACH):
        place = start + toward * (REACH - 1 - row)
        x, y = np.clip(place[:, 0], 0, width - 1), np.clip(place[:, 1], 0, height - 1)
        value = _channels_at(artwork, y * width + x)
        fractions[row], rest = mixed(value, one, other, under=np.inf, over=np.inf)
        off[row] = np.sqrt(dot(rest, rest))
    return fractions, off


def _crossings(fractions: Floats, off: Floats, pure: float) -> tuple[Floats, Floats]:
    """Return the shift of each crossing from its crack toward the right pixel, and its weight.

    Between a pixel of the one pure color and one of the other, the sum of the fractions says where a
    straight boundary lies, exactly under box anti-aliasing and for any symmetric blur.
    """
    mixed = off < OFF_AXIS
    none = (np.abs(fractions) < pure) & mixed
    full = (np.abs(1.0 - fractions) < pure) & mixed
    near = slice(REACH - 1, None, -1)
    gain, right_found, right_span = _gathered(fractions[near], none[near], mixed[near])
    loss, left_found, left_span = _gathered(1.0 - fractions[REACH:], full[REACH:], mixed[REACH:])
    window = right_found & left_found
    before, after = fractions[REACH - 1], fractions[REACH]
    rise = np.where(after - before > 0.05, after - before, 1.0)
    crossing = np.clip(0.5 - (0.5 - before) / rise, -MOST_SHIFT, MOST_SHIFT)
    shift = np.where(window, gain - loss, crossing)
    odd = ~window & (~mixed[REACH - 1] | ~mixed[REACH] | (after - before <= 0.05))
    # A long window holds more noise, and near a corner more of what lies round it.
    span = np.maximum(right_span + left_span, 1)
    weights = np.where(window, 1.0 / span, WEIGHT_INTERPOLATED)
    weights[odd] = WEIGHT_OFF
    shift[odd] = np.clip(shift[odd], -0.5, 0.5)
    return shift, weights


def _gathered(rest: Floats, done: Flags, mixed: Flags) -> tuple[Floats, Flags, Ints]:
    """Sum what remains of the other color, pixel by pixel away from the crack, up to the first pure pixel.

    Also tells whether there is a pure pixel, and how many pixels lie before it.
    """
    span = np.zeros(rest.shape[1], dtype=np.int64)
    total = np.zeros(rest.shape[1])
    going = np.ones(rest.shape[1], dtype=bool)
    found = np.zeros(rest.shape[1], dtype=bool)
    for value, end, fit in zip(rest, done, mixed, strict=True):
        # What a nearly pure pixel still holds of the other color belongs to the boundary, too.
        total += np.where(going & end, value, 0.0)
        found |= going & end
        going &= ~end & fit
        total += np.where(going, value, 0.0)
        span += going
    return total, found, span
