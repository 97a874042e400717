"""What of a picture is the art's: a part cut out of it, or a sheet photographed at a slant, made straight.

A sheet's corners give the homography between sheet and picture. The shape of the sheet follows from it where
the focal length is known: the two sides of a rectangle stand at a right angle in space, which gives the focal
length from the four corners alone, with the principal point in the middle of the picture (Zhang and He,
"Whiteboard scanning and image enhancement", Digital Signal Processing 17 (2007) 414-432; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from ..errors import ArtworkError
from ..findings import Note, note
from ..model.arrays import AS_IT_IS, Floats, Homography
from ..recipe.sections import ArtworkSettings
from .opening import MIN_SIDE_PX

__all__ = ["Framed", "cut", "framed", "homography", "rows_of", "sheet_ratio"]


_UNIT = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])

_FOCAL_SHARES = (0.5, 1.2)
"""Focal length per longest side of a picture: telephones and cameras lie between these (common practice)."""

_USUAL_FOCAL = 0.77
"""That of a usual telephone's main camera, 26 to 28 mm against 36 mm of film (common practice, no source)."""

_SNAP = 0.015
"""A sheet whose sides are this near to the ratio of a usual one has that ratio."""

SHEETS = {"A": math.sqrt(2.0), "letter": 11.0 / 8.5, "square": 1.0}
"""Ratio of the long to the short side: ISO 216 A sizes, US letter (ANSI/ASME Y14.1 A), square."""

_EDGE = 0.005
"""Share of each side that is left off all round: a sheet's very edge shows the table."""

_LEAST_TURN = 1e-3
"""Sine between the directions of two sides below which four corners are no sheet."""


@dataclass(frozen=True, slots=True)
class Framed:
    """An upright picture, cut or straightened.

    Parameters
    ----------
    image : PIL image
    to_source : tuple of 9 floats
        From its pixels to those of the upright source, row by row of a 3 x 3 matrix.
    notes : tuple of Note
    """

    image: Image.Image
    to_source: Homography = AS_IT_IS
    notes: tuple[Note, ...] = ()


def framed(
    image: Image.Image, settings: ArtworkSettings, focal_px: float | None = None, inward_px: float = 0.0
) -> Framed:
    """Cut out `artwork.crop` and make the sheet between `artwork.corners` straight, as far as given.

    Parameters
    ----------
    image : PIL image
        Upright, of 8 bits a channel.
    settings : ArtworkSettings
        Places in source pixels; (0, 0) is the upper left corner of the upper left pixel.
    focal_px : float, optional
        Focal length in pixels, where the file tells it.
    inward_px : float
        How far the sides of the sheet bend inward, which is left off all round.

    Raises
    ------
    ArtworkError
        If the crop lies outside of the picture or is too small, the corners are no sheet, or both are given.
    """
    if settings.corners and settings.crop:
        raise ArtworkError("artwork.crop and artwork.corners do not go together; leave one of them empty")
    if settings.corners:
        return _straightened(image, settings.corners, focal_px, inward_px)
    if settings.crop:
        return _asked(image, settings.crop)
    return Framed(image)


def cut(image: Image.Image, box: tuple[int, int, int, int]) -> Framed:
    """Return the part of a picture between left, top, right and lower end in px, without a note."""
    left, top = box[:2]
    return Framed(image.crop(box), (1.0, 0.0, float(left), 0.0, 1.0, float(top), 0.0, 0.0, 1.0))


def homography(places: Floats, targets: Floats) -> Floats:
    """Return the 3 x 3 matrix that takes four places (4, 2) to four targets (4, 2), its last entry 1.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> homography(square, 2 * square + 3).round(6).tolist()
    [[2.0, 0.0, 3.0], [0.0, 2.0, 3.0], [0.0, 0.0, 1.0]]
    """
    rows, right = [], []
    for (x, y), (u, v) in zip(places.tolist(), targets.tolist(), strict=True):
        rows += [[x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y], [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)


def rows_of(matrix: Floats) -> Homography:
    """Return a 3 x 3 matrix row by row."""
    a, b, c, d, e, f, g, h, i = (float(value) for value in matrix.ravel())
    return (a, b, c, d, e, f, g, h, i)


def sheet_ratio(corners: Floats, size: tuple[int, int], focal_px: float | None = None) -> float:
    """Return width per height of the sheet whose corners (4, 2) are seen in a picture of (width, height) px.

    Without a known focal length the corners' own is taken where it is likely, else that of a usual camera.
    """
    middle = np.array(size) / 2.0
    across, down, _ = homography(_UNIT, corners - middle).T
    longest = float(max(size))
    if focal_px is None:
        squared = _focal_squared(across, down)
        low, high = (share * longest for share in _FOCAL_SHARES)
        likely = squared is not None and low * low <= squared <= high * high
        focal_px = math.sqrt(squared) if likely and squared is not None else _USUAL_FOCAL * longest
    return _length(across, focal_px) / _length(down, focal_px)


def _focal_squared(across: Floats, down: Floats) -> float | None:
    """Return the square of the focal length at which both sides stand at a right angle, where they tell."""
    tilt = float(across[2] * down[2])
    along = float(across[0] * down[0] + across[1] * down[1])
    return -along / tilt if abs(tilt) > 1e-9 else None  # both sides of a sheet that is seen straight on


def _length(side: Floats, focal_px: float) -> float:
    return math.sqrt(float(side[0] ** 2 + side[1] ** 2) / focal_px**2 + float(side[2] ** 2))


def _asked(image: Image.Image, crop: tuple[float, ...]) -> Framed:
    left, top, width, height = (round(value) for value in crop)
    right, low = min(left + width, image.size[0]), min(top + height, image.size[1])
    if right - left < MIN_SIDE_PX or low - top < MIN_SIDE_PX:
        raise ArtworkError(
            f"artwork.crop leaves {max(right - left, 0)} x {max(low - top, 0)} px of the picture of"
            f" {image.size[0]} x {image.size[1]} px; it needs at least {MIN_SIDE_PX} px a side"
        )
    words = f"{right - left} x {low - top} px from ({left}, {top}) of the picture were read"
    return replace(cut(image, (left, top, right, low)), notes=(note("picture-cropped", words),))


def _straightened(
    image: Image.Image, corners: tuple[tuple[float, float], ...], focal_px: float | None, inward_px: float
) -> Framed:
    places = np.array(corners, dtype=np.float64)
    _check(places)
    ratio, kind = _snapped(sheet_ratio(places, image.size, focal_px))
    places = _inner(places, inward_px)
    sides = np.linalg.norm(places - np.roll(places, -1, axis=0), axis=1)
    width, height = max(sides[0], sides[2]), max(sides[1], sides[3])
    width, height = max(width, height * ratio), max(height, width / ratio)  # no side loses pixels
    shrink = min(1.0, math.sqrt(image.size[0] * image.size[1] / (width * height)))
    target = (max(round(width * shrink), MIN_SIDE_PX), max(round(height * shrink), MIN_SIDE_PX))
    wide, tall = (float(side) for side in target)
    box = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall]])
    matrix = homography(box, places)
    straight = image.transform(
        target, Image.Transform.PERSPECTIVE, matrix.ravel()[:8].tolist(), Image.Resampling.BICUBIC
    )
    sheet = f", taken as a sheet of {kind}" if kind else ""
    words = f"the sheet between the four corners was straightened to {target[0]} x {target[1]} px{sheet}"
    return Framed(straight, rows_of(matrix), (note("sheet-straightened", words),))


def _inner(corners: Floats, inward_px: float) -> Floats:
    """Return the corners of the sheet without its edge, and without what bends inward."""
    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
    edge = _EDGE + inward_px / float(sides.min())
    within = np.column_stack([edge + (1.0 - 2.0 * edge) * _UNIT, np.ones(4)])
    inner = within @ homography(_UNIT, corners).T
    places: Floats = inner[:, :2] / inner[:, 2:]
    return places


def _check(places: Floats) -> None:
    """Refuse corners that do not go round a convex sheet clockwise as seen."""
    steps = np.roll(places, -1, axis=0) - places
    lengths = np.linalg.norm(steps, axis=1)
    after = np.roll(steps, -1, axis=0)
    turns = steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0]
    short = len(places) != 4 or (lengths < MIN_SIDE_PX).any()
    if short or (turns <= _LEAST_TURN * lengths * np.roll(lengths, -1)).any():
        raise ArtworkError(
            "artwork.corners must go round a sheet clockwise as seen, four from its upper left corner, each"
            f" {MIN_SIDE_PX} px or more from the next"
        )


def _snapped(ratio: float) -> tuple[float, str]:
    """Return the ratio of a usual sheet that is near, with its name, else the ratio as it is."""
    for name, sides in SHEETS.items():
        for usual in (sides, 1.0 / sides):
            if abs(ratio / usual - 1.0) <= _SNAP:
                return usual, {"A": "an A size", "letter": "letter size", "square": "equal sides"}[name]
    return ratio, ""
