"""Colors that are never calm: lines so thin that none of their pixels has calm surroundings."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.explain import from_triangle
from ..colorimetry.median import median
from ..polygons.runs import find_pieces
from .lossy import bleeds
from .mixing import mixes_two
from .modes import Floats
from .patch import OpenPixels, patch_color

__all__ = ["thin_color"]

Ints = npt.NDArray[np.int64]

_LEAST_RESIDUAL = 22.0  # levels that no mixture of known colors explains
_LEAST_RESIDUAL_LOSSY = 40.0  # JPEG rings more than that round strong edges only
_RESIDUAL_PER_SIGMA = 4.0
_LEAST_SHARE = 0.002  # of the art
_LEAST_PX = 40
_SAME_DIRECTION = 0.9  # cosine
_FULLEST_SHARE = 0.2  # of the strongest pixels, that a line covers whole, give its color
_LEAST_GAP = 10.0  # dE00 from every known color
_TRIANGLE_REACH = 30.0  # levels from what three known colors mix where they meet
_LEAST_OPACITY = 100.0


def thin_color(pixels: OpenPixels) -> Floats | None:
    """Find one color (c,) that edge pixels show in lines or a patch and no two known colors mix, or None."""
    color = _line_color(pixels)
    return patch_color(pixels) if color is None else color


def _line_color(pixels: OpenPixels) -> Floats | None:
    offsets, values, positions = pixels.rest.offsets, pixels.rest.values, pixels.rest.positions
    known, lossy = pixels.known, pixels.capture.lossy
    strength = np.sqrt((offsets * offsets).sum(axis=1))
    least = (_LEAST_RESIDUAL_LOSSY if lossy else _LEAST_RESIDUAL) + _RESIDUAL_PER_SIGMA * pixels.capture.sigma
    strong = np.flatnonzero(strength > least)
    needed = max(_LEAST_SHARE * pixels.art_px, _LEAST_PX)
    if len(strong) < needed:
        return None
    direction = offsets[strong] / strength[strong][:, None]
    middle = _commonest(direction, strength[strong])
    along = strong[(direction * middle).sum(axis=1) > _SAME_DIRECTION]
    if len(along) < needed or not _are_lines(positions[along], pixels.width):
        return None
    order = np.argsort(-strength[along], kind="stable")
    fullest = values[along[order[: max(int(_FULLEST_SHARE * len(along)), 8)]]]
    color: Floats = median(fullest)
    if len(color) == 4:
        if color[3] < _LEAST_OPACITY:
            return None
        color = np.minimum(color * (255.0 / color[3]), 255.0)
    gaps = ciede2000(srgb_to_lab(known[:, :3]), srgb_to_lab(color[:3]))
    if len(color) == 4:
        gaps = gaps[1:]  # the clear background has no color
    # Paint over paint along a rim is left open by what shines through, yet two known colors make it.
    if (gaps < _LEAST_GAP).any() or mixes_two(color, known, least) or _mixes_three(color, known):
        return None
    if lossy and bleeds(color[:3], known[:, :3]):
        return None
    return color


def _commonest(
    direction: npt.NDArray[np.float32], weight: npt.NDArray[np.float32]
) -> npt.NDArray[np.float32]:
    """Return the mean direction in the fullest cell of a coarse grid of directions."""
    cells = np.floor(direction * np.float32(2.0) + np.float32(2.5)).astype(np.int64)
    key = np.zeros(len(cells), dtype=np.int64)
    for channel in range(cells.shape[1]):
        key = key * 5 + cells[:, channel]
    fullest = np.argmax(np.bincount(key, weights=weight))
    mean: npt.NDArray[np.float32] = direction[key == fullest].mean(axis=0)
    return mean / np.float32(max(float(np.sqrt((mean * mean).sum())), 1e-6))


def _are_lines(positions: Ints, width: int) -> bool:
    """Return whether most of the pixels hang together in patches longer than noise."""
    row, column = np.divmod(positions, width)
    picture = np.zeros((int(row.max() - row.min()) + 1, width), dtype=np.uint8)
    picture[row - row.min(), column] = 1
    patches = find_pieces(picture, diagonal=True)
    sizes = patches.areas[patches.labels == 1]
    return bool(sizes[sizes >= 12].sum() > 0.5 * len(positions))


def _mixes_three(color: Floats, known: Floats) -> bool:
    """Return whether a color lies near a triangle of three known ones: that is what meeting edges show."""
    threes = np.array(list(combinations(range(len(known)), 3)), dtype=np.int64).reshape(-1, 3)
    corners = known.T[:, threes.T]
    away = from_triangle(color[:, None], corners[:, 0], corners[:, 1], corners[:, 2])
    return bool((away < _TRIANGLE_REACH).any())
