"""A photograph of a class's sheet to its number and its drawing, cut out straight."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PIL import Image

from ...formats.classlayout import CROP_MM, FIELD
from .numbering import marks_seen, read_number
from .placing import Place, at_middles, placed
from .squares import Grey, corner_marks, small

__all__ = ["ReadSheet", "read_sheet", "straight"]

_LOOKED_AT_PX = (1200, 2200)
"""Longest side at which marks are looked for; the second where the first shows none."""
_MOST_OFF_MM = 0.35
"""Median distance of printed edges from where they must be, above which a sheet is crumpled or was misread."""
_PX_PER_MM = (4.0, 10.0)
"""Of the drawing cut out: as the photograph has it, within these."""
_PATCH_PX = 48
"""A straight picture is put together from patches of this size, in each of which the way is nearly even."""


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """What a photograph shows of a sheet.

    Parameters
    ----------
    number : int or None
    place : Place or None
        Where it lies.
    why : str
        What is wrong where there is no number, in a few words.
    """

    number: int | None
    place: Place | None
    why: str = ""


def read_sheet(image: Image.Image) -> ReadSheet:
    """Find a class's sheet in an upright photograph of mode RGB and read its number.

    The green channel is looked at: red and blue pens, and a lamp's color, change it least.
    """
    grey: Grey = np.asarray(image.getchannel("G"))
    why = "its four corner marks were not found"
    for longest in _LOOKED_AT_PX:
        part, scale = small(grey, longest)
        found: dict[int, Place] = {}
        for middles in corner_marks(part):
            place = at_middles(middles * scale, image.size)
            if marks_seen(grey, place) is None:
                continue
            place = placed(grey, place)
            ink = marks_seen(grey, place)
            if ink is None or place.off_mm > _MOST_OFF_MM:
                why = "its corner marks do not lie on a flat sheet"
                continue
            number, words = read_number(grey, place, ink)
            if number is None:
                why = words
            else:
                found[number] = place
        if len(found) == 1:
            return ReadSheet(*next(iter(found.items())))
        if found:
            return ReadSheet(None, None, "more than one sheet is in the picture")
        if max(grey.shape) <= longest:
            break
    return ReadSheet(None, None, why)


def straight(image: Image.Image, place: Place) -> Image.Image:
    """Return what was drawn in the field, straight, as fine as the photograph has it."""
    left, top, right, low = FIELD
    box = np.array([left + CROP_MM, top + CROP_MM, right - CROP_MM, low - CROP_MM])
    size_mm = box[2:] - box[:2]
    corners = place.pixels(box[np.array([[0, 1], [2, 1], [2, 3], [0, 3]])])
    around = np.roll(corners, -1, axis=0)
    area_px = abs(float((corners[:, 0] * around[:, 1] - corners[:, 1] * around[:, 0]).sum())) / 2
    px_per_mm = min(max(math.sqrt(area_px / float(size_mm.prod())), _PX_PER_MM[0]), _PX_PER_MM[1])
    width, height = (round(float(side) * px_per_mm) for side in size_mm)
    columns = np.linspace(0, width, math.ceil(width / _PATCH_PX) + 1).round().astype(int)
    rows = np.linspace(0, height, math.ceil(height / _PATCH_PX) + 1).round().astype(int)
    x, y = np.meshgrid(columns / width, rows / height)
    at = place.pixels(box[:2] + np.stack([x, y], axis=-1) * size_mm)
    patches = []
    for row in range(len(rows) - 1):
        for column in range(len(columns) - 1):
            target = (int(columns[column]), int(rows[row]), int(columns[column + 1]), int(rows[row + 1]))
            ends = (at[row, column], at[row + 1, column], at[row + 1, column + 1], at[row, column + 1])
            patches.append((target, tuple(float(value) for end in ends for value in end)))
    return image.transform((width, height), Image.Transform.MESH, patches, Image.Resampling.BICUBIC)
