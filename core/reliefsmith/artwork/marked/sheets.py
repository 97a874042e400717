"""A photograph of a class's sheet: where the sheet lies in it, and its number."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from ...model.arrays import Bytes
from ...progress import drain
from ...recipe.sections import ArtworkSettings
from ..decode import decode_steps
from ..opening import decoding, open_picture, read_bytes
from ..profile import to_srgb
from .numbering import marks_seen, read_number
from .placing import Place, at_middles, placed
from .squares import corner_marks, small

__all__ = ["ReadSheet", "photographed", "read_sheet"]

_LOOKED_AT_PX = (1200, 2200)
"""Longest side at which marks are looked for; the second where the first shows none."""
_MOST_OFF_MM = 0.35
"""Median distance of printed edges from where they must be, above which a sheet is crumpled."""


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

    The brightest channel is looked at: printed ink is dark in each, and what most pens draw is not.
    """
    grey: Bytes = np.asarray(image).max(axis=2)
    why = "its corner marks were not found"
    for longest in _LOOKED_AT_PX:
        part, scale = small(grey, longest)
        for marks in corner_marks(part):
            found: dict[int, Place] = {}
            for middles in marks:
                place = _placed(grey, at_middles(middles * scale, image.size))
                ink = None if place is None else marks_seen(grey, place)
                if place is None or ink is None:
                    continue
                number, why = read_number(grey, place, ink)
                if number is not None:
                    found[number] = place
            if len(found) == 1:
                return ReadSheet(*next(iter(found.items())))
            if found:
                return ReadSheet(None, None, "more than one sheet is in the picture")
        if max(grey.shape) <= longest:
            break
    return ReadSheet(None, None, why)


def _placed(grey: Bytes, guess: Place) -> Place | None:
    """Return where a sheet lies whose marks are seen at a guess; None where none is, or it is not flat."""
    if marks_seen(grey, guess) is None:
        return None
    place = placed(grey, guess)
    return place if place.off_mm <= _MOST_OFF_MM else None


def photographed(path: Path) -> Image.Image:
    """Read a photograph, upright, in sRGB, of mode RGB.

    Raises
    ------
    ArtworkError
        If it is none, damaged or too large.
    """
    settings = ArtworkSettings()
    source = open_picture(read_bytes(path, settings), path.name, max_megapixels=settings.max_megapixels)
    with decoding(path.name, settings.max_megapixels):
        image = drain(decode_steps(source, 1))
    return to_srgb(image, source.profile).convert("RGB")
