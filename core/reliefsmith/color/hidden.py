"""Colors that are never calm: of lines too thin for calm pixels, of patches that edges round on all sides."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..colorimetry.explain import from_triangle
from ..colorimetry.median import median
from ..polygons.runs import find_pieces
from .capture import Capture
from .labels import Unexplained
from .mixing import bleeds, mixes_two
from .modes import Floats

__all__ = ["OpenPixels", "hidden_color"]

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
_CORE_REACH = 2  # pixels all round that are unexplained as well: edges, ringing and lines are narrower
_LEAST_CORE, _LEAST_CORE_LOSSY = 1, 12  # such pixels
_LEAST_PATCH_SHARE = 0.0004  # of the art
_LEAST_PATCH_PX = 24
_ONE_COLOR = 24.0  # levels within which half of the inner pixels lie


@dataclass(frozen=True, slots=True)
class OpenPixels:
    """Edge pixels that no two known colors explain, and what is known of their picture.

    Parameters
    ----------
    rest : Unexplained
    known : float64 array of shape (k, c)
        Colors in the mixing space.
    width : int
        Of the picture.
    art_px : float
        Pixels that are not background.
    capture : Capture
    """

    rest: Unexplained
    known: Floats
    width: int
    art_px: float
    capture: Capture


def hidden_color(pixels: OpenPixels) -> Floats | None:
    """Find one color (c,) that edge pixels show in lines or a patch and no two known colors mix, or None."""
    color = _line_color(pixels)
    return _patch_color(pixels) if color is None else color


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


def _patch_color(pixels: OpenPixels) -> Floats | None:
    """Find one color (c,) that a patch of edge pixels shows and no two known colors mix, or None."""
    offsets, values, positions = pixels.rest.offsets, pixels.rest.values, pixels.rest.positions
    known, width = pixels.known, pixels.width
    least = _LEAST_RESIDUAL + _RESIDUAL_PER_SIGMA * pixels.capture.sigma
    strong = np.flatnonzero((offsets * offsets).sum(axis=1) > least * least)
    if len(strong) < max(_LEAST_PATCH_SHARE * pixels.art_px, _LEAST_PATCH_PX):
        return None
    if len(_amid(positions[strong], width, _CORE_REACH)) < (
        _LEAST_CORE_LOSSY if pixels.capture.lossy else _LEAST_CORE
    ):
        return None
    inner = values[strong[_amid(positions[strong], width, 1)]]
    color: Floats = median(inner)
    away = np.sqrt(((inner - color) ** 2).sum(axis=1))
    if float(median(away)) > _ONE_COLOR or mixes_two(color, known, least):
        return None
    gaps = ciede2000(srgb_to_lab(known[int(len(color) == 4) :, :3]), srgb_to_lab(color[:3]))
    return None if (gaps < _LEAST_GAP).any() else color


def _amid(positions: Ints, width: int, reach: int) -> Ints:
    """Return which of the pixels have all their neighbors within the reach among them."""
    first = int(positions.min())
    flags = np.zeros(int(positions.max()) - first + 1, dtype=bool)
    flags[positions - first] = True
    inner = np.arange(len(positions))
    for row in range(-reach, reach + 1):
        for column in range(-reach, reach + 1):
            at = positions[inner] - first + row * width + column
            inside = (at >= 0) & (at < len(flags))
            inner = inner[inside]
            inner = inner[flags[at[inside]]]
    return inner
