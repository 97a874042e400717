"""Walls round a face that is lit from behind, and the lid that carries the lamps.

The walls are printed front down, so nothing hangs over: the lip lies on the bed, the face is laid in from
behind, the notch for the cable is open above. The lid closes them with a rim that stands inside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..errors import GeometryError
from ..findings import Finding, finding
from ..model import Accessory, Plan, Stack
from ..polygons import face_down, grow, shrink, without_openings
from ..recipe.sections import HeightSettings, HousingSettings, PrinterSettings
from .feet import Section, built_up
from .layergrid import LayerGrid, grid_of

__all__ = ["FACE_MM", "frame_of", "housing_of"]

FACE_MM = (0.8, 1.2)
"""A face of white filament that spreads the light and still lets it through (common practice, no source)."""

LIP_MM, LID_MM, RIM_MM = 1.2, 2.0, 4.0
"""Height of the lip, of the lid, and of the rim that stands inside the walls."""

DARK = (32, 32, 36)
"""Walls and lid: no light passes them."""


HOOK_MM, HOOK_WALL_MM = (12.0, 4.0, 3.0), 3.0
"""Width, height at least and depth of the pocket for a hook or the head of a nail, and the plastic above and
below it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Outlines:
    """Seen from the front: the face, what is seen of it, what the walls leave free, their outside, the notch.

    And the gap round the face in mm.
    """

    face: shapely.MultiPolygon
    seen: shapely.MultiPolygon
    inner: shapely.MultiPolygon
    outer: shapely.MultiPolygon
    notch: shapely.Polygon
    gap: float


def housing_of(
    plan: Plan, stack: Stack, housing: HousingSettings, heights: HeightSettings, printer: PrinterSettings
) -> tuple[Accessory, Accessory]:
    """Return the walls round a piece, and their lid.

    Raises
    ------
    GeometryError
        If the face is narrower than its lip, or in several pieces.
    """
    outlines = _outlines(plan, housing, printer, housing.lip_mm + housing.wall_mm)
    grid = grid_of(heights, printer.nozzle_mm)
    thick = max(slab.highest_mm for slab in stack.seen)
    walls, lid = _walls(outlines, housing, grid, thick), _lid(outlines, housing, grid)
    fitting = ("Press the lid on: its rim goes inside the walls.",)
    base = [slab.upright_mm for slab in stack.seen if slab.part == "base"]
    found = (*_face_findings(max(base)), *_lamp_findings(housing))
    return (
        built_up("walls", DARK, walls, grid, _words(housing), findings=found),
        built_up("lid", DARK, lid, grid, fitting),
    )


def frame_of(
    plan: Plan, stack: Stack, housing: HousingSettings, heights: HeightSettings, printer: PrinterSettings
) -> Accessory:
    """Return a frame into which a piece is laid from behind, with a pocket for a hook in the middle above.

    Raises
    ------
    GeometryError
        If the face is narrower than its lip, or the frame too narrow for the pocket.
    """
    if housing.wall_mm < HOOK_MM[1] + 2 * HOOK_WALL_MM:
        raise GeometryError(
            f"a frame {housing.wall_mm:g} mm wide has no room for a hook; set housing.wall_mm to"
            f" {HOOK_MM[1] + 2 * HOOK_WALL_MM:g} or more"
        )
    outlines = _outlines(plan, housing, printer, housing.lip_mm)
    grid = grid_of(heights, printer.nozzle_mm)
    thick = max(slab.highest_mm for slab in stack.seen)
    lip = grid.nearest(LIP_MM)
    whole = max(grid.nearest(grid.top_mm(lip) + max(thick, HOOK_MM[2] + LIP_MM)), lip + 2)
    below = max(grid.nearest(grid.top_mm(whole) - HOOK_MM[2]), lip + 1)
    outer, inner = outlines.outer, outlines.inner
    hook = _hook(outlines, housing)
    sections = [_lip(outlines, lip), Section(outer, below, (inner,)), Section(outer, whole, (inner, hook))]
    words = (
        "Lay the picture into the frame from behind, its front to the lip, with a line of glue round it.",
        "The pocket in the back of the frame takes a hook, or the head of a nail, up to"
        f" {HOOK_MM[0] - 2:g} mm wide; try that it holds before anything stands below it.",
    )
    return built_up("frame", DARK, _turned(sections), grid, words)


def _hook(outlines: _Outlines, housing: HousingSettings) -> shapely.Polygon:
    """Return the pocket for a hook, seen from the front: in the middle of the frame's upper side."""
    x0, y0, x1, y1 = outlines.face.bounds
    middle, half = (x0 + x1) / 2, HOOK_MM[0] / 2
    column = shapely.intersection(outlines.inner, shapely.box(middle - half, y0 - 1, middle + half, y1 + 1))
    low = column.bounds[3] + HOOK_WALL_MM
    return shapely.box(middle - half, low, middle + half, low + housing.wall_mm - 2 * HOOK_WALL_MM)


def _lip(outlines: _Outlines, layers: int) -> Section:
    return Section(outlines.outer, layers, (outlines.seen,))


def _outlines(plan: Plan, housing: HousingSettings, printer: PrinterSettings, least_mm: float) -> _Outlines:
    """Return the outlines for a face that is wider than so much from both sides."""
    face = without_openings(plan.whole)
    if len(face.geoms) != 1 or shrink(face, least_mm).is_empty:
        raise GeometryError(
            f"what is set in must be one piece, wider than {2 * least_mm:g} mm; choose another base.shape,"
            " print it larger, or lower housing.lip_mm"
        )
    gap = max(0.05, round(housing.clearance_mm + printer.hole_loss_mm / 2, 3))
    inner = grow(face, gap, "miter")
    outer = grow(inner, housing.wall_mm, "miter")
    x0, y0, x1, y1 = face.bounds
    middle, half = (x0 + x1) / 2, housing.cable_mm / 2
    # Through the wall over its whole width, also where the outline rises to one side.
    lines = [shapely.LineString([(x, y0 - 1), (x, y1 + 1)]) for x in (middle - half, middle, middle + half)]
    low = float(np.nanmax(shapely.bounds(shapely.intersection(inner, lines))[:, 1]))
    notch = shapely.box(middle - half, outer.bounds[1] - 1, middle + half, low + RIM_MM)
    return _Outlines(face, shrink(face, housing.lip_mm, "miter"), inner, outer, notch, gap)


def _walls(outlines: _Outlines, housing: HousingSettings, grid: LayerGrid, face_mm: float) -> list[Section]:
    """Return the sections of the walls, front down, so seen from behind."""
    lip = grid.nearest(LIP_MM)
    whole = max(grid.nearest(grid.top_mm(lip) + face_mm + housing.depth_mm), lip + 2)
    outer, inner = outlines.outer, outlines.inner
    if not housing.cable_mm:
        return _turned([_lip(outlines, lip), Section(outer, whole, (inner,))])
    below = max(grid.nearest(grid.top_mm(whole) - housing.cable_mm), lip + 1)
    open_ = Section(outer, whole, (inner, outlines.notch))
    return _turned([_lip(outlines, lip), Section(outer, below, (inner,)), open_])


def _lid(outlines: _Outlines, housing: HousingSettings, grid: LayerGrid) -> list[Section]:
    """Return the sections of the lid, its rim upward, so seen from the front."""
    lid = grid.nearest(LID_MM)
    top = max(grid.nearest(grid.top_mm(lid) + RIM_MM), lid + 1)
    plug = shrink(outlines.inner, outlines.gap, "miter")
    taken = [shrink(plug, housing.wall_mm, "miter")]
    if housing.cable_mm:
        taken.append(shapely.buffer(outlines.notch, outlines.gap, join_style="mitre"))
    return [Section(outlines.outer, lid), Section(plug, top, tuple(taken))]


def _turned(sections: Sequence[Section]) -> list[Section]:
    """Return sections as they are seen from behind."""
    return [
        Section(face_down(one.outline), one.layers, tuple(map(face_down, one.without))) for one in sections
    ]


def _words(housing: HousingSettings) -> tuple[str, ...]:
    return (
        "Print walls and lid in a dark, opaque filament, the face in a white one.",
        "Lay the face into the walls from behind, its front to the lip, with four drops of glue at the edge.",
        (
            f"Fix the lamps to the inside of the lid, not farther apart than {housing.depth_mm:g} mm; lead"
            " the cable out through the notch and hold it inside with a tie, so that a pull does not reach"
            " the lamps."
        ),
    )


def _face_findings(thick_mm: float) -> tuple[Finding, ...]:
    low, high = FACE_MM
    if low - 1e-6 <= thick_mm <= high + 1e-6:
        return ()
    what = "lets lamps show as spots" if thick_mm < low else "lets little light through"
    words = (
        f"The face is {thick_mm:g} mm thick, which {what}; set heights.base_mm to {low:g} to {high:g} mm"
        " (common practice)."
    )
    return (finding("face-thickness", words),)


def _lamp_findings(housing: HousingSettings) -> tuple[Finding, ...]:
    caution = finding(
        "lamp-caution",
        "Low voltage only: lamps of 24 V or less on a bought, approved supply that stays outside; never mains"
        " in a printed housing. Printed plastic burns and softens, PLA from about 55 °C: lamps that stay"
        " cool to the hand, air round them, and nobody leaves it lit unwatched. Follow the rules of your"
        " place, and leave electrical work to those who are licensed for it.",
    )
    if housing.lamp_pitch_mm <= housing.depth_mm:
        return (caution,)
    spots = finding(
        "lamp-spots",
        f"Lamps {housing.lamp_pitch_mm:g} mm apart, {housing.depth_mm:g} mm behind the face, show as spots;"
        f" set housing.depth_mm to {housing.lamp_pitch_mm:g} or more, or take lamps that are nearer.",
    )
    return (caution, spots)
