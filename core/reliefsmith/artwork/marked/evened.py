"""The frame of a photographed sheet, straight, under even white light."""

from __future__ import annotations

import math

import numpy as np
from PIL import Image

from ...formats.classlayout import CROP_MM, FIELD, FRAME_MM, RULER
from ...model.artwork import Artwork
from ...progress import drain
from ..unevenlight import divided_steps
from .placing import Place
from .squares import Floats

__all__ = ["drawing", "straight"]

_PX_PER_MM = (4.0, 10.0)
"""Of the drawing: as the photograph has it, within these."""
_PATCH_PX = 48
"""A straight picture is put together from patches of this size; within each the way is nearly even."""
_BLANK_MM = (
    (20.0, 17.0, 160.0, 21.0),
    (2.0, FIELD[3] + 2.0, RULER[0] - 4.0, 231.0),
    (RULER[0], RULER[1] + 2.0, RULER[2], 231.0),
)
"""Where the paper is blank: by it the light's color is known."""
_PAPER = 250.0
"""Level of the paper under even white light."""


def drawing(image: Image.Image, place: Place) -> Image.Image:
    """Return what was drawn in the field, straight, as if the sheet lay in even white light."""
    px_per_mm = _fineness(place)
    frame = straight(image, place, px_per_mm)
    rgb = np.asarray(frame)
    opaque = np.broadcast_to(np.float32(1), rgb.shape[:2])
    rgb = drain(divided_steps(Artwork(rgb, opaque, frame.size, 1.0, False, True))).rgb
    blank = [
        rgb[
            round(top * px_per_mm) : round(low * px_per_mm),
            round(left * px_per_mm) : round(right * px_per_mm),
        ]
        for left, top, right, low in _BLANK_MM
    ]
    paper = np.median(np.concatenate([part.reshape(-1, 3) for part in blank]), axis=0)
    white = np.clip(rgb * (_PAPER / np.maximum(paper, 1.0)) + 0.5, 0, 255).astype(np.uint8)
    left, top, right, low = FIELD
    inner = (left + CROP_MM, top + CROP_MM, right - CROP_MM, low - CROP_MM)
    x0, y0, x1, y1 = (round(side * px_per_mm) for side in inner)
    return Image.fromarray(white[y0:y1, x0:x1])


def straight(image: Image.Image, place: Place, px_per_mm: float) -> Image.Image:
    """Return the frame of a sheet, straight."""
    width, height = (round(side * px_per_mm) for side in FRAME_MM)
    columns = np.linspace(0, width, math.ceil(width / _PATCH_PX) + 1).round().astype(int)
    rows = np.linspace(0, height, math.ceil(height / _PATCH_PX) + 1).round().astype(int)
    at = place.pixels(np.stack(np.meshgrid(columns / px_per_mm, rows / px_per_mm), axis=-1))
    patches = []
    for row in range(len(rows) - 1):
        for column in range(len(columns) - 1):
            target = (int(columns[column]), int(rows[row]), int(columns[column + 1]), int(rows[row + 1]))
            ends = (at[row, column], at[row + 1, column], at[row + 1, column + 1], at[row, column + 1])
            patches.append((target, tuple(float(value) for end in ends for value in end)))
    return image.transform((width, height), Image.Transform.MESH, patches, Image.Resampling.BICUBIC)


def _fineness(place: Place) -> float:
    """Return px for a mm of the field, as the photograph has it on the whole, within bounds."""
    left, top, right, low = FIELD
    corners: Floats = place.pixels(np.array([[left, top], [right, top], [right, low], [left, low]]))
    after = np.roll(corners, -1, axis=0)
    area_px = abs(float((corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]).sum())) / 2
    own = math.sqrt(area_px / ((right - left) * (low - top)))
    return min(max(own, _PX_PER_MM[0]), _PX_PER_MM[1])
