"""Transparency: when it separates background from art, and how half-transparent paint becomes solid."""

from __future__ import annotations

import numpy as np

from ..colorimetry.window import extreme
from ..model.arrays import Bytes, Flags, Rgb
from ..model.artwork import CLEAR
from .dropshadow import SOLID, without_shadow

__all__ = ["solid_alpha"]

_CLEAR_SHARE = 0.001  # of the picture: less transparency than this separates nothing
_VEIL = 102  # opacity (0.4) from which an even half-transparent area is paint, below it is shadow
_VEIL_SHARE = 0.003  # of the art: smaller half-transparent areas are edges and noise


def solid_alpha(rgb: Rgb, alpha: Bytes) -> tuple[Rgb, Bytes, bool]:
    """Make the paint solid and tell whether transparency separates background from art.

    Print has no half-transparent plastic: even half-transparent areas get the color that they have on
    white paper and become solid; their edges keep their coverage. A drop shadow is cleared. A picture
    without clear areas is laid on white paper. Where nothing is denser than a shadow, the even areas are
    the art.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        Straight color.
    alpha : uint8 array of shape (h, w)

    Returns
    -------
    rgb, alpha : arrays
    has_alpha : bool
    """
    clear = int(np.count_nonzero(alpha <= CLEAR))
    if clear < max(4, _CLEAR_SHARE * alpha.size):
        return _on_white(rgb, alpha), np.full_like(alpha, 255), False
    rgb, alpha = without_shadow(rgb, alpha)
    least = _VEIL if (alpha >= _VEIL).any() else CLEAR + 1
    veiled = _even_veil(alpha, least)
    if np.count_nonzero(veiled) < _VEIL_SHARE * (alpha.size - clear):
        return rgb, alpha, True
    veil = np.where(veiled, alpha, extreme(extreme(alpha, np.maximum), np.maximum))
    veil[(veil < least) | (veil >= SOLID)] = 255
    coverage = np.minimum(alpha.astype(np.uint16) * 255 // veil, 255).astype(np.uint8)
    return _on_white(rgb, veil), coverage, True


def _even_veil(alpha: Bytes, least: int) -> Flags:
    even = extreme(alpha, np.maximum) == extreme(alpha, np.minimum)
    veiled: Flags = even & (alpha >= least) & (alpha < SOLID)
    return veiled


def _on_white(rgb: Rgb, alpha: Bytes) -> Rgb:
    if (alpha == 255).all():
        return rgb
    opacity = alpha.astype(np.uint32)[..., None]
    mixed = rgb * opacity + 255 * (255 - opacity)
    return ((mixed + 127) // 255).astype(np.uint8)
