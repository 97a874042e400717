"""Findings on colors: can neighbors be told apart, by whom, and does a light layer hide what is below it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..colorimetry import ciede2000, contrast_ratio, linear_to_srgb, srgb_to_lab, srgb_to_linear
from ..findings import Finding, Severity, finding
from ..model.arrays import Color
from ..polygons import as_multi, tiles
from .layerstack import Layer
from .showthrough import Measured, hiding_findings

__all__ = ["COLOR_VISION", "color_findings", "difference", "neighbors", "seen_by", "visible"]

Place = tuple[float, float, float]

LOW_DIFFERENCE = 10.0
"""CIEDE2000 below which neighboring colors are taken for one at arm's length (common practice, no source)."""

COLOR_VISION = {
    "without red cones": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "without green cones": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "without blue cones": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
"""Linear light as seen without one kind of cones: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
Physiologically-Based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009, severity 1."""

_KEPT = 256
"""Pairs of colors that are remembered: a batch has the same."""

_NEAR_MM = 0.6
"""Colors are neighbors across a gap of one stroke."""

_ALL = "all"
_LEAST_SHARED_MM = 1.0
"""A shorter common boundary is a spot."""


def seen_by(color: Color, vision: str) -> Color:
    """Return an sRGB color as people with one of `COLOR_VISION` see it.

    Examples
    --------
    >>> seen_by((128, 128, 128), "without red cones")
    (128, 128, 128)
    """
    linear = srgb_to_linear(np.asarray(color, dtype=np.uint8))
    rows = [
        sum(weight * light for weight, light in zip(row, linear, strict=True)) for row in COLOR_VISION[vision]
    ]
    red, green, blue = linear_to_srgb(np.clip(rows, 0.0, 1.0)).tolist()
    return (red, green, blue)


def difference(one: Color, other: Color) -> float:
    """Return the color difference CIEDE2000 of two sRGB colors."""
    labs = [srgb_to_lab(np.asarray(color, dtype=np.uint8)) for color in (one, other)]
    return float(ciede2000(*labs))


def color_findings(
    layers: Sequence[Layer], colors: Mapping[str, Color], layer_mm: float, measured: Measured = ()
) -> tuple[Finding, ...]:
    """Report neighboring colors that are hard to tell apart, and light layers that do not hide a dark one.

    Parameters
    ----------
    layers : sequence of Layer
        From the bed up.
    colors : mapping of part name -> color
    layer_mm : float
        Height of a layer, to say how many would hide.
    measured : sequence of (color, Coefficients)
        Filaments whose hiding was measured.
    """
    return (*_contrast(layers, colors), *hiding_findings(layers, colors, layer_mm, measured))


def visible(layers: Sequence[Layer]) -> dict[str, tuple[shapely.MultiPolygon, float]]:
    """Return of each part what is seen of it from above, and the top of its highest layer."""
    covered: BaseGeometry = shapely.MultiPolygon()
    found: dict[str, tuple[BaseGeometry, float]] = {}
    for layer in reversed(layers):
        for name, shape in layer.shapes.items():
            before, top = found.get(name, (shapely.MultiPolygon(), layer.top_mm))
            found[name] = (shapely.union(before, shapely.difference(shape, covered)), top)
        covered = shapely.union(covered, layer.union)
    return {name: (as_multi(shape), top) for name, (shape, top) in found.items()}


def _contrast(layers: Sequence[Layer], colors: Mapping[str, Color]) -> list[Finding]:
    """Judge pairs of colors; where they lie is looked at only if some pair is hard to tell apart."""
    names = [name for name in colors if any(name in layer.shapes for layer in layers)]
    pairs = [pair for pair in combinations(names, 2) if colors[pair[0]] != colors[pair[1]]]
    doubtful = {pair: who for pair in pairs if (who := _confused(colors[pair[0]], colors[pair[1]]))}
    if not doubtful:
        return []
    seen = visible(layers)
    places = {pair: place for pair in doubtful if (place := neighbors(seen[pair[0]], seen[pair[1]]))}
    found = [_hard_for_all(pair, colors, place) for pair, place in places.items() if doubtful[pair] == _ALL]
    some = [pair for pair in places if doubtful[pair] != _ALL]
    if some:
        which = "; ".join(f"{one} and {other} (people {doubtful[one, other]})" for one, other in some)
        words = f"Some people can hardly tell these neighboring colors apart: {which}."
        found.append(finding("low-contrast", words, places[some[0]], Severity.NOTE))
    return found


@lru_cache(maxsize=_KEPT)
def _confused(one: Color, other: Color) -> str:
    """Return who takes two colors for one: an empty string for nobody."""
    if difference(one, other) < LOW_DIFFERENCE:
        return _ALL
    who = [
        vision
        for vision in COLOR_VISION
        if difference(seen_by(one, vision), seen_by(other, vision)) < LOW_DIFFERENCE
    ]
    return " or ".join(who)


def _hard_for_all(pair: tuple[str, str], colors: Mapping[str, Color], place: Place) -> Finding:
    first, second = (np.asarray(colors[name], dtype=np.uint8) for name in pair)
    words = (
        f"The colors of {pair[0]} and {pair[1]} are hard to tell apart: difference"
        f" {difference(colors[pair[0]], colors[pair[1]]):.1f} (CIEDE2000), contrast ratio"
        f" {float(contrast_ratio(first, second)):.1f}."
    )
    return finding("low-contrast", words, place)


def neighbors(
    one: tuple[shapely.MultiPolygon, float], other: tuple[shapely.MultiPolygon, float]
) -> Place | None:
    """Return a place where two parts, given as `visible` does, are seen beside each other, or None.

    Parts that only touch at a spot are no neighbors.
    """
    (first, low), (second, high) = one, other
    if first.is_empty or second.is_empty or shapely.distance(first, second) > _NEAR_MM:
        return None
    strips: list[BaseGeometry] = []
    for tile in tiles(second, 2 * _NEAR_MM):
        window = tile.core.buffer(2 * _NEAR_MM, join_style="mitre")
        near = shapely.intersection(first, window).buffer(_NEAR_MM, quad_segs=2)
        strips.append(shapely.intersection(near, shapely.intersection(tile.part, tile.core)))
    if sum(strip.area for strip in strips) <= _LEAST_SHARED_MM * _NEAR_MM:
        return None
    spot = max(strips, key=lambda strip: strip.area).representative_point()
    return (round(spot.x, 2), round(spot.y, 2), round(max(low, high), 3))
