"""Strokes, walls and slots that are too narrow for the nozzle."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..polygons import GRID_MM, inscribed, opened, opened_area, polygons_of, recesses, residue, tiles
from ..progress import Progress, Steps
from .layerstack import Layer, Place

__all__ = ["strip_findings_steps", "thin_findings_steps", "thin_share", "thin_strokes"]

THIN_SHARE = 0.005
"""Share of a part's layer that may be thinner than the nozzle before it counts."""

_CORNER = 0.7
"""A disc of radius r leaves up to 0.69 r^2 in a corner of 60 degrees: that is a corner, no stroke."""

_ROUNDING_MM = 0.005
"""Strokes count as wide enough within this: grid and chords of arcs."""

_REACH = 2.5
"""Radii by which tiles overlap: the discs of a closing or an opening reach two."""

_PLAIN_MM = 3 * GRID_MM
"""Outlines are simplified by so much before strips are sought: offsets of close vertices take long."""

_STRIP = 0.7
"""A strip is along its length nearly as wide as at its widest: a tip or a corner is half as wide, or less."""

_LONG = 5
"""Strips count from this many nozzles of length."""

_HAIR_MM = 0.02
"""What is narrower than this on average is rounding, no strip."""

_TALL = 2
"""A wall stands higher than this many times its least width; what is lower holds."""

_KEPT = 64


def thin_strokes(shape: BaseGeometry, width_mm: float) -> list[shapely.Polygon]:
    """Return what a disc of this width cannot reach inside a shape, corners left out; none if too little.

    Examples
    --------
    >>> flag = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.9, 9, 2.1))
    >>> [round(piece.area, 1) for piece in thin_strokes(flag, 0.4)]
    [1.0]
    """
    return list(_thin_strokes(shape, width_mm))


@lru_cache(maxsize=_KEPT)
def _thin_strokes(shape: BaseGeometry, width_mm: float) -> tuple[shapely.Polygon, ...]:
    radius = width_mm / 2 - _ROUNDING_MM
    plain = shapely.simplify(shape, GRID_MM)  # offsets of vertices a few um apart take very long
    if opened_area(plain, radius) >= (1 - THIN_SHARE) * plain.area:  # an overlay costs more than this
        return ()
    return tuple(piece for piece in residue(plain, radius) if piece.area > _CORNER * radius**2)


def thin_share(shape: BaseGeometry, width_mm: float) -> float:
    """Return the share of a shape's area that an opening by a disc of this width loses, corners included."""
    kept = shapely.intersection(opened(shape, width_mm / 2 - _ROUNDING_MM), shape)
    return float(1.0 - kept.area / shape.area)


def thin_findings_steps(layers: Sequence[Layer], nozzle_mm: float) -> Steps[list[Finding]]:
    """Find for each part its layer with the largest share of strokes thinner than the nozzle.

    On a slope the layers recede, and what is narrow in one lies broad on the one below: no stroke, and where
    the nozzle cannot lay it the slope is a layer lower. Strokes that are thin from their foot up are found
    there.
    """
    worst: dict[str, tuple[float, Place, int]] = {}
    for layer in layers:
        yield Progress(f"measuring strokes of layer {layer.first}", 0.9)
        for name, shape in layer.shapes.items():
            if name in layer.sloping:
                continue
            pieces = thin_strokes(shape, nozzle_mm)
            share = sum(piece.area for piece in pieces) / shape.area
            if share > THIN_SHARE and share > worst.get(name, (0.0,))[0]:
                largest = max(pieces, key=lambda piece: (piece.area, piece.bounds))
                worst[name] = (share, layer.place_in(largest), layer.first)
    return [
        finding(
            "thin-strokes",
            f"{share:.1%} of {name} in layer {number} is thinner than the nozzle of {nozzle_mm:g} mm.",
            place,
        )
        for name, (share, place, number) in worst.items()
    ]


def strip_findings_steps(layers: Sequence[Layer], nozzle_mm: float) -> Steps[list[Finding]]:
    """Find slots narrower than the nozzle, and walls narrower than two of its lines that stand high.

    A slot goes through two layers at least: a groove in one of them is a dent. A wall stays narrow over more
    than twice its least width of height: strokes of a motif are lower.
    """
    slots: list[tuple[shapely.Polygon, Layer]] = []
    walls: list[tuple[shapely.Polygon, Layer, float]] = []
    gaps: list[shapely.Polygon] = []
    lean: list[tuple[shapely.Polygon, float]] = []
    for layer in layers:
        fills = yield from _pieces_steps(layer.union, nozzle_mm, recesses)
        below, gaps = gaps, list(_strips(fills, nozzle_mm))
        slots += ((gap, layer) for gap in gaps if layer.count > 1 or _covered(gap, below))
        narrow = yield from _pieces_steps(layer.union, 2 * nozzle_mm, residue)
        height = layer.top_mm - layer.bottom_mm
        lean = [(piece, _stands(piece, lean) + height) for piece in _strips(narrow, nozzle_mm)]
        walls += ((piece, layer, high) for piece, high in lean if high > 2 * _TALL * nozzle_mm)
    return [*_worst_slot(slots), *_worst_wall(walls)]


def _stands(piece: shapely.Polygon, below: Sequence[tuple[shapely.Polygon, float]]) -> float:
    """Return how high the narrow pieces are on which a piece stands; 0 on something broad."""
    return max((high for low, high in below if _covered(piece, [low])), default=0.0)


def _worst_slot(slots: Sequence[tuple[shapely.Polygon, Layer]]) -> list[Finding]:
    if not slots:
        return []
    gap, layer = max(slots, key=lambda item: (item[0].length, item[0].bounds))
    words = (
        f"A slot {_width(gap):.2f} mm wide and {gap.length / 2:.1f} mm long is narrower than the nozzle lays."
    )
    return [finding("slot-narrow", words, layer.place_in(gap))]


def _worst_wall(walls: Sequence[tuple[shapely.Polygon, Layer, float]]) -> list[Finding]:
    if not walls:
        return []
    wall, layer, high = max(walls, key=lambda item: (item[2], item[0].length, item[0].bounds))
    words = f"A wall {_width(wall):.2f} mm wide stands {high:.1f} mm high; it may break or wave."
    return [finding("wall-thin", words, layer.place_in(wall))]


def _strips(pieces: Sequence[shapely.Polygon], nozzle_mm: float) -> Iterator[shapely.Polygon]:
    """Yield the pieces that are long and of one width."""
    every = np.array(pieces, dtype=object)
    length, area = shapely.length(every) / 2, shapely.area(every)
    for at in np.flatnonzero((length >= _LONG * nozzle_mm) & (area >= _HAIR_MM * length)).tolist():
        if area[at] >= _STRIP * length[at] * _width(pieces[at]):
            yield pieces[at]


def _width(piece: shapely.Polygon) -> float:
    return 2 * inscribed(piece).radius


def _covered(piece: shapely.Polygon, others: Sequence[shapely.Polygon]) -> bool:
    """Tell whether most of a piece lies on others."""
    shared = sum(shapely.area(shapely.intersection(piece, other)) for other in others)
    return bool(shared >= 0.5 * piece.area)


def _pieces_steps(
    shape: BaseGeometry, width_mm: float, work: Callable[[BaseGeometry, float], list[shapely.Polygon]]
) -> Steps[list[shapely.Polygon]]:
    """Do work for a width on a shape, tile by tile."""
    radius = width_mm / 2 - _ROUNDING_MM
    found: list[shapely.Polygon] = []
    for tile in tiles(shapely.simplify(shape, _PLAIN_MM), _REACH * radius):
        yield Progress("measuring walls and slots", 0.9)
        found += polygons_of(tile.own(shapely.MultiPolygon(work(tile.part, radius))))
    return found
