"""A checkerboard that stands for transparency, painted into an opaque picture: found, and taken out again.

Apps show transparency as squares of two greys; a screenshot of it, or a picture saved the wrong way, holds
them as paint. Its frame tells it: two greys in turn, with edges at even distances, the same both ways. Where
the squares lie is then known for the whole picture, so each pixel is held against the grey of its own square.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry import srgb_to_lab
from ..findings import Note, note
from ..model.arrays import Flags, Floats, Rgb
from ..polygons.runs import find_pieces

__all__ = ["without_checkerboard"]


_MOST_CHROMA = 7.0
"""C*ab up to which a pixel is grey."""
_LEAST_STEP = 2.5
"""L* between the two greys at least: nearer ones are noise."""
_NEAR = 0.3
"""Share of that step within which a pixel has one of the greys."""
_FRAME_SHARE = 0.9
"""Share of the picture's outermost pixels that have one of the greys."""
_LEAST_EDGES = 6
"""Edges of squares along a side, from which their distance is found."""
_EVEN = 0.12
"""Root mean square distance of edges from even places, in squares."""
_SQUARE_PX = (3.0, 100.0)
_SAME_SQUARE = 0.04
"""By which share the width and height of squares may differ."""
_AS_EXPECTED = 0.92
"""Share of the frame that has the grey of its own square."""


@dataclass(frozen=True, slots=True)
class _Squares:
    """Edges of squares along one axis: at `first` + k * `side`."""

    first: float
    side: float

    def numbers(self, count: int) -> Floats:
        """Return in which square each pixel center (count,) lies, with its place inside as fraction."""
        return np.asarray((np.arange(count) + 0.5 - self.first) / self.side, dtype=np.float64)


def without_checkerboard(image: Image.Image) -> tuple[Image.Image, tuple[Note, ...]]:
    """Make a painted checkerboard transparent.

    Parameters
    ----------
    image : PIL image
        Upright or not, of mode RGB or L; others are left alone.

    Returns
    -------
    PIL image
        RGBA where a checkerboard was found, else the image itself.
    tuple of Note
        What was found and done.
    """
    if image.mode not in ("RGB", "L"):
        return image, ()
    rgb = np.asarray(image.convert("RGB"))
    greys = _two_greys(rgb[_frame(rgb.shape[:2])])
    if greys is None:
        return image, ()
    lightness = _greys(rgb)
    sign = _signs(lightness, greys)
    squares = _squares(sign)
    if squares is None:
        return image, ()
    ground, side = _ground(lightness, sign, greys, squares), (squares[0].side + squares[1].side) / 2.0
    alpha = np.where(ground, 0, 255).astype(np.uint8)
    words = (
        f"a checkerboard that stands for transparency (squares of {side:.3g} px) was taken out;"
        " set artwork.kind = flat to keep it"
    )
    return Image.fromarray(np.dstack([rgb, alpha])), (note("checkerboard-removed", words),)


def _frame(shape: tuple[int, ...]) -> Flags:
    """Return which pixels of a picture (h, w) are the outermost two of a side."""
    frame = np.ones(shape, dtype=bool)
    frame[2:-2, 2:-2] = False
    return frame


def _two_greys(frame: Rgb) -> tuple[float, float] | None:
    """Return the darker and the lighter L* of a frame that has just two greys, else None."""
    greys = _greys(frame)
    lightness = greys[~np.isnan(greys)]
    if len(lightness) < _FRAME_SHARE * len(greys):
        return None
    split = (np.percentile(lightness, 5) + np.percentile(lightness, 95)) / 2.0
    low, high = lightness[lightness < split], lightness[lightness >= split]
    if len(low) < 0.25 * len(lightness) or len(high) < 0.25 * len(lightness):
        return None
    dark, light = float(np.median(low)), float(np.median(high))
    near = np.minimum(np.abs(lightness - dark), np.abs(lightness - light)) <= _NEAR * (light - dark)
    return (dark, light) if light - dark >= _LEAST_STEP and near.mean() >= _FRAME_SHARE - 0.1 else None


def _signs(lightness: Floats, greys: tuple[float, float]) -> npt.NDArray[np.int8]:
    """Return +1 for the lighter grey, -1 for the darker one, 0 for all else; (h, w)."""
    dark, light = greys
    reach = _NEAR * (light - dark)
    sign = np.zeros(lightness.shape, dtype=np.int8)
    sign[np.abs(lightness - light) <= reach] = 1
    sign[np.abs(lightness - dark) <= reach] = -1
    return sign


def _greys(rgb: Rgb) -> Floats:
    """Return L* of the pixels (..., 3) that are grey, NaN elsewhere."""
    lab = srgb_to_lab(rgb.reshape(-1, 3)).reshape(rgb.shape)
    return np.where(np.hypot(lab[..., 1], lab[..., 2]) < _MOST_CHROMA, lab[..., 0], np.nan)


def _squares(sign: npt.NDArray[np.int8]) -> tuple[_Squares, _Squares] | None:
    """Return the squares along x and along y, or None where the frame shows none."""
    across = _even_edges([sign[row] for row in (0, 1, -2, -1)])
    down = _even_edges([sign[:, column] for column in (0, 1, -2, -1)])
    if across is None or down is None:
        return None
    if abs(across.side - down.side) > _SAME_SQUARE * max(across.side, down.side):
        return None
    expected = _expected(sign.shape, (across, down))
    known = _frame(sign.shape) & (sign != 0)
    agrees = sign[known] == expected[known]
    return (across, down) if max(agrees.mean(), 1.0 - agrees.mean()) >= _AS_EXPECTED else None


def _even_edges(lines: list[npt.NDArray[np.int8]]) -> _Squares | None:
    """Return the squares whose edges the lines show, where those are at even distances."""
    places = np.unique(np.concatenate([_changes(line) for line in lines]))
    if len(places) < _LEAST_EDGES:
        return None
    steps = np.diff(places)
    steps = steps[steps > _SQUARE_PX[0] - 1.0]
    if not len(steps):
        return None
    side = float(np.median(steps))
    first = float(places[0])
    for _ in range(4):  # numbers of the edges, then the line through them
        numbers = np.rint((places - first) / side)
        if numbers.max() == numbers.min():
            return None
        side, first = (float(value) for value in np.polyfit(numbers, places, 1))
    off = np.sqrt(np.mean(((places - first) / side - np.rint((places - first) / side)) ** 2))
    return _Squares(first, side) if off <= _EVEN and _SQUARE_PX[0] <= side <= _SQUARE_PX[1] else None


def _changes(line: npt.NDArray[np.int8]) -> Floats:
    """Return where one grey turns to the other along a line, between pixel centers."""
    at = np.flatnonzero(line)
    turns = line[at[:-1]] != line[at[1:]]
    near = at[1:] - at[:-1] <= 4  # farther apart, something else lies between
    places: Floats = (at[:-1][turns & near] + at[1:][turns & near] + 1.0) / 2.0
    return places


def _expected(shape: tuple[int, int], squares: tuple[_Squares, _Squares]) -> npt.NDArray[np.int8]:
    """Return the sign of every pixel's square, up to a common factor of -1."""
    across = np.floor(squares[0].numbers(shape[1])).astype(int)
    down = np.floor(squares[1].numbers(shape[0])).astype(int)
    sign: npt.NDArray[np.int8] = (1 - 2 * ((across[None, :] + down[:, None]) % 2)).astype(np.int8)
    return sign


def _ground(
    lightness: Floats,
    sign: npt.NDArray[np.int8],
    greys: tuple[float, float],
    squares: tuple[_Squares, _Squares],
) -> Flags:
    """Return which pixels are checkerboard: those joined to the frame, and enclosed ones of both greys."""
    dark, light = greys
    shape = (sign.shape[0], sign.shape[1])
    expected = _expected(shape, squares)
    frame = _frame(shape)
    if (sign[frame] == expected[frame]).sum() < (sign[frame] == -expected[frame]).sum():
        expected = -expected
    reach = _NEAR * (light - dark)
    between = (lightness >= dark - reach) & (lightness <= light + reach)
    alike = (sign == expected) | (between & _beside_edges(shape, squares))
    pieces = find_pieces(alike.astype(np.uint8))
    light_px, dark_px = (pieces.sums(sign == value) for value in (1, -1))
    least = 0.25 * np.maximum(squares[0].side * squares[1].side, np.maximum(light_px, dark_px))
    both = np.minimum(light_px, dark_px) >= least  # a white eye has hardly any of the other grey
    ground = np.zeros(shape, dtype=bool)
    ground.ravel()[pieces.pixels((pieces.labels == 1) & (both | pieces.at_border))] = True
    return ground


def _beside_edges(shape: tuple[int, int], squares: tuple[_Squares, _Squares]) -> Flags:
    """Return which pixels lie within a pixel and a half of an edge of squares, where greys mix."""
    near = []
    for item, count in zip(squares, (shape[1], shape[0]), strict=True):
        numbers = item.numbers(count)
        near.append(np.abs(numbers - np.rint(numbers)) * item.side <= 1.5)
    beside: Flags = near[0][None, :] | near[1][:, None]
    return beside
