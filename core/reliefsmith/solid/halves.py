"""Sunk motifs face down: a front plate with windows and a back plate that carries the floors, set by pegs.

The front plate is printed face down, so its front is as smooth as the bed; on its back it has recesses for
the floors, and pegs. The back plate is printed face up: base first, then the floors in their colors, which
reach under the rims of the windows, so that no gap is seen. Both plates are printed by height. What the front
plate would lose, because motifs cut it off all round, stands on the back plate instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from ..errors import GeometryError
from ..findings import Note, count_words, note
from ..mesh import moved_apart, section_difference
from ..model import Motif, Plan, Slab
from ..model.arrays import Area
from ..model.plan import in_shapes
from ..polygons import as_multi, grow, opened, polygons_of, shrink, union_of_faces
from ..progress import Progress, Steps
from ..recipe.sections import HeightSettings, PrinterSettings
from .facedown import flush_down_steps
from .inlaid import FLOOR_MM
from .layergrid import LayerGrid
from .levels import Levels, changes_at, motif_slabs, snapped_note
from .pegs import Pegs, peg_findings, pegs_in
from .sharedrings import in_register, registered

__all__ = ["LAP_MM", "PLATE_CLEARANCE_MM", "halves_steps"]

LAP_MM = 0.6
"""How far floors reach under the rims of the windows: more than the plates can lie apart."""

PLATE_CLEARANCE_MM = 0.2
"""Between floors and their recesses on each side: a slide fit; the pegs hold the place."""

WALL_MM = 0.8
"""Least wall between a recess and the outside, where floors reach under the rim: two beads."""

_LEAST_MM2 = 0.2
"""Crumbs that motifs cut off the front plate are smaller than any bead can show."""


@dataclass(frozen=True, slots=True)
class _Shapes:
    """Sections of both plates, all unions of faces of one coverage."""

    base: Area
    front: shapely.MultiPolygon
    contact: shapely.MultiPolygon
    floors: tuple[Motif, ...]
    islands: shapely.MultiPolygon


def halves_steps(
    plan: Plan, grid: LayerGrid, heights: HeightSettings, printer: PrinterSettings
) -> Steps[Levels]:
    """Split a sunk relief into two plates.

    Windows are `heights.motif_mm` deep, floors 0.4 mm or one layer, the back plate the rest of
    `heights.base_mm`; each to the nearest whole layer from the bed of its own plate (a tie goes up).

    Without motifs it is one plain plate.

    Raises
    ------
    GeometryError
        If nothing is left for the back plate, or for the front plate.
    """
    if not plan.motifs:
        return (yield from flush_down_steps(plan, grid, heights, printer))
    yield Progress("parting the plates", 0.2)
    depth, floor = grid.nearest(heights.motif_mm), max(grid.count(FLOOR_MM), 1)
    front_mm = grid.top_mm(depth + floor)
    if heights.base_mm - front_mm < heights.layer_mm / 2:
        raise GeometryError(
            f"heights.base_mm {heights.base_mm:g} is too low for a front plate of {front_mm:g} mm and a back"
            " plate; raise it or lower heights.motif_mm"
        )
    below = grid.nearest(heights.base_mm - front_mm)
    shapes = _shapes(plan, printer.nozzle_mm)
    yield Progress("placing pegs", 0.7)
    pegs = pegs_in(shapes.contact, grid, back_layers=below)
    behind = [item for item in (*plan.pockets, *plan.sunk) if item.side == "back"]
    if under := [item.depth_mm for item in behind if shapely.intersects(item.polygon, pegs.holes)]:
        pegs = pegs_in(shapes.contact, grid, back_layers=below - grid.covering(max(under)))
    back = _back(plan, grid, shapes, pegs, (below, floor, depth))
    front = _front(plan, grid, shapes, pegs, (depth, floor))
    top = max(below + floor + (0 if shapes.islands.is_empty else depth), depth + floor + pegs.layers)
    asked = [
        ("whole", heights.base_mm, front_mm + grid.top_mm(below)),
        ("depth", heights.motif_mm, grid.top_mm(depth)),
    ]
    return Levels(
        slabs=front,
        layers=top,
        changes=changes_at(shapes.floors, below, grid),
        by_height=len(shapes.floors) == 1 and shapes.islands.is_empty,
        notes=(*snapped_note(asked), _split_note(pegs, shapes)),
        findings=peg_findings(pegs),
        back=back,
        front_mm=front_mm,
        joint_mm=grid.top_mm(below),
        jobs=(("base",), tuple(dict.fromkeys(slab.part for slab in back))),
    )


def _shapes(plan: Plan, nozzle_mm: float) -> _Shapes:
    whole, motifs = in_register(plan)
    windows = union_of_faces([item.polygon for item in motifs])
    pieces = sorted(polygons_of(section_difference(whole, windows)), key=lambda item: -item.area)
    if not pieces:
        raise GeometryError("motifs cover the whole base; leave a border for a front plate (base.border_mm)")
    main, islands = pieces[0], [item for item in pieces[1:] if item.area > _LEAST_MM2]
    reach = shapely.intersection(main, shrink(whole, PLATE_CLEARANCE_MM + WALL_MM))
    laps = [as_multi(shapely.intersection(grow(item.polygon, LAP_MM), reach)) for item in motifs]
    floors = shapely.union_all([windows, *laps])
    recess = shapely.intersection(grow(floors, PLATE_CLEARANCE_MM), main)
    solid = shapely.difference(main, recess)
    thin = shapely.difference(solid, opened(solid, nozzle_mm / 2))
    own = [item.polygon for item in motifs]
    cut = [*own, as_multi(islands), *laps, as_multi(recess), as_multi(thin)]
    base, noded = registered(cut, whole)
    count = len(own)
    base, parted = moved_apart(base, noded, sections=lambda whole, shapes: _all(whole, shapes, count))
    front, contact, islands_left, *carried = _all(base, parted, count)
    return _Shapes(base, front, contact, in_shapes(motifs, carried), islands_left)


def _all(
    base: shapely.Geometry, shapes: Sequence[shapely.MultiPolygon], count: int
) -> list[shapely.MultiPolygon]:
    """Return front, contact, islands and floors from motifs, islands, laps, recess and thin walls."""
    own, islands, laps = shapes[:count], shapes[count], shapes[count + 1 : 2 * count + 1]
    front = section_difference(base, union_of_faces([*own, islands]))
    contact = section_difference(base, union_of_faces(shapes))
    floors = [union_of_faces([motif, lap]) for motif, lap in zip(own, laps, strict=True)]
    return [front, contact, as_multi(islands), *floors]


def _front(
    plan: Plan, grid: LayerGrid, shapes: _Shapes, pegs: Pegs, layers: tuple[int, int]
) -> tuple[Slab, ...]:
    """Return the slabs of the front plate as printed: windows, recesses, pegs."""
    depth, floor = layers
    heights = [0.0, grid.top_mm(depth), grid.top_mm(depth + floor), grid.top_mm(depth + floor + pegs.layers)]
    sections = [shapes.front, shapes.contact, pegs.pegs]
    return tuple(
        Slab("base", "base", plan.base_color, shape, bottom, top)
        for shape, bottom, top in zip(sections, heights[:-1], heights[1:], strict=True)
        if not shape.is_empty
    )


def _back(
    plan: Plan, grid: LayerGrid, shapes: _Shapes, pegs: Pegs, layers: tuple[int, int, int]
) -> tuple[Slab, ...]:
    """Return the slabs of the back plate as printed: base, holes for the pegs, islands, floors."""
    below, floor, depth = layers
    holes = below - pegs.hole_layers
    bored = section_difference(shapes.base, pegs.holes) if pegs.count else shapes.base
    base = [
        (shapes.base, 0, holes),
        (bored, holes, below),
        (shapes.islands, below, below + floor + depth),
    ]
    slabs = [
        Slab("back", "base", plan.base_color, shape, grid.top_mm(bottom), grid.top_mm(top))
        for shape, bottom, top in base
        if top > bottom and not shape.is_empty
    ]
    return (*slabs, *motif_slabs(shapes.floors, grid.top_mm(below), grid.top_mm(below + floor)))


def _split_note(pegs: Pegs, shapes: _Shapes) -> Note:
    words = (
        f"Two plates: the front face down with {pegs.count} pegs of {pegs.diameter_mm:g} mm, the back face up"
        f" with the floors. Floors have {PLATE_CLEARANCE_MM:g} mm of play a side, pegs"
        f" {pegs.clearance_mm:g} mm."
    )
    islands = len(polygons_of(shapes.islands))
    if islands:
        pieces = count_words(islands, "piece")
        words += f" What motifs cut off the front plate, {pieces}, stands on the back plate."
    return note("split-in-plates", words)
