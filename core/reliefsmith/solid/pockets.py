"""Pockets in the base: its slabs are split at whole layers, and what lies in a pocket is left out.

A pocket lies inside its base with a wall round it, so its ring crosses no other ring of the slabs it is cut
from: the solid stays closed by construction, and its volume is less by area times depth of each pocket.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import GeometryError
from ..mesh import moved_apart, section_difference
from ..model import Pocket, Slab
from ..polygons import as_multi, merged, polygons_of
from .layergrid import LayerGrid
from .levels import Levels

__all__ = ["pocketed"]

_ROUNDING_MM = 1e-6
"""Heights closer than this are the same: below the nanometres of the layer grid."""

_NO_AREA_MM2 = 1e-6

_WORDS = {
    "countersink": "a screw's head",
    "magnet": "a magnet",
    "pin": "a brooch pin",
    "tape": "adhesive tape",
    "lettering": "sunk lettering",
}

_WAY_OUT = {
    "front": "set base.rim_mm to 0 or move the pocket with hang.at_mm",
    "back": "raise heights.base_mm or lower heights.motif_mm",
}


@dataclass(frozen=True, slots=True)
class _Cut:
    """A pocket between two heights, without the hole that it surrounds; the eyes of letters stay."""

    pocket: Pocket
    low: float
    high: float

    @property
    def filled(self) -> shapely.Polygon | shapely.MultiPolygon:
        polygon = self.pocket.polygon  # all letters of a text are a MultiPolygon
        return shapely.Polygon(polygon.exterior) if isinstance(polygon, shapely.Polygon) else polygon


def pocketed(levels: Levels, pockets: Sequence[Pocket], grid: LayerGrid, face: str) -> Levels:
    """Return levels whose base has the pockets of the plan.

    Parameters
    ----------
    levels : Levels
        As printed, not yet mirrored.
    pockets : sequence of Pocket
        Depths that are no whole layers from the bed go on to the next one.
    grid : LayerGrid
    face : str
        "up" or "down": which side lies on the bed.

    Raises
    ------
    GeometryError
        If there are two plates, or no layer of the base stays beyond a pocket, or something else of the piece
        reaches into it.
    """
    if not pockets:
        return levels
    if levels.back:
        raise GeometryError(
            "magnets, pins, countersunk screws and sunk lettering need a base in one piece; set heights.split"
            " to none, or choose another hang.hardware or no lettering"
        )
    cuts = [
        _cut(pocket, levels, grid, from_bed=(pocket.side == "back") == (face == "up")) for pocket in pockets
    ]
    for cut in cuts:
        _check_apart(cut, levels.slabs)
    slabs = [part for slab in levels.slabs for part in _parted(slab, cuts)]
    return replace(levels, slabs=tuple(slabs))


def _cut(pocket: Pocket, levels: Levels, grid: LayerGrid, *, from_bed: bool) -> _Cut:
    """Return between which heights a pocket lies."""
    tops = [grid.top_mm(layer) for layer in range(levels.layers + 1)]
    own = [slab for slab in levels.slabs if slab.part == "base" and _meets(slab.polygon, pocket.polygon)]
    if not own:
        raise GeometryError(
            f"a pocket for {_WORDS[pocket.kind]} lies beside the base; move it with hang.at_mm"
        )
    low, high = min(slab.bottom_mm for slab in own), max(_top(slab) for slab in own)
    if from_bed:
        end = min((top for top in tops if top >= low + pocket.depth_mm - _ROUNDING_MM), default=high)
        cut, left = _Cut(pocket, low, end), high - end
    else:
        end = max((top for top in tops if top <= high - pocket.depth_mm + _ROUNDING_MM), default=low)
        cut, left = _Cut(pocket, end, high), end - low
    if left < _ROUNDING_MM:
        raise GeometryError(
            f"the base is too low for a pocket of {pocket.depth_mm:g} mm for {_WORDS[pocket.kind]}; raise"
            f" heights.base_mm by {grid.layers_mm(2) - left:g} mm"
        )
    return cut


def _check_apart(cut: _Cut, slabs: Sequence[Slab]) -> None:
    """Refuse what reaches into a pocket, or crosses its edge at its ends."""
    for slab in slabs:
        touches = slab.bottom_mm <= cut.high + _ROUNDING_MM and _top(slab) >= cut.low - _ROUNDING_MM
        if not touches or not _meets(slab.polygon, cut.pocket.polygon):
            continue
        whole = shapely.difference(cut.pocket.polygon, slab.polygon).area <= _NO_AREA_MM2
        outside = slab.bottom_mm >= cut.high - _ROUNDING_MM or _top(slab) <= cut.low + _ROUNDING_MM
        if slab.part == "base" and whole:
            continue
        if slab.part != "base" and outside:
            continue
        raise GeometryError(
            f"{slab.part if slab.part != 'base' else 'a motif or rim'} reaches into the pocket for"
            f" {_WORDS[cut.pocket.kind]}; {_WAY_OUT[cut.pocket.side]}"
        )


def _parted(slab: Slab, cuts: Sequence[_Cut]) -> list[Slab]:
    """Return a slab of the base split at the ends of the pockets in it; any other slab as it is."""
    top = _top(slab)
    met = [cut for cut in cuts if cut.low < top and cut.high > slab.bottom_mm]
    if slab.part != "base" or not met:
        return [slab]
    ends = {slab.bottom_mm, top, *(end for cut in met for end in (cut.low, cut.high))}
    inner = sorted(end for end in ends if slab.bottom_mm <= end <= top)
    parts = []
    for low, high in pairwise(inner):
        taken = [cut.filled for cut in met if cut.low <= low and cut.high >= high]
        shape = slab.polygon if not taken else _single(_without(slab.polygon, merged(taken)))
        parts.append(replace(slab, polygon=shape, bottom_mm=low, top=high))
    return parts


def _without(
    base: shapely.Polygon | shapely.MultiPolygon, taken: shapely.MultiPolygon
) -> shapely.MultiPolygon:
    """Return a base without pockets; where one touches itself, as mended letters may, it is parted there."""

    def left(whole: BaseGeometry, shapes: Sequence[shapely.MultiPolygon]) -> list[shapely.MultiPolygon]:
        return [*shapes, section_difference(whole, shapes[0])]

    base, (apart,) = moved_apart(base, [as_multi(taken)], sections=left)
    return section_difference(base, apart)


def _meets(one: BaseGeometry, other: BaseGeometry) -> bool:
    return bool(shapely.intersection(one, other).area > _NO_AREA_MM2)


def _single(shape: shapely.MultiPolygon) -> shapely.Polygon | shapely.MultiPolygon:
    pieces = polygons_of(shape)
    return pieces[0] if len(pieces) == 1 else shape


def _top(slab: Slab) -> float:
    return slab.top if isinstance(slab.top, float) else slab.bottom_mm
