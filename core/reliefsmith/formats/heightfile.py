"""Heights as picture files: 32-bit float TIFF in mm, and any grey picture between two heights.

TIFF 6.0: https://www.itu.int/itudoc/itu-t/com16/tiff-fx/docs/tiff6.pdf. It is written without packing, so the
same heights are the same bytes wherever Pillow is the same.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image, UnidentifiedImageError

from ..errors import RecipeError
from ..model.arrays import Plane
from .silence import silent
from .stems import printable

__all__ = ["MOST_HEIGHT_MM", "MOST_VALUES", "checked_heights", "heights_tiff", "read_heights"]

MOST_VALUES = 25_000_000
"""A piece of 250 mm at 0.05 mm; more is no hand relief of a keyring."""

MOST_HEIGHT_MM = 50.0
"""As high as any height of the recipe."""

_MOST_BYTES = 8 * MOST_VALUES + 2**20
_FORMATS = ("TIFF", "PNG", "BMP", "WEBP", "JPEG", "GIF")
_DEEP = 65535
# What Pillow's decoders raise on damaged files, as far as known; they have no common root.
_BROKEN = (
    *(OSError, EOFError, SyntaxError, ValueError, IndexError, KeyError, TypeError, AttributeError),
    *(OverflowError, MemoryError, struct.error, zlib.error),
    *(Image.DecompressionBombError, Image.DecompressionBombWarning),
)


def heights_tiff(values: Plane) -> bytes:
    r"""Return heights (h, w) float32 in mm as a TIFF of 32-bit floats; all NaN alike.

    Examples
    --------
    >>> data = heights_tiff(np.array([[0.5, np.nan]], dtype=np.float32))
    >>> data[:4]
    b'II*\x00'
    """
    plain = np.where(np.isnan(values), np.float32("nan"), values + np.float32(0.0)).astype("<f4")
    file = io.BytesIO()
    Image.fromarray(plain).save(file, "TIFF")
    return file.getvalue()


def read_heights(path: Path, range_mm: tuple[float, float]) -> tuple[Plane, bool]:
    """Read heights in mm from a picture file, and tell whether it was of floats.

    Parameters
    ----------
    path : Path
        A TIFF of 32-bit floats, whose values are mm and NaN what does not hold; or a grey picture of 8 or 16
        bits. Where that is transparent it does not hold.
    range_mm : (float, float)
        Heights of black and white of a grey picture.

    Raises
    ------
    RecipeError
        In one line, if it cannot be read, is of another kind, too large, or holds no usable height.
    """
    name = f"hand relief {printable(path)}"
    image = _opened(path, name)
    columns, rows = image.size
    if columns * rows > MOST_VALUES:
        raise RecipeError(
            f"{name} has {columns * rows / 1e6:.1f} million values, more than {MOST_VALUES / 1e6:g};"
            " make it smaller"
        )
    pixels = _pixels(image, name)
    if image.mode == "F":
        return checked_heights(pixels, name), True
    grey, opaque = _grey(pixels, image.mode, name)
    low, high = range_mm
    values = (low + (high - low) * grey).astype(np.float32)
    values[~opaque] = np.nan
    return checked_heights(values, name), False


def checked_heights(values: Any, name: str) -> Plane:
    """Return an array as heights (h, w) of float32.

    Raises
    ------
    RecipeError
        If it has another shape, holds nowhere, or a height is infinite or beyond `MOST_HEIGHT_MM`.
    """
    plain = np.asarray(values)
    if plain.ndim != 2 or 0 in plain.shape or plain.dtype.kind not in "fiub":
        raise RecipeError(
            f"{name} must be numbers in rows and columns, got shape {plain.shape} of {plain.dtype}"
        )
    if plain.size > MOST_VALUES:
        raise RecipeError(
            f"{name} has {plain.size / 1e6:.1f} million values, more than {MOST_VALUES / 1e6:g}"
        )
    with np.errstate(over="ignore", invalid="ignore"):
        heights: Plane = plain.astype(np.float32)
    held = ~np.isnan(heights)
    if not held.any():
        raise RecipeError(f"{name} is NaN everywhere, so it holds nowhere; write heights in mm into it")
    most = float(np.abs(heights[held]).max())
    if most > MOST_HEIGHT_MM:
        told = "infinite" if np.isinf(most) else f"{most:g} mm"
        raise RecipeError(
            f"{name} has a height that is {told}; heights are mm, from -{MOST_HEIGHT_MM:g} to"
            f" {MOST_HEIGHT_MM:g}"
        )
    return heights


def _opened(path: Path, name: str) -> Image.Image:
    try:
        if not path.exists():
            raise RecipeError(f"there is no {name}; check heights.hand")
        if not path.is_file():  # opening a pipe may wait for ever
            raise RecipeError(f"{name} is no ordinary file; give a TIFF of 32-bit floats or a grey picture")
        if path.stat().st_size > _MOST_BYTES:
            raise RecipeError(f"{name} is larger than {_MOST_BYTES >> 20} MiB; make it smaller")
        data = path.read_bytes()
    except RecipeError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise RecipeError(f"cannot read {name}: {str(reason).lower()}") from error
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return Image.open(io.BytesIO(data), formats=_FORMATS)
    except UnidentifiedImageError as error:
        raise RecipeError(
            f"{name} is no picture that can be read; give a TIFF of 32-bit floats or a grey picture"
        ) from error
    except _BROKEN as error:
        raise RecipeError(f"{name} is damaged; save it again") from error


def _pixels(image: Image.Image, name: str) -> npt.NDArray[Any]:
    """Decode; a palette, or a single bit, becomes the colors that it stands for."""
    try:
        with warnings.catch_warnings(), silent(image.format):
            warnings.simplefilter("ignore")
            if image.mode in ("P", "PA", "1"):
                shown = image.convert("L" if image.mode == "1" else "RGBA")
                image.load()
                return np.asarray(shown)
            image.load()
            return np.asarray(image)
    except _BROKEN as error:
        raise RecipeError(f"{name} is damaged or cut off; save it again") from error


def _grey(
    pixels: npt.NDArray[Any], mode: str, name: str
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Return shares 0 to 1 from black to white, and where the picture is not transparent."""
    if mode.startswith("I;16"):
        return pixels.astype(np.float64) / _DEEP, np.ones(pixels.shape, dtype=bool)
    if pixels.dtype != np.uint8:
        raise RecipeError(
            f"{name} has values of a kind that is not read; save it as TIFF of 32-bit floats, or as a grey"
            " picture of 8 or 16 bits"
        )
    if pixels.ndim == 2:
        return pixels / 255.0, np.ones(pixels.shape, dtype=bool)
    with_alpha = pixels.shape[2] in (2, 4)
    opaque = pixels[:, :, -1] > 0 if with_alpha else np.ones(pixels.shape[:2], dtype=bool)
    levels = pixels[:, :, :-1] if with_alpha else pixels
    if levels.shape[2] not in (1, 3) or (np.ptp(levels, axis=2)[opaque] > 0).any():
        raise RecipeError(f"{name} has colors; heights are read from grey, so save it as a grey picture")
    return levels[:, :, 0] / 255.0, opaque
