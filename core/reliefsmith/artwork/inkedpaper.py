"""Paper that was drawn on, in a photograph: a calm, light, grey area that encloses ink."""

from __future__ import annotations

import numpy as np
import shapely

from ..colorimetry import srgb_to_lab
from ..model.arrays import Flags, Ints, Rgb
from ..polygons.runs import find_pieces

__all__ = ["shows_paper"]

_PAPER_CHROMA, _PAPER_LIGHT = 28.0, (40.0, 0.55)
"""Paper's C*ab at most, and L* at least: as such, and by the picture's light places."""
_SHEET, _DRAWN_ON = 0.08, 0.02
"""Shares of a sheet of the picture, and of ink that it encloses of the sheet, at least."""
_CONVEX = 0.9
"""Share of its convex hull that a sheet with its ink fills."""


def shows_paper(rgb: Rgb, calm: Flags) -> bool:
    """Return whether a calm, light, grey area with straight outer sides encloses ink.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        A small picture.
    calm : bool array of shape (h, w)
        Where it is calm.
    """
    lab = srgb_to_lab(rgb.reshape(-1, 3)).reshape(rgb.shape)
    least = max(_PAPER_LIGHT[0], _PAPER_LIGHT[1] * float(np.percentile(lab[..., 0], 95)))
    paper = calm & (np.hypot(lab[..., 1], lab[..., 2]) < _PAPER_CHROMA) & (lab[..., 0] > least)
    pieces = find_pieces(paper.view(np.uint8))
    large = np.flatnonzero((pieces.labels == 1) & (pieces.areas >= _SHEET * paper.size))
    areas = pieces.pixels_of(large) if len(large) else []
    return any(_is_sheet(pixels, paper.shape) for pixels in areas)


def _is_sheet(pixels: Ints, shape: tuple[int, ...]) -> bool:
    """Return whether an area, given by its flat positions, is convex but for the ink that it encloses."""
    rest = np.ones(shape, dtype=np.uint8)
    rest.ravel()[pixels] = 0
    holes = find_pieces(rest)
    ink = int(holes.areas[(holes.labels == 1) & ~holes.at_border].sum())
    row, column = np.divmod(pixels, shape[1])
    hull = shapely.MultiPoint(np.column_stack([column, row])).convex_hull.buffer(0.5).area
    return bool(ink >= _DRAWN_ON * hull and len(pixels) + ink >= _CONVEX * hull)
