"""The sheet of paper in a photograph, and what is said of it."""

from __future__ import annotations

import numpy as np
from PIL import Image

from ...findings import Note, note
from ...model.artwork import FoundSheet

__all__ = ["is_photograph", "sought"]

_COMMONEST = 0.22
"""Share of the commonest exact color below which a picture is photographed: drawn ones had .28 to .90,
photographs up to .18, as long as nothing reduced them."""
_LOOKED_AT = 250_000
_LEAST_PX = 480
"""Longest side of a picture in which a sheet is looked for."""
_SHOWN_PX = 480
_SEEN = "the picture looks like a photograph of a drawing on paper, and is read as it lies there"
_WAY_OUT = "set artwork.corners to the sheet's four corners to make it straight"


def is_photograph(image: Image.Image) -> bool:
    """Return whether a picture, of mode RGB and at full size, is photographed rather than drawn."""
    pixels = np.asarray(image).reshape(-1, 3)
    some = pixels[:: max(len(pixels) // _LOOKED_AT, 1)].astype(np.int32)
    codes = (some[:, 0] * 256 + some[:, 1]) * 256 + some[:, 2]
    _, counts = np.unique(codes, return_counts=True)
    return bool(counts.max() < _COMMONEST * len(codes))


def sought(image: Image.Image) -> tuple[FoundSheet | None, Note]:
    """Look for a sheet of paper in a photograph that is upright.

    Returns
    -------
    FoundSheet or None
    Note
        What was found, or how to give the corners by hand.
    """
    rgb = image.convert("RGB")
    try:
        from .find import find_sheet  # noqa: PLC0415 - scikit-image, an optional extra
    except ImportError:
        words = f"{_SEEN}; install the extra reliefsmith[photo] to have the sheet looked for, or {_WAY_OUT}"
        return None, note("paper-seen", words)
    found = find_sheet(np.asarray(rgb)) if max(image.size) >= _LEAST_PX else None
    if found is None:
        return None, note("paper-seen", f"{_SEEN}, as no sheet was found for sure; {_WAY_OUT}")
    small = rgb.copy()
    small.thumbnail((_SHOWN_PX, _SHOWN_PX))
    places = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in found.corners)
    words = (
        f"a sheet of paper was found, its corners at {places} px; set artwork.corners to change them, or"
        " artwork.kind to flat to take the picture as it is"
    )
    scale = small.size[0] / image.size[0]
    return FoundSheet(np.asarray(small), found.corners, scale, found.inward_px), note("sheet-found", words)
