"""How different two colors look: CIEDE2000, and the contrast ratio of WCAG."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from .spaces import Floats, relative_luminance, srgb_to_lab

__all__ = ["FAR", "SAME_COLOR", "ciede2000", "contrast_ratio", "differences"]

SAME_COLOR = 3.0
"""Two colors closer than this CIEDE2000 are taken for one: about three just noticeable differences."""

FAR = 10.0
"""CIEDE2000 from which a filament is another color at a glance."""

_CHROMA_KNEE = 25.0**7


def ciede2000(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> Floats:
    """Return the color difference dE00 of CIELAB colors.

    Follows G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 Color-Difference Formula: Implementation Notes,
    Supplementary Test Data, and Mathematical Observations", Color Research & Application 30(1), 21-30
    (2005), doi:10.1002/col.20070, with kL = kC = kH = 1.

    Parameters
    ----------
    lab1, lab2 : array_like of shape (..., 3)
        L*, a*, b*; shapes broadcast against each other.

    Returns
    -------
    float64 array of shape (...)
        About 1 is a just noticeable difference; black to white is 100.

    Examples
    --------
    >>> round(float(ciede2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485])), 4)
    2.0425
    """
    first = np.asarray(lab1, dtype=np.float64)
    second = np.asarray(lab2, dtype=np.float64)
    stretch = _a_stretch(first, second)
    chroma1, hue1 = _chroma_hue(first, stretch)
    chroma2, hue2 = _chroma_hue(second, stretch)
    mean_hue, hue_turn = _hues(hue1, hue2, chroma1 * chroma2 == 0.0)
    delta_l = second[..., 0] - first[..., 0]
    delta_c = chroma2 - chroma1
    delta_h = 2.0 * np.sqrt(chroma1 * chroma2) * np.sin(np.radians(hue_turn / 2.0))
    mean_c = (chroma1 + chroma2) / 2.0
    lightness = ((first[..., 0] + second[..., 0]) / 2.0 - 50.0) ** 2
    scale_l = 1.0 + 0.015 * lightness / np.sqrt(20.0 + lightness)
    scale_c = 1.0 + 0.045 * mean_c
    scale_h = 1.0 + 0.015 * mean_c * _hue_weight(mean_hue)
    l_part, c_part, h_part = delta_l / scale_l, delta_c / scale_c, delta_h / scale_h
    turned = _rotation(mean_c, mean_hue) * c_part * h_part
    return np.sqrt(np.maximum(l_part**2 + c_part**2 + h_part**2 + turned, 0.0))


def differences(color: npt.ArrayLike, others: npt.ArrayLike) -> Floats:
    """Return dE00 (n,) of an sRGB color (3,) from each of others (n, 3), all 0 to 255.

    Examples
    --------
    >>> differences((0, 0, 0), [(0, 0, 0), (255, 255, 255)]).round(1).tolist()
    [0.0, 100.0]
    """
    own, labs = (srgb_to_lab(np.asarray(item, dtype=np.float64).reshape(-1, 3)) for item in (color, others))
    return ciede2000(own, labs)


def contrast_ratio(rgb1: npt.NDArray[Any], rgb2: npt.NDArray[Any]) -> Floats:
    """Return the contrast ratio, 1 to 21, of sRGB colors (..., 3) after WCAG 2.2.

    Examples
    --------
    >>> float(contrast_ratio(np.zeros(3, np.uint8), np.full(3, 255, np.uint8)))
    21.0
    """
    one, other = relative_luminance(rgb1), relative_luminance(rgb2)
    return (np.maximum(one, other) + 0.05) / (np.minimum(one, other) + 0.05)


def _a_stretch(first: Floats, second: Floats) -> Floats:
    mean = (np.hypot(first[..., 1], first[..., 2]) + np.hypot(second[..., 1], second[..., 2])) / 2.0
    power = mean**7
    return 1.5 - 0.5 * np.sqrt(power / (power + _CHROMA_KNEE))


def _chroma_hue(lab: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    stretched = lab[..., 1] * stretch
    hue = np.degrees(np.arctan2(lab[..., 2], stretched)) % 360.0
    return np.hypot(stretched, lab[..., 2]), hue


def _hues(hue1: Floats, hue2: Floats, grey: npt.NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return the mean hue and the signed turn between hues, in degrees, the short way round."""
    gap = hue2 - hue1
    total = hue1 + hue2
    turn = np.where(gap > 180.0, gap - 360.0, np.where(gap < -180.0, gap + 360.0, gap))
    wrapped = np.where(total < 360.0, (total + 360.0) / 2.0, (total - 360.0) / 2.0)
    mean = np.where(np.abs(gap) <= 180.0, total / 2.0, wrapped)
    return np.where(grey, total, mean), np.where(grey, 0.0, turn)


def _hue_weight(mean_hue: Floats) -> Floats:
    weight: Floats = (
        1.0
        - 0.17 * np.cos(np.radians(mean_hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * mean_hue))
        + 0.32 * np.cos(np.radians(3.0 * mean_hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * mean_hue - 63.0))
    )
    return weight


def _rotation(mean_chroma: Floats, mean_hue: Floats) -> Floats:
    power = mean_chroma**7
    strength = 2.0 * np.sqrt(power / (power + _CHROMA_KNEE))
    angle = 60.0 * np.exp(-(((mean_hue - 275.0) / 25.0) ** 2))
    rotation: Floats = -np.sin(np.radians(angle)) * strength
    return rotation
