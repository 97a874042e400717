"""The sheet of paper in a photograph, and what is said of it."""

from __future__ import annotations

import numpy as np
from PIL import Image

from ...findings import Note, note
from ...model.artwork import FoundSheet

__all__ = ["may_be_photographed", "sought"]

_COMMONEST = 0.22
"""Share of the commonest exact color below which a picture may be photographed: drawn ones had .28 to .90,
photographs up to .18, as long as nothing reduced them."""
_LOOKED_AT = (500, 500)
"""Pixels, evenly strewn, that tell the share well enough."""
_LEAST_PX = 480
"""Longest side of a picture in which a sheet is looked for."""
_SHOWN_PX = 480
"""Longest side of the photograph on the proof."""
_WAYS_OUT = "set artwork.corners to the four corners of the sheet to have it straightened"


def may_be_photographed(image: Image.Image) -> bool:
    """Return whether a picture of mode RGB, at full size, has no color that covers much of it exactly."""
    some = np.asarray(image.resize(_LOOKED_AT, Image.Resampling.NEAREST)).reshape(-1, 3).astype(np.int32)
    codes = (some[:, 0] * 256 + some[:, 1]) * 256 + some[:, 2]
    _, counts = np.unique(codes, return_counts=True)
    return bool(counts.max() < _COMMONEST * len(codes))


def sought(image: Image.Image) -> tuple[FoundSheet | None, Note]:
    """Look for a sheet of paper in a photograph that is upright and of mode RGB.

    Returns
    -------
    FoundSheet or None
    Note
        What was found, or how to give the corners by hand.
    """
    try:
        from .search import find_sheet  # noqa: PLC0415 - scikit-image, an optional extra
    except ImportError:
        words = f"no sheet of paper was looked for; install the extra reliefsmith[photo], or {_WAYS_OUT}"
        return None, note("sheet-not-found", words)
    found = find_sheet(np.asarray(image)) if max(image.size) >= _LEAST_PX else None
    if found is None:
        words = f"no sheet of paper was found in the picture; if it is a photograph of one, {_WAYS_OUT}"
        return None, note("sheet-not-found", words)
    small = image.copy()
    small.thumbnail((_SHOWN_PX, _SHOWN_PX))
    shown = np.asarray(small)
    places = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in found.corners)
    words = (
        f"a sheet of paper was found, its corners at {places} px; set artwork.corners to change them, or"
        " artwork.kind to flat to take the picture as it is"
    )
    sheet = FoundSheet(shown, found.corners, small.size[0] / image.size[0], found.inward_px)
    return sheet, note("sheet-found", words)
