"""Pockets in the base: its slabs are split at whole layers, and what lies in a pocket is left out.

A pocket lies inside its base with a wall round it, so its ring crosses no other ring of the slabs it is cut
from: the solid stays closed by construction, and its volume is less by area times depth of each pocket. What
is laid into pockets in colors fills them just so: neighbors share their rings with each other and the base.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely

from ..colorimetry.words import color_word
from ..errors import GeometryError
from ..mesh import moved_apart, section_difference
from ..model import ColorChange, Pocket, Slab
from ..model.arrays import Area, Color
from ..polygons import as_multi, as_single, merged, union_of_faces
from .layergrid import SAME_MM, LayerGrid
from .levels import Levels

__all__ = ["pocketed", "without_inlays"]

_NO_AREA_MM2 = 1e-6

_WORDS = {
    "countersink": "a screw's head",
    "magnet": "a magnet",
    "pin": "a brooch pin",
    "tape": "adhesive tape",
    "lettering": "sunk lettering",
    "picture": "the second picture",
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
    def filled(self) -> Area:
        polygon = self.pocket.polygon  # all letters of a text are a MultiPolygon
        return shapely.Polygon(polygon.exterior) if isinstance(polygon, shapely.Polygon) else polygon


def pocketed(levels: Levels, pockets: Sequence[Pocket], grid: LayerGrid, face: str) -> Levels:
    """Return levels whose base has the pockets of the plan, and in them what is laid in.

    Where there are two plates the back one has them.

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
        If the front of two plates is meant, or no layer of the base stays beyond a pocket, or something else
        of the piece reaches into it.
    """
    if not pockets:
        return levels
    if levels.back and any(pocket.side == "front" for pocket in pockets):
        raise GeometryError(
            "countersunk screws and sunk lettering in front need a base in one piece; set heights.split to"
            " none, or choose another hang.hardware or no lettering"
        )
    slabs, from_back = (levels.back, True) if levels.back else (levels.slabs, face == "up")
    tops = [grid.top_mm(layer) for layer in range(levels.layers + 1)]
    cuts = [
        _cut(pocket, slabs, tops, grid, from_bed=(pocket.side == "back") == from_back) for pocket in pockets
    ]
    for cut in cuts:
        _check_apart(cut, slabs)
    parts = [part for slab in slabs for part in _parted(slab, cuts)]
    inlaid = [cut for cut in cuts if cut.pocket.color is not None]
    if inlaid:
        laid = _named([slab for slab in parts if not slab.part], levels)
        parts = [*(slab for slab in parts if slab.part), *laid]
        levels = _with_changes(levels, laid, tops, from_bed=from_back)
    return replace(levels, back=tuple(parts)) if levels.back else replace(levels, slabs=tuple(parts))


def without_inlays(levels: Levels, inlays: Sequence[Pocket], face: str) -> tuple[Levels, tuple[Slab, ...]]:
    """Return levels without what is laid into their back, and that: it is no top of the front.

    Parameters
    ----------
    levels : Levels
        With pockets.
    inlays : sequence of Pocket
    face : str
        Face down nothing is taken: there the front has no shaped tops.
    """
    if not inlays or face == "down":
        return levels, ()
    depth = max(item.depth_mm for item in inlays) - SAME_MM
    is_laid = [slab.role != "base" and slab.bottom_mm < depth for slab in levels.slabs]
    own, laid = (
        tuple(slab for slab, there in zip(levels.slabs, is_laid, strict=True) if there is wanted)
        for wanted in (False, True)
    )
    return replace(levels, slabs=own), laid


def _cut(
    pocket: Pocket, slabs: Sequence[Slab], tops: Sequence[float], grid: LayerGrid, *, from_bed: bool
) -> _Cut:
    """Return between which heights a pocket lies."""
    own = [slab for slab in slabs if slab.role == "base" and _meets(slab.polygon, pocket.polygon)]
    if not own:
        raise GeometryError(
            f"a pocket for {_WORDS[pocket.kind]} lies beside the base; move it with hang.at_mm"
        )
    low, high = min(slab.bottom_mm for slab in own), max(_top(slab) for slab in own)
    if from_bed:
        end = min((top for top in tops if top >= low + pocket.depth_mm - SAME_MM), default=high)
        cut, left = _Cut(pocket, low, end), high - end
    else:
        end = max((top for top in tops if top <= high - pocket.depth_mm + SAME_MM), default=low)
        cut, left = _Cut(pocket, end, high), end - low
    if left < SAME_MM:
        raise GeometryError(
            f"the base is too low for a pocket of {pocket.depth_mm:g} mm for {_WORDS[pocket.kind]}; raise"
            f" heights.base_mm by {grid.layers_mm(2) - left:g} mm"
        )
    return cut


def _check_apart(cut: _Cut, slabs: Sequence[Slab]) -> None:
    """Refuse what reaches into a pocket, or crosses its edge at its ends."""
    for slab in slabs:
        touches = slab.bottom_mm <= cut.high + SAME_MM and _top(slab) >= cut.low - SAME_MM
        outside = slab.bottom_mm >= cut.high - SAME_MM or _top(slab) <= cut.low + SAME_MM
        if cut.pocket.color is not None and slab.role != "base" and not outside:
            raise GeometryError(
                f"{slab.part} of the front reaches into the layers of {_WORDS[cut.pocket.kind]}; raise"
                " heights.base_mm, or lower heights.motif_mm or its depth_mm"
            )
        if not touches or not _meets(slab.polygon, cut.pocket.polygon):
            continue
        whole = shapely.difference(cut.pocket.polygon, slab.polygon).area <= _NO_AREA_MM2
        if slab.role == "base" and whole:
            continue
        if slab.role != "base" and outside:
            continue
        raise GeometryError(
            f"{slab.part if slab.role != 'base' else 'a motif, a rim or a peg'} reaches into the pocket for"
            f" {_WORDS[cut.pocket.kind]}; {_WAY_OUT[cut.pocket.side]}"
        )


def _parted(slab: Slab, cuts: Sequence[_Cut]) -> list[Slab]:
    """Return a slab of the base split at the ends of the pockets in it; any other slab as it is.

    After each part of it comes what is laid into the pockets there, as slabs without a name.
    """
    top = _top(slab)
    met = [cut for cut in cuts if cut.low < top and cut.high > slab.bottom_mm]
    if slab.role != "base" or not met:
        return [slab]
    ends = {slab.bottom_mm, top, *(end for cut in met for end in (cut.low, cut.high))}
    inner = sorted(end for end in ends if slab.bottom_mm <= end <= top)
    parts = []
    for low, high in pairwise(inner):
        here = [cut for cut in met if cut.low <= low and cut.high >= high]
        taken: dict[Color | None, list[shapely.Geometry]] = {}
        for cut in here:
            taken.setdefault(cut.pocket.color, []).append(cut.filled)
        shape: Area = slab.polygon
        laid: Sequence[shapely.MultiPolygon] = ()
        if here:
            rest, laid = _without(slab.polygon, [as_multi(merged(group)) for group in taken.values()])
            shape = as_single(rest)
        parts.append(replace(slab, polygon=shape, bottom_mm=low, top=high))
        parts += [
            Slab("", "motif", color, piece, low, high)
            for color, piece in zip(taken, laid, strict=True)
            if color is not None and not piece.is_empty
        ]
    return parts


def _without(
    base: Area, taken: Sequence[shapely.MultiPolygon]
) -> tuple[shapely.MultiPolygon, Sequence[shapely.MultiPolygon]]:
    """Return a base without pockets, and these, parted where one touches itself, as mended letters may."""

    def left(whole: shapely.Geometry, shapes: Sequence[shapely.MultiPolygon]) -> list[shapely.MultiPolygon]:
        together = shapes[0] if len(shapes) == 1 else union_of_faces(shapes)
        return [*shapes, section_difference(whole, together)]

    base, apart = moved_apart(base, taken, sections=left)
    return left(base, apart)[-1], apart


def _named(laid: Sequence[Slab], levels: Levels) -> list[Slab]:
    """Return slabs with the names of parts: one that the front has in the same color, else a new one."""
    names = {slab.color: slab.part for slab in (*levels.slabs, *levels.back) if slab.role != "base"}
    for slab in laid:
        if slab.color not in names:
            word = color_word(slab.color)
            taken = [name for name in names.values() if name.partition("-")[0] == word]
            names[slab.color] = f"{word}-{len(taken) + 1}" if taken else word
    return [replace(slab, part=names[slab.color]) for slab in laid]


def _with_changes(levels: Levels, laid: Sequence[Slab], tops: Sequence[float], *, from_bed: bool) -> Levels:
    """Return levels that say where colors that are laid in begin, and where the base goes on after them."""
    low, high = min(slab.bottom_mm for slab in laid), max(_top(slab) for slab in laid)
    first, last = (next(n for n, top in enumerate(tops) if top >= z - SAME_MM) for z in (low, high))
    begun = tuple(ColorChange(first + 1, low, color) for color in dict.fromkeys(slab.color for slab in laid))
    base = next(slab.color for slab in levels.slabs if slab.role == "base")
    changes = (*begun, ColorChange(last + 1, high, base), *levels.changes)
    jobs = levels.jobs
    if levels.back:
        jobs = (*jobs[:-1], tuple(dict.fromkeys((*jobs[-1], *(slab.part for slab in laid)))))
    elif jobs:
        raise GeometryError(
            "with one filament loaded the colors of a face that is down are prints of their own, and what"
            " is laid into the back would lie on all of them; set heights.face to up, or printer.filaments"
            " to 2 or more"
        )
    return replace(
        levels, changes=changes if from_bed else (*levels.changes, *begun), by_height=False, jobs=jobs
    )


def _meets(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    return bool(shapely.intersection(one, other).area > _NO_AREA_MM2)


def _top(slab: Slab) -> float:
    return slab.top if isinstance(slab.top, float) else slab.bottom_mm
