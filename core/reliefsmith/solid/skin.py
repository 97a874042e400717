"""A skin for sculpting: the same solids with even, dense tops, and which of their points a brush may move."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely

from ..errors import GeometryError
from ..mesh.modeled import LEAN_MM
from ..model import Field, Part, Sculpted, Slab, Stack
from ..model.arrays import Area, Flags
from ..polygons import lattice, nodes_within, shrink
from ..progress import Progress, Steps, drained
from .build import build_steps
from .handground import ground_of

__all__ = ["free_points", "points_needed", "skin", "skin_steps", "skinned"]

LEAST_STEP_MM, MOST_STEP_MM = 0.1, 0.3

_KEPT = 16
"""Fields of a skin that are remembered, of two pieces and more: another height changes none."""

_ROUNDING_MM = 0.0015  # of the ring that is drawn in: grid steps


def points_needed(stack: Stack, step_mm: float) -> int:
    """Return about how many points a skin has inside its tops."""
    area = sum(float(ground_of(slab, stack.slabs).area) for slab in stack.slabs)
    return round(area / step_mm**2)


def skinned(stack: Stack, step_mm: float) -> Stack:
    """Return a stack whose visible tops all have the points of a lattice; heights and walls stay.

    Parameters
    ----------
    stack : Stack
        Made with hand relief, if only of zeros, and printed face up.
    step_mm : float
        Distance of the points, 0.1 to 0.3 mm, a whole number of grid steps.

    Raises
    ------
    GeometryError
        If it is printed face down, or the step is another one.
    """
    if stack.piece:
        raise GeometryError("a piece that prints face down has no top to sculpt; set heights.face to up")
    if not LEAST_STEP_MM <= step_mm <= MOST_STEP_MM:
        raise GeometryError(
            f"points for sculpting lie {LEAST_STEP_MM:g} to {MOST_STEP_MM:g} mm apart, not {step_mm:g} mm"
        )
    return replace(stack, slabs=tuple(_even(slab, stack, step_mm) for slab in stack.slabs))


def skin_steps(stack: Stack, step_mm: float) -> Steps[tuple[Part, ...]]:
    """Build the solids of `skinned`, part by part."""
    yield Progress("making a skin")
    dense = skinned(stack, step_mm)
    return (yield from build_steps(dense))


skin = drained(skin_steps)


def free_points(part: Part, stack: Stack) -> Flags:
    """Return which vertices of a skin a brush may move: those inside its tops, not of walls and rims."""
    found = np.zeros(len(part.vertices), dtype=bool)
    for slab in stack.slabs:
        if slab.part == part.name:
            inside = _within(ground_of(slab, stack.slabs))
            above = part.vertices[:, 2] > slab.bottom_mm
            found |= above & shapely.contains_xy(inside, *part.vertices[:, :2].T)
    return found


@lru_cache(maxsize=_KEPT)
def _within(ground: shapely.MultiPolygon) -> shapely.Geometry:
    inside = shrink(ground, LEAN_MM + _ROUNDING_MM, "miter")
    shapely.prepare(inside)
    return inside


def _even(slab: Slab, stack: Stack, step_mm: float) -> Slab:
    ground = ground_of(slab, stack.slabs)
    if ground.is_empty:
        return slab
    old = slab.top
    if not isinstance(old, Sculpted):
        level, lowest = _level(slab.polygon, step_mm), min(slab.rim_mm, slab.highest_mm)
        top = Sculpted(slab.plain_top, level, ground, lowest, lowest, slab.highest_mm, even=True)
        return replace(slab, top=top)
    highest, own = max(old.highest_mm, slab.rim_mm), _sampled(slab.polygon, step_mm, old.hand, old.ground)
    return replace(slab, top=replace(old, hand=own, ground=ground, highest_mm=highest, even=True))


def _level(shape: Area, step_mm: float) -> Field:
    """Return a field of zeros round a shape."""
    columns, rows = lattice(shape, step_mm)
    origin = (float(columns[0]) * step_mm, float(rows[0]) * step_mm)
    return Field(np.zeros((len(rows), len(columns)), np.float32), origin, step_mm)


@lru_cache(maxsize=_KEPT)
def _sampled(shape: Area, step_mm: float, hand: Field, ground: shapely.MultiPolygon) -> Field:
    """Return a field round a shape that is as high as hand relief on its ground."""
    level = _level(shape, step_mm)
    near = nodes_within(shapely.buffer(ground, step_mm), *level.lines)
    values = hand.at(level.places).reshape(near.shape)
    return replace(level, values=np.where(near, values, 0.0).astype(np.float32))
