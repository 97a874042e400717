"""Feet with a slot for a tongue of the base: a section seen from the side, printed lying on that side.

So the slot has just the angle that is asked for, no layer hangs over, and layers do not part under the load.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..errors import GeometryError
from ..findings import Finding, finding
from ..model import Accessory, Plan, Slab, Stack
from ..model.arrays import Color
from ..polygons import as_single, faces_by_shape, snapped, union_of_faces
from ..recipe.sections import HeightSettings, PrinterSettings, StandSettings
from .build import build
from .layergrid import LayerGrid, grid_of

__all__ = ["FIRM_DEG", "Section", "Stance", "built_up", "foot_of", "profile"]

FIRM_DEG = 10.0
"""A piece that is tilted by less than this, forward or back, falls back onto its feet (common practice, no
source)."""

FLOOR_MM, CHEEK_MM = 4.0, 4.0
"""Plastic below the slot, and in front of it and behind it at least."""

_SLOPE = 0.5  # how far the foot draws in to its top, by its height


@dataclass(frozen=True, slots=True)
class Stance:
    """What a foot must hold, seen from the side.

    Parameters
    ----------
    thick_mm : float
        Of the tongue.
    gap_mm : float
        On each side of it.
    slot_mm : float
        How deep it sits.
    lean_deg : float
    center_mm : float
        From the end of the tongue to the centre of mass, along the piece.
    """

    thick_mm: float
    gap_mm: float
    slot_mm: float
    lean_deg: float
    center_mm: float

    @property
    def center(self) -> tuple[float, float]:
        """The centre of mass from the middle of the slot's end, x to the front, y up from the table."""
        lean = math.radians(self.lean_deg)
        return (-self.center_mm * math.sin(lean), FLOOR_MM + self.center_mm * math.cos(lean))

    @property
    def firm_mm(self) -> tuple[float, float]:
        """How far a foot must reach to the back and to the front of the slot's end to stand firmly."""
        (x, y), least = self.center, self.thick_mm / 2 + self.gap_mm + CHEEK_MM
        reach = y * math.tan(math.radians(FIRM_DEG))
        return max(reach - x, least), max(reach + x, least)


def profile(stance: Stance, back_mm: float, front_mm: float) -> shapely.Polygon:
    """Return a foot from the side, x to the front, y up from the table, its slot open above."""
    lean = math.radians(stance.lean_deg)
    along, across = np.array((-math.sin(lean), math.cos(lean))), np.array((math.cos(lean), math.sin(lean)))
    half = stance.thick_mm / 2 + stance.gap_mm
    top = FLOOR_MM + stance.slot_mm * math.cos(lean) - half * math.sin(lean)
    mouth = stance.slot_mm * along
    draw = _SLOPE * top
    left = min(-back_mm + draw, float(mouth[0]) - half / math.cos(lean) - CHEEK_MM)
    right = max(front_mm - draw, float(mouth[0]) + half / math.cos(lean) + CHEEK_MM)
    body = shapely.Polygon([(min(-back_mm, left), 0), (max(front_mm, right), 0), (right, top), (left, top)])
    end = np.array((0.0, FLOOR_MM))
    corners = [end - half * across, end + half * across]
    far = 2 * stance.slot_mm * along
    slot = shapely.Polygon([corners[0], corners[1], corners[1] + far, corners[0] + far])
    return shapely.transform(shapely.difference(body, slot), snapped)


def foot_of(
    plan: Plan, stack: Stack, stand: StandSettings, heights: HeightSettings, printer: PrinterSettings
) -> Accessory:
    """Return the feet of a piece with tongues.

    Raises
    ------
    GeometryError
        If nothing of the piece stands in the slot.
    """
    stance = _stance(plan, stack, stand, printer)
    back, front = stance.firm_mm
    if stand.depth_mm is not None:
        share = stand.depth_mm / (back + front)
        back, front = share * back, share * front
    shape = profile(stance, back, front)
    grid = grid_of(heights, printer.nozzle_mm)
    sections = [Section(shape, grid.nearest(stand.width_mm))]
    words = (
        f"Slide a tongue of the piece into the slot of each foot; the piece leans back by {stand.lean_deg:g}"
        " degrees. A drop of glue in the slot keeps it.",
    )
    found = _tipping(stance, shape)
    return built_up("foot", plan.base_color, sections, grid, words, copies=stand.feet, findings=found)


@dataclass(frozen=True, slots=True)
class Section:
    """Layers of a thing up to one of them: an outline, without what others take from it."""

    outline: shapely.Geometry
    layers: int
    without: tuple[shapely.Geometry, ...] = ()


def built_up(
    name: str,
    color: Color,
    sections: Sequence[Section],
    grid: LayerGrid,
    words: tuple[str, ...],
    *,
    copies: int = 1,
    findings: tuple[Finding, ...] = (),
) -> Accessory:
    """Return an accessory of one part: sections on each other.

    Their outlines are noded together before anything is taken from another: a corner that two sections share
    would come out in two places, a micrometre apart, if each were cut by itself.
    """
    faces, inside = faces_by_shape([shape for one in sections for shape in (one.outline, *one.without)])
    ends = np.cumsum([1 + len(one.without) for one in sections])
    slabs, bottom = [], 0
    for one, (own, *taken) in zip(sections, np.split(inside, ends[:-1]), strict=True):
        shape = as_single(union_of_faces(faces[own & ~np.any(taken, axis=0)]))
        slabs.append(Slab(name, "base", color, shape, grid.top_mm(bottom), grid.top_mm(one.layers)))
        bottom = one.layers
    tops = tuple(grid.top_mm(layer) for layer in range(1, bottom + 1))
    stack = Stack(tuple(slabs), tops, (), by_height=True)
    return Accessory(name, copies, stack, build(stack), words, findings)


def _stance(plan: Plan, stack: Stack, stand: StandSettings, printer: PrinterSettings) -> Stance:
    held = [slab for slab in stack.seen if shapely.intersects(slab.polygon, plan.tongues)]
    inside = [slab for slab in held if shapely.intersection(slab.polygon, plan.tongues).area > 0]
    if not inside or plan.center_of_mass_mm is None:
        raise GeometryError("the piece has no tongue that stands in a foot; set stand.kind to off")
    thick = max(slab.highest_mm for slab in inside) - min(slab.bottom_mm for slab in inside)
    low = plan.tongues.bounds[1]
    gap = max(0.05, round(stand.clearance_mm + printer.hole_loss_mm / 2, 3))
    return Stance(round(thick, 6), gap, stand.slot_mm, stand.lean_deg, plan.center_of_mass_mm[1] - low)


def _tipping(stance: Stance, shape: shapely.Polygon) -> tuple[Finding, ...]:
    """Find a foot on which the piece does not stand firmly."""
    (x, y), (left, _, right, _) = stance.center, shape.bounds
    margin = math.degrees(min(math.atan2(x - left, y), math.atan2(right - x, y)))
    if margin >= FIRM_DEG - 0.01:
        return ()
    words = (
        f"The piece tips over when it is tilted by {max(margin, 0):.0f} degrees; with {FIRM_DEG:g} it stands"
        " firmly. Leave stand.depth_mm unset, or make it deeper, or lower stand.lean_deg."
    )
    return (finding("stand-tips", words),)
