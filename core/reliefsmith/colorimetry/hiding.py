"""Hiding: how much of what lies below shows through a layer of filament, after Kubelka and Munk.

P. Kubelka, "New contributions to the optics of intensely light-scattering materials. Part I", J. Opt. Soc.
Am. 38(5), 448-457 (1948): a layer of thickness X with scattering S and absorption K over a backing of
reflectance Rg reflects R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), with a = 1 + K/S and
b = sqrt(a^2 - 1). It holds for diffuse light without surface reflection, one wavelength at a time; here for
red, green and blue.

S and K of filaments are not published. Those of the shipped table are ASSUMPTIONS; two readings of a printed
test piece replace them by measured ones (`measured`).
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from ..model.arrays import Color
from ..recipe.tables import Spool
from .difference import ciede2000
from .spaces import srgb_to_lab, srgb_to_linear
from .words import parse_hex

__all__ = [
    "HIDES",
    "Coefficients",
    "Light",
    "coefficients_of",
    "hiding_layers",
    "measured",
    "measured_stock",
    "over",
    "reflectance",
    "shown_share",
    "thick",
]

HIDES = 0.98
"""A layer hides from this ratio on: the contrast ratio of 98 % to which ISO 6504-1 measures hiding, of white
and light paints only (Y of 70 and more). For darker colors and for filaments: common practice, no source."""

SAME_FILAMENT = 10.0
"""A measured filament stands for a part's color up to this difference (CIEDE2000), as matching does."""

_MOST_LAYERS = 40
_NO_ABSORPTION = 1e-9
_LUMINANCE = (0.2126, 0.7152, 0.0722)
_DARKEST, _LIGHTEST = 0.02, 0.98  # linear reflectances that a reading can be told from black and from 1
_LEAST_SPAN = 0.05  # between thick piece and backing, below which a channel tells nothing of scattering
_LEAST_SHARE = 0.02  # of that span, at both ends: what a reading of 8 bits resolves

Light = npt.NDArray[np.float64]
Three = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Scattering and absorption per mm for red, green and blue light."""

    name: str
    scattering: Three
    absorption: Three
    assumed: bool


def reflectance(
    absorption: npt.ArrayLike, scattering: npt.ArrayLike, thickness_mm: npt.ArrayLike, backing: npt.ArrayLike
) -> Light:
    """Return the reflectance, 0 to 1, of a layer over a backing.

    Examples
    --------
    >>> round(float(reflectance(0.05, 5.0, 0.4, 0.0)), 9)
    0.65645713
    """
    k, s = np.asarray(absorption, dtype=np.float64), np.asarray(scattering, dtype=np.float64)
    ground = np.asarray(backing, dtype=np.float64)
    a = 1 + np.maximum(k / s, _NO_ABSORPTION)
    b = np.sqrt(a * a - 1)
    c = b / np.tanh(b * s * np.asarray(thickness_mm, dtype=np.float64))
    result: Light = (1 - ground * (a - c)) / (a - ground + c)
    return result


def thick(absorption: npt.ArrayLike, scattering: npt.ArrayLike) -> Light:
    """Return the reflectance of a layer so thick that nothing shows through.

    Examples
    --------
    >>> round(float(thick(0.5, 1.0)), 9)
    0.381966011
    """
    ratio = np.asarray(absorption, dtype=np.float64) / np.asarray(scattering, dtype=np.float64)
    result: Light = 1 + ratio - np.sqrt(ratio * ratio + 2 * ratio)
    return result


def measured(
    name: str, own: npt.ArrayLike, over: npt.ArrayLike, thickness_mm: float, backing: npt.ArrayLike
) -> Coefficients | None:
    """Return the coefficients that two readings of a filament give, or None if they tell nothing.

    Parameters
    ----------
    name : str
    own : array of 3
        Linear reflectance of a piece so thick that nothing shows through.
    over : array of 3
        Linear reflectance of a layer of `thickness_mm` on the backing.
    backing : array of 3
        Linear reflectance of the backing alone.

    Notes
    -----
    The first reading gives K/S = (1 - R)^2 / (2 R). With it the equation of `reflectance`, solved for the
    thickness, gives S from the second: coth bSX = (1 - a (R + Rg) + R Rg) / (b (R - Rg)). A channel in which
    thick piece and backing are alike tells nothing; it takes the mean of the others' scattering.

    Examples
    --------
    >>> k, s = [1, 2, 3], [5, 5, 5]
    >>> found = measured("x", thick(k, s), reflectance(k, s, 0.2, 0), 0.2, [0, 0, 0])
    >>> [round(value, 6) for value in found.scattering + found.absorption]
    [5.0, 5.0, 5.0, 1.0, 2.0, 3.0]
    """
    whole = np.clip(np.asarray(own, dtype=np.float64), _DARKEST, _LIGHTEST)
    ground = np.asarray(backing, dtype=np.float64)
    span = whole - ground
    told = np.abs(span) >= _LEAST_SPAN
    if not told.any():
        return None
    share = (np.asarray(over, dtype=np.float64) - ground) / np.where(told, span, 1.0)
    reading = ground + np.clip(share, _LEAST_SHARE, 1 - _LEAST_SHARE) * span
    ratio = (1 - whole) ** 2 / (2 * whole)
    a = 1 + np.maximum(ratio, _NO_ABSORPTION)
    b = np.sqrt(a * a - 1)
    gap = np.where(told, reading - ground, 1.0)
    c = (1 - a * (reading + ground) + reading * ground) / gap
    scattering = np.where(told, np.arctanh(np.clip(b / np.where(told, c, 1.0), 0, 1 - 1e-15)), 0.0)
    scattering = scattering / (b * thickness_mm)
    scattering = np.where(told, scattering, scattering[told].mean())
    return Coefficients(name, _three(scattering), _three(ratio * scattering), assumed=False)


def measured_stock(stock: Sequence[Spool]) -> tuple[tuple[Color, Coefficients], ...]:
    """Return color and coefficients of each filament in stock that a thin layer was read of.

    A reading over a backing as light as the filament itself tells nothing and is left out.
    """
    found = []
    for spool in stock:
        if spool.thin_color is None or spool.thin_mm is None or spool.thin_over is None:
            continue
        own = parse_hex(spool.color)
        light = [
            srgb_to_linear(np.array(item, dtype=np.uint8))
            for item in (own, parse_hex(spool.thin_color), parse_hex(spool.thin_over))
        ]
        values = measured(spool.name, light[0], light[1], spool.thin_mm, light[2])
        if values is not None:
            found.append((own, values))
    return tuple(found)


def shown_share(filament: Coefficients, thickness_mm: float, backing: Color) -> float:
    """Return the luminance over a backing against that of the filament alone, as a ratio 0 to 1; 1 hides."""
    own = thick(filament.absorption, filament.scattering)
    over = reflectance(
        filament.absorption, filament.scattering, thickness_mm, srgb_to_linear(np.asarray(backing, np.uint8))
    )
    light = [sum(w * v for w, v in zip(_LUMINANCE, values.tolist(), strict=True)) for values in (own, over)]
    return float(min(light) / max(light))


def over(filament: Coefficients, own: Light, thickness_mm: npt.ArrayLike, backing: npt.ArrayLike) -> Light:
    """Return the light, linear 0 to 1, of a layer in a filament whose thick color is `own`, over a backing.

    The coefficients may be those of a filament near to it: they say in which share the backing changes it.
    """
    k, s = filament.absorption, filament.scattering
    return np.clip(own * reflectance(k, s, thickness_mm, backing) / thick(k, s), 0.0, 1.0)


def hiding_layers(filament: Coefficients, layer_mm: float, backing: Color) -> int | None:
    """Return the least number of layers that hides a backing, or None if more than 39 would be needed."""
    counts = range(1, _MOST_LAYERS)
    return next((n for n in counts if shown_share(filament, n * layer_mm, backing) >= HIDES), None)


def coefficients_of(color: Color, stock: Sequence[tuple[Color, Coefficients]] = ()) -> Coefficients:
    """Return the coefficients for a color: of the nearest measured filament, else of the shipped table.

    Parameters
    ----------
    color : (int, int, int)
    stock : sequence of (color, Coefficients)
        Measured filaments; the nearest one counts if it differs by at most `SAME_FILAMENT` (CIEDE2000).
    """
    own = srgb_to_lab(np.asarray(color, dtype=np.uint8))
    if stock:
        labs = srgb_to_lab(np.array([item for item, _ in stock], dtype=np.uint8))
        gaps = ciede2000(labs, own)
        best = int(np.argmin(gaps))
        if gaps[best] <= SAME_FILAMENT:
            return stock[best][1]
    filaments, labs = _table()
    return filaments[int(np.argmin(ciede2000(labs, own)))]


@cache
def _table() -> tuple[tuple[Coefficients, ...], Light]:
    text = resources.files("reliefsmith_data").joinpath("filaments.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["filament"]
    filaments = tuple(
        Coefficients(
            row["name"],
            tuple(row["scattering_per_mm"]),
            tuple(row["absorption_per_mm"]),
            bool(row["assumed"]),
        )
        for row in rows
    )
    labs = srgb_to_lab(np.array([parse_hex(row["color"]) for row in rows], dtype=np.uint8))
    return filaments, labs


def _three(values: Light) -> Three:
    red, green, blue = (float(value) for value in values)
    return red, green, blue
