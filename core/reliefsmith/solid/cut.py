"""A stack cut off at a height, to look inside the piece."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from ..errors import GeometryError
from ..mesh import cut, plain_heights
from ..model import Contours, Field, Part, Sculpted, Slab, Stack
from ..polygons import GRID_MM, as_multi, snapped
from .build import build, built

__all__ = ["cut_below", "parts_below"]


def parts_below(stack: Stack, height_mm: float, *, finished: bool = False) -> tuple[Part, ...]:
    """Return the parts cut off flat at a height, closed, as printed or as the finished piece, front up.

    Raises
    ------
    GeometryError
        If nothing lies below it.
    """
    return build(cut_below(replace(stack, slabs=stack.seen if finished else stack.slabs), height_mm))


def cut_below(stack: Stack, height_mm: float) -> Stack:
    """Return what of a stack lies below a height: whole slabs, slabs cut flat, nothing above.

    A sloped top is cut where its solid is, to a grid step; of one that follows a field the points above are
    lowered.

    Raises
    ------
    GeometryError
        If nothing lies below it.
    """
    kept = [_lowered(slab, height_mm) for slab in stack.slabs if slab.bottom_mm < height_mm]
    if not kept:
        raise GeometryError(f"nothing of the piece lies below {height_mm:g} mm; cut it higher")
    return replace(stack, slabs=tuple(kept))


def _lowered(slab: Slab, height_mm: float) -> Slab:
    if slab.highest_mm <= height_mm:
        return slab
    if slab.upright_mm >= height_mm:
        return replace(slab, top=height_mm)
    if isinstance(slab.top, Field):
        return replace(slab, top=replace(slab.top, values=np.minimum(slab.top.values, height_mm)))
    if isinstance(slab.top, Sculpted):
        return replace(slab, top=_cut_sculpted(slab.top, slab.rim_mm, height_mm))
    assert isinstance(slab.top, Contours)
    return replace(slab, top=_cut_contours(slab, slab.top, height_mm))


def _cut_sculpted(top: Sculpted, rim_mm: float, height_mm: float) -> Sculpted:
    """Return a sculpted top that ends at a height; where its rim is cut, the relief counts from there."""
    if rim_mm <= height_mm:
        return replace(top, highest_mm=height_mm)
    hand = top.hand
    heights = top.raised(hand.places, plain_heights(top.plain)(hand.places)).reshape(hand.values.shape)
    values = np.minimum(heights - height_mm, 0.0).astype(np.float32)
    return replace(top, plain=height_mm, hand=replace(hand, values=values), highest_mm=height_mm)


def _cut_contours(slab: Slab, top: Contours, height_mm: float) -> Contours:
    """Return contours up to a height, the last one where the solid has that height."""
    count = sum(level < height_mm for level in top.levels_mm)
    mesh = built([slab])
    section = shapely.set_precision(cut(mesh.vertices, mesh.triangles, height_mm), GRID_MM)
    last = as_multi(shapely.transform(section, snapped))
    shapes, levels = top.shapes[:count], top.levels_mm[:count]
    if last.is_empty or not shapely.contains_properly(shapes[-1], last):
        last = top.shapes[count]  # the height is that of a contour, but for a grid step
    return Contours((*shapes, last), (*levels, height_mm))
