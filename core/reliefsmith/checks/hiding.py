"""Hiding: how much of what lies below shows through a layer of filament, after Kubelka and Munk.

P. Kubelka, "New contributions to the optics of intensely light-scattering materials. Part I", J. Opt. Soc.
Am. 38(5), 448-457 (1948): a layer of thickness X with scattering S and absorption K over a backing of
reflectance Rg reflects R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), with a = 1 + K/S and
b = sqrt(a^2 - 1). It holds for diffuse light without surface reflection, one wavelength at a time; here for
red, green and blue.

S and K of filaments are not published. Those of the shipped table are ASSUMPTIONS until measured.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt
import shapely

from ..chroma import ciede2000, parse_hex, relative_luminance, srgb_to_lab, srgb_to_linear
from ..findings import Finding, Severity, finding
from ..model.arrays import Color
from .layerstack import Layer

__all__ = [
    "Coefficients",
    "coefficients_of",
    "covers",
    "hiding_findings",
    "reflectance",
    "shown_share",
    "thick",
]

HIDES, WEAK = 0.98, 0.90
"""A layer hides at a ratio of 0.98 (the contrast ratio of ISO 6504-1); below 0.90 what is below is plain."""

_MOST_LAYERS = 40
_NO_ABSORPTION = 1e-9
_LUMINANCE = (0.2126, 0.7152, 0.0722)

Light = npt.NDArray[np.float64]
Place = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Scattering and absorption per mm for red, green and blue light."""

    name: str
    scattering: tuple[float, float, float]
    absorption: tuple[float, float, float]
    assumed: bool


def reflectance(
    absorption: npt.ArrayLike, scattering: npt.ArrayLike, thickness_mm: float, backing: npt.ArrayLike
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
    c = b / np.tanh(b * s * thickness_mm)
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


def shown_share(filament: Coefficients, thickness_mm: float, backing: Color) -> float:
    """Return the luminance over a backing against that of the filament alone, as a ratio 0 to 1; 1 hides."""
    own = thick(filament.absorption, filament.scattering)
    over = reflectance(
        filament.absorption, filament.scattering, thickness_mm, srgb_to_linear(np.asarray(backing, np.uint8))
    )
    light = [sum(w * v for w, v in zip(_LUMINANCE, values.tolist(), strict=True)) for values in (own, over)]
    return float(min(light) / max(light))


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


def coefficients_of(color: Color) -> Coefficients:
    """Return the coefficients of the filament of the shipped table that is nearest in color (CIEDE2000)."""
    filaments, labs = _table()
    own = srgb_to_lab(np.asarray(color, dtype=np.uint8))
    return filaments[int(np.argmin(ciede2000(labs, own)))]


def hiding_findings(layers: Sequence[Layer], colors: Mapping[str, Color], layer_mm: float) -> list[Finding]:
    """Report light parts that lie so thin on a darker one that it shows through; one finding for all.

    Parameters
    ----------
    layers : sequence of Layer
        From the bed up.
    colors : mapping of part name -> color
    layer_mm : float
        Height of a layer, to say how many would hide.
    """
    weak: list[tuple[float, str, Place]] = []
    for name, thickness, below, place in covers(layers):
        filament = coefficients_of(colors[name])
        ratio = shown_share(filament, thickness, colors[below])
        if _luminance(colors[name]) <= _luminance(colors[below]) or ratio >= HIDES:
            continue
        needed = _layers(filament, layer_mm, colors[below])
        hides = f"; {needed} layers would hide it" if needed else ""
        weak.append((ratio, f"{name} shows {below} through ({ratio:.2f}{hides})", place))
    if not weak:
        return []
    weak.sort()
    words = (
        f"By assumed filament values, {', '.join(text for _, text, _ in weak)}."
        f" A ratio of {HIDES:g} hides; print a test first."
    )
    least, _, place = weak[0]
    return [finding("low-hiding", words, place, Severity.WARN if least < WEAK else Severity.NOTE)]


def covers(layers: Sequence[Layer]) -> list[tuple[str, float, str, Place]]:
    """Return parts that lie on another one: name, thickness in mm, the part below most of it, a place."""
    found: list[tuple[str, float, str, Place]] = []
    for number, layer in enumerate(layers):
        for name, shape in layer.shapes.items():
            if number == 0 or name in layers[number - 1].shapes:
                continue
            above = [item for item in layers[number:] if name in item.shapes]
            below = layers[number - 1].shapes
            held = {key: shapely.intersection(shape, value).area for key, value in below.items()}
            most = max(held, key=lambda key: held[key], default=None)
            if most is not None and held[most] > 0:
                spot, top = shape.representative_point(), above[-1].top_mm
                place = (round(spot.x, 2), round(spot.y, 2), round(top, 3))
                found.append((name, top - layer.bottom_mm, most, place))
    return found


def _layers(filament: Coefficients, layer_mm: float, backing: Color) -> int | None:
    """Return the least number of layers that hides, or None if too many."""
    counts = range(1, _MOST_LAYERS)
    return next((n for n in counts if shown_share(filament, n * layer_mm, backing) >= HIDES), None)


def _luminance(color: Color) -> float:
    return float(relative_luminance(np.asarray(color, dtype=np.uint8)))
