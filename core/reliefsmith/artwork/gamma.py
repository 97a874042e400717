"""The color space that a PNG without a profile tells by its chunks gAMA and cHRM: to sRGB."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from ..colorimetry import encode_srgb
from ..model.arrays import Floats

__all__ = ["Encoding", "decoded", "encoding_of"]


_USUAL_GAMMA = 1 / 2.2  # what the chunk says of sRGB: 45455 (PNG 3rd edition, 11.3.2.5)
_SAME_GAMMA = 0.05  # of gamma times 2.2 from 1: libpng's threshold for a correction that shows
_GAMMAS = (0.00016, 6250.0)  # others are errors, by libpng
# White point, red, green and blue of sRGB as x, y (PNG 3rd edition, 11.3.2.5), and libpng's tolerance.
_USUAL_PRIMARIES = (0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06)
_SAME_PRIMARY = 0.001
# Cone responses of the Bradford chromatic adaptation (ICC.1:2022, annex E).
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_ROWS = 256  # converted at a time


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the values of a picture stand for light.

    Parameters
    ----------
    gamma : float
        A value is light to this power.
    primaries : tuple of 8 floats, or None
        x and y of white, red, green and blue; None where they are those of sRGB.
    """

    gamma: float
    primaries: tuple[float, ...] | None = None


def encoding_of(image: Image.Image) -> Encoding | None:
    """Return what gAMA and cHRM of an opened PNG say; None where its values are to be taken as sRGB.

    A profile (iCCP) or an sRGB chunk stands above both, and cHRM counts only beside gAMA (PNG 3rd edition,
    11.3.2: the order of precedence). A gamma near that of sRGB means sRGB itself.
    """
    about = image.info
    gamma = about.get("gamma")
    if image.format != "PNG" or "icc_profile" in about or "srgb" in about or not isinstance(gamma, float):
        return None
    if not _GAMMAS[0] <= gamma <= _GAMMAS[1]:
        return None
    primaries = _primaries(about.get("chromaticity"))
    if abs(gamma / _USUAL_GAMMA - 1.0) <= _SAME_GAMMA:
        return Encoding(_USUAL_GAMMA, primaries) if primaries else None
    return Encoding(gamma, primaries)


def decoded(image: Image.Image, encoding: Encoding) -> Image.Image:
    """Return a picture of mode RGB or RGBA in sRGB; alpha stays."""
    pixels = np.array(image)
    light = np.power(np.arange(256) / 255.0, 1.0 / encoding.gamma)
    if encoding.primaries is None:
        table = _bytes(encode_srgb(light))
        pixels[..., :3] = table[pixels[..., :3]]
        return Image.fromarray(pixels)
    matrix = _to_srgb_light(encoding.primaries)
    for top in range(0, len(pixels), _ROWS):
        rows = pixels[top : top + _ROWS, :, :3]
        channels = [light[rows[..., i]] for i in range(3)]
        mixed = [sum(matrix[i, j] * channels[j] for j in range(3)) for i in range(3)]
        rows[...] = _bytes(encode_srgb(np.clip(np.stack(mixed, axis=-1), 0.0, 1.0)))
    return Image.fromarray(pixels)


def _bytes(values: Floats) -> npt.NDArray[np.uint8]:
    return np.floor(np.clip(values, 0.0, 1.0) * 255.0 + 0.5).astype(np.uint8)


def _primaries(found: object) -> tuple[float, ...] | None:
    """Return chromaticities that are possible and not those of sRGB."""
    if not isinstance(found, tuple) or len(found) != len(_USUAL_PRIMARIES):
        return None
    if all(abs(a - b) <= _SAME_PRIMARY for a, b in zip(found, _USUAL_PRIMARIES, strict=True)):
        return None
    points = np.array(found, dtype=np.float64).reshape(4, 2)
    red, green, blue = points[1:]
    area = (green[0] - red[0]) * (blue[1] - red[1]) - (blue[0] - red[0]) * (green[1] - red[1])
    # The primaries span a triangle, and white lies in it.
    if (points[:, 1] <= 0).any() or (points.sum(axis=1) > 1.0 + 1e-4).any() or abs(area) < 1e-3:
        return None
    shares = np.linalg.solve(np.vstack([points[1:].T, np.ones(3)]), np.append(points[0], 1.0))
    return tuple(float(value) for value in found) if (shares > 0).all() else None


def _to_srgb_light(primaries: tuple[float, ...]) -> Floats:
    """Return the matrix from light in these primaries to light in sRGB's; white becomes white."""
    own, usual = _to_xyz(primaries), _to_xyz(_USUAL_PRIMARIES)
    before, after = _BRADFORD @ own.sum(axis=1), _BRADFORD @ usual.sum(axis=1)
    adapted = np.linalg.inv(_BRADFORD) @ np.diag(after / before) @ _BRADFORD
    matrix: Floats = np.linalg.inv(usual) @ adapted @ own
    return matrix


def _to_xyz(primaries: tuple[float, ...]) -> Floats:
    x, y = np.array(primaries, dtype=np.float64).reshape(4, 2).T
    xyz = np.stack([x / y, np.ones(4), (1.0 - x - y) / y])
    matrix: Floats = xyz[:, 1:] * np.linalg.solve(xyz[:, 1:], xyz[:, 0])
    return matrix
