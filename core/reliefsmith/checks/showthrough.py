"""Findings on hiding: light parts that lie so thin on darker ones that these show through."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
import shapely

from ..colorimetry import relative_luminance
from ..colorimetry.hiding import HIDES, Coefficients, coefficients_of, hiding_layers, shown_share
from ..findings import Finding, Severity, finding
from ..model.arrays import Color
from .layerstack import Layer

__all__ = ["Measured", "covers", "hiding_findings"]

WEAK = 0.90
"""Below this ratio what lies below is plain to see (common practice, no source)."""

_KEPT = 64
"""Shared areas that are remembered: texts on one artwork leave most of its parts as they are."""

MOST = 0.9
"""A layer adds to what a part hides if it covers this share of it: a slope is judged by its edge."""

Measured = Sequence[tuple[Color, Coefficients]]
Place = tuple[float, float, float]


def hiding_findings(
    layers: Sequence[Layer], colors: Mapping[str, Color], layer_mm: float, measured: Measured = ()
) -> list[Finding]:
    """Report light parts that lie so thin on a darker one that it shows through; one finding for all.

    Parameters
    ----------
    layers : sequence of Layer
        From the bed up.
    colors : mapping of part name -> color
    layer_mm : float
        Height of a layer, to say how many would hide.
    measured : sequence of (color, Coefficients)
        Filaments whose values were measured; the others' are assumed.
    """
    weak: list[tuple[float, str, Place]] = []
    assumed = False
    for name, thickness, below, place in covers(layers):
        filament = coefficients_of(colors[name], measured)
        ratio = shown_share(filament, thickness, colors[below])
        if _luminance(colors[name]) <= _luminance(colors[below]) or ratio >= HIDES:
            continue
        assumed = assumed or filament.assumed
        needed = hiding_layers(filament, layer_mm, colors[below])
        hides = f"; {needed} layers would hide it" if needed else ""
        weak.append((ratio, f"{name} shows {below} through ({ratio:.2f}{hides})", place))
    if not weak:
        return []
    weak.sort()
    basis = "assumed" if assumed else "measured"
    words = (
        f"By {basis} filament values, {', '.join(text for _, text, _ in weak)}."
        f" A ratio of {HIDES:g} hides{'; print a test first' if assumed else ''}."
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
            above = [item for item in layers[number:] if _reaches(item.shapes.get(name), shape)]
            below = layers[number - 1].shapes
            held = {key: _shared_area(shape, value) for key, value in below.items()}
            most = max(held, key=lambda key: held[key], default=None)
            if most is not None and held[most] > 0:
                spot, top = shape.representative_point(), above[-1].top_mm
                place = (round(spot.x, 2), round(spot.y, 2), round(top, 3))
                found.append((name, top - layer.bottom_mm, most, place))
    return found


def _reaches(upper: shapely.MultiPolygon | None, shape: shapely.MultiPolygon) -> bool:
    """Tell whether a part still has nearly its whole area in a higher layer; a sloped top has less."""
    return upper is shape or (upper is not None and upper.area >= MOST * shape.area)


@lru_cache(maxsize=_KEPT)
def _shared_area(shape: shapely.MultiPolygon, below: shapely.MultiPolygon) -> float:
    shapely.prepare(below)
    return float(shape.area if shapely.covers(below, shape) else shapely.intersection(shape, below).area)


def _luminance(color: Color) -> float:
    return float(relative_luminance(np.asarray(color, dtype=np.uint8)))
