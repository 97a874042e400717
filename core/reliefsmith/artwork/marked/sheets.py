"""A photograph of a class's sheet: where the sheet lies in it, and its number."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from ...progress import drain
from ...recipe.sections import ArtworkSettings
from ..decode import decode_steps
from ..opening import decoding, open_picture, read_bytes
from ..profile import to_srgb
from .numbering import marks_seen, read_number
from .placing import Place, at_middles, placed
from .squares import Grey, corner_marks, small

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
