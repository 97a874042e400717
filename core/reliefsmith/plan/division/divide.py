"""A piece larger than the bed, cut into parts: their outlines, keys, numbers and places on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...errors import GeometryError, RecipeError
from ...findings import Finding, Note, finding, note
from ...model import Division, Plan, Pocket, Segment
from ...polygons import GRID_MM, face_down, grow, merged, polygons_of, shared_lengths, turn_on_bed
from ...polygons.packing import Placed, pack
from ...progress import Progress, Steps, drained
from ...recipe.sections import (
    BaseSettings,
    BedSettings,
    HeightSettings,
    MotifSettings,
    PrinterSettings,
    SeamSettings,
)
from ..inscriptions.rooms import back_room
from ..strokes.leastwidths import Limits
from .bedcells import Room, cells_for_bed, cells_of_lines, without_necks
from .gaps import parted_cells
from .jointkeys import KEY_WALL_MM, REACHES_MM, Key, Loose, keys_of
from .partnumbers import NUMBER_DEPTH_MM, digits_in

__all__ = ["divide", "divide_steps"]

LEAST_GAP_MM = 0.05
"""A gap stays this wide, however much wider than drawn holes came out."""

SLANT = 1.15
"""A key that stands askew reaches so much farther: to the corner of its head."""

_NO_AREA = shapely.MultiPolygon()


def divide_steps(
    plan: Plan,
    *,
    seams: SeamSettings,
    heights: HeightSettings,
    printer: PrinterSettings,
    beds: BedSettings,
    base: BaseSettings,
    motif: MotifSettings,
) -> Steps[Plan]:
    """Cut a piece as the recipe asks.

    Seams are straight gaps of one width through base and motifs. Printed face up, keys lie under the face: a
    tab of one part in a socket below the other one, which is set down on it. Face down, the whole height
    follows the keys.

    Returns
    -------
    Plan
        The very same where nothing is cut; else with its division, its base in several polygons.

    Raises
    ------
    RecipeError
        If lines are meant and there are none.
    GeometryError
        If a line misses the piece or cuts nothing off, a key has no room, or the piece has two plates.
    """
    bed = (printer.bed_mm[0], printer.bed_mm[1] - beds.strip_mm)
    if seams.mode == "off" or (seams.mode == "auto" and turn_on_bed(plan.base, bed) is not None):
        return plan
    if heights.split != "none":
        raise GeometryError(
            "a piece in two plates is not cut; set heights.split to none or seams.mode to off"
        )
    yield Progress("cutting the piece for the bed", 0.0)
    gap = max(LEAST_GAP_MM, round(seams.clearance_mm + printer.hole_loss_mm / 2, 3))
    barred = _barred(plan)
    cells = _in_order(_cells(plan, seams, bed, barred))
    cells = _in_order(without_necks(cells, gap))
    if len(cells) == 1:
        return plan
    _refuse_crossed(cells, plan.sunk)
    yield Progress("placing keys", 0.4)
    keys, loose = ([], []) if seams.joint == "plain" else keys_of(cells, barred, seams, gap)
    if loose and seams.mode == "line":
        raise GeometryError(_no_key(loose[0]))
    through = heights.face == "down"
    limits = Limits.of(motif, printer)
    made = parted_cells(cells, plan.motifs, keys, gap, through=through, nozzle_mm=printer.nozzle_mm)
    yield Progress("numbering the parts", 0.6)
    cut_plan = replace(plan, base=made.base, motifs=made.motifs)
    room = back_room(cut_plan, base, limits)
    if not through and keys:
        room = shapely.difference(room, grow(merged([made.tabs, made.sockets]), KEY_WALL_MM))
    digits = [
        digits_in(shapely.intersection(room, outline), number, limits) if seams.numbers else _NO_AREA
        for number, outline in enumerate(made.outlines, start=1)
    ]
    yield Progress("laying the parts onto the bed", 0.8)
    shapes = made.outlines if through else _with_tabs(made.outlines, keys)
    segments = _laid(shapes, digits, bed, beds, mirrored=through)
    division = Division(plan.base, segments, gap, len(keys), number_mm=NUMBER_DEPTH_MM)
    if not through:
        division = replace(division, tabs=made.tabs, sockets=made.sockets)
    findings = (*plan.findings, *_loose_findings(loose))
    return replace(
        cut_plan, division=division, notes=(*plan.notes, *_notes(division, seams)), findings=findings
    )


divide = drained(divide_steps)


def _barred(plan: Plan) -> shapely.Geometry:
    """Return what neither seams nor keys cross: hanging holes with their walls, pockets, what is sunk."""
    holes = [shapely.Point(hole.center_mm).buffer(hole.diameter_mm / 2 + hole.wall_mm) for hole in plan.holes]
    return merged([*holes, *(item.polygon for item in (*plan.pockets, *plan.sunk))])


def _cells(
    plan: Plan, seams: SeamSettings, bed: tuple[float, float], barred: shapely.Geometry
) -> list[shapely.Polygon]:
    if seams.mode == "line":
        if not seams.lines:
            raise RecipeError(
                "seams.mode line needs seams.lines, such as [{from_mm = [0, -90], to_mm = [0, 90]}]"
            )
        cells = cells_of_lines(plan.base, seams.lines)
        crossed = shapely.intersection(
            merged([shapely.boundary(cell).buffer(0.001) for cell in cells]), barred
        )
        rim = shapely.buffer(shapely.boundary(plan.base), 0.01)
        over = shapely.difference(crossed, rim)
        if not over.is_empty:
            place = over.representative_point()
            raise GeometryError(
                f"a line of seams.lines crosses a hole, a pocket or a sunk text near ({place.x:.1f},"
                f" {place.y:.1f}) mm; move it"
            )
        return cells
    reach = 0.0 if seams.joint == "plain" else 2 * SLANT * (seams.reach_mm or REACHES_MM[0])  # at both ends
    room = Room(bed[0] - reach, bed[1] - reach)
    if min(room.width, room.depth) < GRID_MM:
        raise RecipeError(
            f"a bed of {bed[0]:g} x {bed[1]:g} mm leaves nothing for parts whose keys take {reach:g} mm;"
            " set beds.strip_mm or seams.reach_mm smaller, printer.bed_mm larger, or seams.joint to plain"
        )
    colors = [item.polygon for item in plan.motifs]
    return cells_for_bed(plan.base, colors, barred, room)


def _refuse_crossed(cells: Sequence[shapely.Polygon], sunk: Sequence[Pocket]) -> None:
    """Refuse a picture or a text of the back that lies across all places where a piece can be cut."""
    words = {"picture": ("the second picture", "back"), "lettering": ("a sunk text", "lettering")}
    seams = merged([shapely.buffer(shapely.boundary(cell), GRID_MM) for cell in cells])
    for item in sunk:
        over = shapely.intersection(item.polygon, seams)
        if over.area > GRID_MM:
            place, (what, section) = over.representative_point(), words[item.kind]
            raise GeometryError(
                f"the piece has to be cut through {what} near ({place.x:.1f}, {place.y:.1f}) mm; make it"
                f" smaller or move it ({section}), or cut elsewhere with seams.lines"
            )


def _in_order(cells: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
    """Return cells in the order of assembly: from the upper left, each the one held most by those before."""
    waiting = sorted(cells, key=lambda cell: (cell.bounds[0] - cell.bounds[3], cell.bounds))
    table = {(int(a), int(b)): length for a, b, length in shared_lengths(waiting).tolist()}
    placed, rest = [0], list(range(1, len(waiting)))
    while rest:
        held = [sum(table.get((min(one, two), max(one, two)), 0.0) for two in placed) for one in rest]
        placed.append(rest.pop(held.index(max(held))))
    return [waiting[index] for index in placed]


def _with_tabs(outlines: Sequence[shapely.Polygon], keys: Sequence[Key]) -> list[shapely.Polygon]:
    return [
        max(
            polygons_of(merged([outline, *(key.shape for key in keys if key.owner == index)])),
            key=lambda one: one.area,
        )
        for index, outline in enumerate(outlines)
    ]


def _laid(
    shapes: Sequence[shapely.Polygon],
    digits: Sequence[shapely.MultiPolygon],
    bed: tuple[float, float],
    beds: BedSettings,
    *,
    mirrored: bool,
) -> tuple[Segment, ...]:
    """Lay parts onto as few fillings of the bed as are found; one that fits none lies alone in its corner."""
    lying = [face_down(one) if mirrored else one for one in shapes]
    packing = pack(lying, bed, spacing_mm=beds.spacing_mm, cell_mm=beds.cell_mm, turns=beds.turn_count)
    placed = {one.index: one for one in packing.placed}
    for extra, index in enumerate(packing.left):
        x0, y0, _, _ = lying[index].bounds
        placed[index] = Placed(index, packing.beds + extra, 0.0, (-x0, -y0))
    return tuple(
        Segment(
            index + 1,
            shape,
            digits[index],
            placed[index].bed + 1,
            placed[index].turn_deg,
            (round(placed[index].at_mm[0], 3) + 0.0, round(placed[index].at_mm[1], 3) + 0.0),
        )
        for index, shape in enumerate(shapes)
    )


def _no_key(one: Loose) -> str:
    """Say why a line of the recipe cannot be a seam with keys."""
    x, y = one.place.x, one.place.y
    return (
        f"no key of {one.reach_mm:g} mm fits along the cut near ({x:.1f}, {y:.1f}) mm; cut"
        " elsewhere (seams.lines), give seams.reach_mm a smaller value, or set seams.joint to plain"
    )


def _loose_findings(loose: Sequence[Loose]) -> tuple[Finding, ...]:
    return tuple(
        finding(
            "key-missing",
            f"Only glue holds part {one.other + 1} to part {one.owner + 1}: no key of {one.reach_mm:g} mm"
            " fits there. A larger base.min_width_mm makes room; or cut elsewhere with seams.lines.",
            (round(one.place.x, 2), round(one.place.y, 2), 0.0),
        )
        for one in loose
    )


def _notes(division: Division, seams: SeamSettings) -> tuple[Note, ...]:
    keys = (
        "no keys: glue the plain edges" if seams.joint == "plain" else f"{division.keys} keys ({seams.joint})"
    )
    plates = "1 plate" if division.plates == 1 else f"{division.plates} plates"
    words = (
        f"Cut into {len(division.segments)} parts on {plates}, with"
        f" {division.clearance_mm:g} mm between them and {keys}."
    )
    unnumbered = [str(item.number) for item in division.segments if item.digits.is_empty]
    if unnumbered and seams.numbers:
        words += f" There is no room for a number on part {', '.join(unnumbered)}."
    return (note("piece-cut", words),)
