"""What was drawn on a photographed sheet, straight, under even white light."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from PIL import Image

from ...formats.classlayout import CROP_MM, FIELD, FRAME_MM, RULER
from ...model.arrays import Floats, Rgb
from ...model.artwork import Artwork
from ...progress import drain
from ..sheet.shapes import areas_of
from ..unevenlight import divided_steps
from .placing import Place

__all__ = ["drawing", "straight"]

Box: TypeAlias = tuple[float, float, float, float]

_PX_PER_MM = (4.0, 10.0)
"""Of the drawing: as the photograph has it, within these."""
_MARGIN_MM = 7.0
"""Of bare paper round the frame, by which the light is known to be that on paper."""
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
    around = (-_MARGIN_MM, -_MARGIN_MM, FRAME_MM[0] + _MARGIN_MM, FRAME_MM[1] + _MARGIN_MM)
    whole = straight(image, place, around, px_per_mm)
    rgb = np.asarray(whole)
    opaque = np.broadcast_to(np.float32(1), rgb.shape[:2])
    taken = Artwork(rgb, opaque, whole.size, 1.0, False, True)
    rgb = drain(divided_steps(taken, photographed=True)).rgb

    def part(left: float, top: float, right: float, low: float) -> Rgb:
        x0, y0, x1, y1 = (round((side + _MARGIN_MM) * px_per_mm) for side in (left, top, right, low))
        return rgb[y0:y1, x0:x1]

    paper = np.median(np.concatenate([part(*box).reshape(-1, 3) for box in _BLANK_MM]), axis=0)
    left, top, right, low = FIELD
    drawn = part(left + CROP_MM, top + CROP_MM, right - CROP_MM, low - CROP_MM)
    white = np.clip(drawn * (_PAPER / np.maximum(paper, 1.0)) + 0.5, 0, 255)
    return Image.fromarray(white.astype(np.uint8))


def straight(image: Image.Image, place: Place, box: Box, px_per_mm: float) -> Image.Image:
    """Return a part of a sheet, left, top, right and low end in mm of the frame, straight."""
    width, height = (round((box[at + 2] - box[at]) * px_per_mm) for at in (0, 1))
    columns = np.linspace(0, width, math.ceil(width / _PATCH_PX) + 1).round().astype(int)
    rows = np.linspace(0, height, math.ceil(height / _PATCH_PX) + 1).round().astype(int)
    at = place.pixels(np.stack(np.meshgrid(columns, rows), axis=-1) / px_per_mm + box[:2])
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
    own = math.sqrt(abs(float(areas_of(corners))) / ((right - left) * (low - top)))
    return min(max(own, _PX_PER_MM[0]), _PX_PER_MM[1])
