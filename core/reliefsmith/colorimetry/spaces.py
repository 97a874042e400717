"""Color spaces: sRGB bytes to linear light, luminance, CIELAB (D65) and OKLab.

Matrix products are written out as sums, so that results do not depend on a linear-algebra library.
"""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

__all__ = [
    "decode_srgb",
    "encode_srgb",
    "from_luma_chroma",
    "level_of",
    "linear_to_oklab",
    "linear_to_srgb",
    "luma",
    "luma_axes",
    "luma_chroma",
    "relative_luminance",
    "srgb_to_lab",
    "srgb_to_linear",
    "srgb_to_oklab",
]

Floats = npt.NDArray[np.float64]
Channel = TypeVar("Channel", npt.NDArray[np.float32], npt.NDArray[np.float64])

# Linear sRGB to XYZ (IEC 61966-2-1 primaries, D65), digits as in common use.
_RGB_TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
# The white is the sum of each row, so that every grey is exactly neutral.
_WHITE = tuple(sum(row) for row in _RGB_TO_XYZ)
_LUMINANCE = (0.2126, 0.7152, 0.0722)  # WCAG 2.2, relative luminance
_LUMA = (0.299, 0.587, 0.114)  # ITU-R BT.601, as JFIF has it
_BLUE_SPAN, _RED_SPAN = 1.772, 1.402  # of Cb and Cr in blue and red, JFIF
_LOSSY_CHROMA = 0.4  # weight of chroma in lossy pictures; luma has 1. Found on open art
_LAB_EPSILON = (6 / 29) ** 3  # CIE 15: where the cube root gives way to a straight line
_LAB_SLOPE = (29 / 6) ** 2 / 3

# B. Ottosson, "A perceptual color space for image processing" (2020, matrices of January 2021).
_RGB_TO_LMS = (
    (0.4122214708, 0.5363325363, 0.0514459929),
    (0.2119034982, 0.6806995451, 0.1073969566),
    (0.0883024619, 0.2817188376, 0.6299787005),
)
_LMS_TO_OKLAB = (
    (0.2104542553, 0.7936177850, -0.0040720468),
    (1.9779984951, -2.4285922050, 0.4505937099),
    (0.0259040371, 0.7827717662, -0.8086757660),
)


def decode_srgb(encoded: npt.ArrayLike) -> Floats:
    """Turn encoded sRGB values 0 to 1 into linear light 0 to 1 (IEC 61966-2-1).

    Examples
    --------
    >>> float(decode_srgb(1.0))
    1.0
    """
    value = np.asarray(encoded, dtype=np.float64)
    power = ((np.maximum(value, 0.0) + 0.055) / 1.055) ** 2.4
    return np.where(value <= 0.04045, value / 12.92, power)


def encode_srgb(linear: npt.ArrayLike) -> Floats:
    """Turn linear light 0 to 1 into encoded sRGB values 0 to 1 (IEC 61966-2-1).

    Examples
    --------
    >>> round(float(encode_srgb(0.18)), 6)
    0.461356
    """
    value = np.asarray(linear, dtype=np.float64)
    power = 1.055 * np.maximum(value, 0.0) ** (1 / 2.4) - 0.055
    return np.where(value <= 0.0031308, value * 12.92, power)


_DECODED: Floats = decode_srgb(np.arange(256) / 255.0)


def srgb_to_linear(rgb: npt.NDArray[Any]) -> Floats:
    """Turn sRGB into linear light.

    Parameters
    ----------
    rgb : array of shape (..., 3)
        0 to 255, uint8 (by table) or float.

    Returns
    -------
    float64 array of shape (..., 3)
        0 to 1.

    Examples
    --------
    >>> srgb_to_linear(np.array([0, 128, 255], dtype=np.uint8)).round(4).tolist()
    [0.0, 0.2159, 1.0]
    """
    values = np.asarray(rgb)
    if values.dtype == np.uint8:
        table: Floats = _DECODED[values]
        return table
    return decode_srgb(values / 255.0)


def linear_to_srgb(linear: npt.ArrayLike) -> npt.NDArray[np.uint8]:
    """Turn linear light (..., 3), 0 to 1, into the nearest sRGB bytes; values outside are clipped.

    Examples
    --------
    >>> linear_to_srgb([0.0, 0.2158605, 2.0]).tolist()
    [0, 128, 255]
    """
    encoded = encode_srgb(np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0))
    return np.floor(encoded * 255.0 + 0.5).astype(np.uint8)


def relative_luminance(rgb: npt.NDArray[Any]) -> Floats:
    """Return the relative luminance (...), 0 to 1, of sRGB colors (..., 3) after WCAG 2.2.

    Examples
    --------
    >>> relative_luminance(np.array([[255, 255, 255], [119, 119, 119]])).round(3).tolist()
    [1.0, 0.184]
    """
    return _weighted(srgb_to_linear(rgb), _LUMINANCE)


def srgb_to_lab(rgb: npt.NDArray[Any]) -> Floats:
    """Turn sRGB into CIELAB with the D65 white (CIE 15).

    Parameters
    ----------
    rgb : array of shape (..., 3)
        0 to 255, uint8 or float.

    Returns
    -------
    float64 array of shape (..., 3)
        L* 0 to 100, a*, b*.

    Examples
    --------
    >>> [abs(round(float(value), 6)) for value in srgb_to_lab(np.array([255, 255, 255]))]
    [100.0, 0.0, 0.0]
    """
    linear = srgb_to_linear(rgb)
    x, y, z = (
        _lab_curve(_weighted(linear, row) / white) for row, white in zip(_RGB_TO_XYZ, _WHITE, strict=True)
    )
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def srgb_to_oklab(rgb: npt.NDArray[Any]) -> Floats:
    """Turn sRGB (..., 3), 0 to 255, into OKLab (..., 3): L 0 to 1, a, b (B. Ottosson, 2020).

    Examples
    --------
    >>> srgb_to_oklab(np.array([255, 0, 0])).round(3).tolist()
    [0.628, 0.225, 0.126]
    """
    return linear_to_oklab(srgb_to_linear(rgb))


def linear_to_oklab(linear: npt.ArrayLike) -> Floats:
    """Turn linear sRGB light (..., 3), 0 to 1, into OKLab (..., 3).

    Examples
    --------
    >>> linear_to_oklab([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0]]).round(4).tolist()
    [[1.0, 0.0, 0.0], [0.0, 0.0, 0.0]]
    """
    light = np.asarray(linear, dtype=np.float64)
    lms = np.stack([np.cbrt(_weighted(light, row)) for row in _RGB_TO_LMS], axis=-1)
    return np.stack([_weighted(lms, row) for row in _LMS_TO_OKLAB], axis=-1)


def luma_axes(red: Channel, green: Channel, blue: Channel) -> tuple[Channel, Channel, Channel]:
    """Turn stored channels into axes on which lossy pictures are compared: luma in full, chroma little.

    JPEG keeps luma (ITU-R BT.601) sharp and lets chroma bleed over two pixels and more. Greys keep the
    distances that they have in stored values.

    Examples
    --------
    >>> grey = np.array([100.0])
    >>> [round(float(axis[0]), 4) for axis in luma_axes(grey, grey, grey)]
    [173.2051, 0.0, 0.0]
    """
    level = luma(red, green, blue)
    return level * 3**0.5, (blue - level) * _LOSSY_CHROMA, (red - level) * _LOSSY_CHROMA


def luma(red: Channel, green: Channel, blue: Channel) -> Channel:
    """Return the luma Y of stored channels, 0 to 255 as they are (JFIF).

    Examples
    --------
    >>> round(luma(255.0, 0.0, 0.0), 3), round(luma(0.0, 255.0, 0.0), 3)
    (76.245, 149.685)
    """
    level: Channel = _LUMA[0] * red + _LUMA[1] * green + _LUMA[2] * blue
    return level


def level_of(rgb: npt.NDArray[np.uint8]) -> npt.NDArray[np.int16]:
    """Return the luma (...) of stored colors (..., 3) in whole levels, by weights of sixteenths.

    Examples
    --------
    >>> level_of(np.array([[0, 0, 0], [255, 0, 0], [255, 255, 255]], dtype=np.uint8)).tolist()
    [0, 79, 255]
    """
    red, green, blue = (rgb[..., channel].astype(np.int16) for channel in range(3))
    level: npt.NDArray[np.int16] = (5 * red + 9 * green + 2 * blue) >> 4
    return level


def luma_chroma(colors: Floats) -> Floats:
    """Return Y, Cb, Cr (..., 3) of stored colors (..., 3), or of their differences (JFIF).

    Examples
    --------
    >>> luma_chroma(np.array([255.0, 255.0, 255.0])).round(6).tolist()
    [255.0, 0.0, 0.0]
    """
    red, green, blue = (colors[..., channel] for channel in range(3))
    level = luma(red, green, blue)
    return np.stack([level, (blue - level) / _BLUE_SPAN, (red - level) / _RED_SPAN], axis=-1)


def from_luma_chroma(values: Floats) -> Floats:
    """Return the stored colors (..., 3) whose Y, Cb, Cr these are; they may lie beyond white and black.

    Examples
    --------
    >>> stored = np.array([[200.0, 30.0, 40.0]])
    >>> from_luma_chroma(luma_chroma(stored)).round(6).tolist()
    [[200.0, 30.0, 40.0]]
    """
    level, blue, red = (values[..., channel] for channel in range(3))
    red, blue = level + _RED_SPAN * red, level + _BLUE_SPAN * blue
    return np.stack([red, (level - _LUMA[0] * red - _LUMA[2] * blue) / _LUMA[1], blue], axis=-1)


def _weighted(values: Floats, weights: tuple[float, ...]) -> Floats:
    first, second, third = weights
    total: Floats = values[..., 0] * first + values[..., 1] * second + values[..., 2] * third
    return total


def _lab_curve(ratio: Floats) -> Floats:
    return np.where(ratio > _LAB_EPSILON, np.cbrt(ratio), ratio * _LAB_SLOPE + 4.0 / 29.0)
