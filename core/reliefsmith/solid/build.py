"""Slabs to closed solid parts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from ..errors import GeometryError
from ..mesh import (
    Cast,
    Mesh,
    Section,
    Surface,
    contour_top,
    draped_top,
    insets,
    levels_of_sections,
    modeled_top,
    plain_heights,
    section_difference,
    sloped,
    upright,
    with_tops,
)
from ..model import Contours, Field, Part, Sculpted, Slab, Stack
from ..polygons import as_multi, polygons_of, snapped
from ..progress import Progress, Steps, drained

__all__ = ["build", "build_steps", "built"]

WALL_RUN_MM = 0.02
"""How far the wall above the edge of a top by brightness leans inward: 20 grid steps, a 20th of a bead."""

_KEPT = 16
"""Solids that are remembered without their heights, of two pieces and more: a changed height builds none."""


def build_steps(stack: Stack) -> Steps[tuple[Part, ...]]:
    """Build one closed solid for each part of the stack, in the order of its slabs.

    The volume of slabs with flat tops is the sum of their area times height. Neighboring parts share faces
    and never overlap. A part's slabs stand on each other without a gap; only the last may have a shaped top,
    but any may have hand relief where nothing stands on it.

    Raises
    ------
    GeometryError
        If a polygon is empty, off the grid or cannot be triangulated, or a shaped top has something on it.
    """
    parts: list[Part] = []
    names = list(dict.fromkeys(slab.part for slab in stack.slabs))
    for number, name in enumerate(names):
        yield Progress(f"building {name}", number / len(names))
        slabs = [slab for slab in stack.slabs if slab.part == name]
        mesh = built(slabs)
        parts.append(Part(name, slabs[0].role, slabs[0].color, mesh.vertices, mesh.triangles))
    return tuple(parts)


build = drained(build_steps)


def built(slabs: Sequence[Slab]) -> Mesh:
    """Build the solid of one part's slabs: a body for each run of them without a gap in height."""
    ranked = sorted(slabs, key=lambda item: item.bottom_mm)
    for slab in ranked[:-1]:
        if not isinstance(slab.plain_top, float):
            raise GeometryError(f"something stands on the shaped top of {slab.part}; only flat tops carry")
    runs: list[list[Slab]] = []
    for slab in ranked:
        if runs and runs[-1][-1].rim_mm == slab.bottom_mm:
            runs[-1].append(slab)
        else:
            runs.append([slab])
    meshes = [_body(run) for run in runs]
    if len(meshes) == 1:
        return meshes[0]
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])], dtype=np.int32)
    return Mesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.triangles + start for mesh, start in zip(meshes, starts, strict=True)]),
    )


def _body(ranked: Sequence[Slab]) -> Mesh:
    """Build the body of slabs that stand on each other."""
    sections = [Section(slab.polygon, slab.bottom_mm, slab.rim_mm) for slab in ranked]
    last = ranked[-1]
    if isinstance(last.top, Contours):
        return sloped(sections, contour_top(last.top.shapes, last.top.levels_mm))
    if isinstance(last.top, Field):
        return _draped(sections, last, last.top)
    levels = levels_of_sections(sections)
    tops = [slab.top.counted_from(slab.rim_mm) if isinstance(slab.top, Sculpted) else None for slab in ranked]
    return _cast(tuple(slab.polygon for slab in ranked), tuple(tops)).at(levels)


@lru_cache(maxsize=_KEPT)
def _cast(polygons: tuple[shapely.Geometry, ...], tops: tuple[Sculpted | None, ...]) -> Cast:
    """Build polygons that stand on each other, some of whose tops have hand relief, at no heights yet.

    The heights of the tops count from the level on which they lie.
    """
    found = []
    for number, (polygon, top) in enumerate(zip(polygons, tops, strict=True)):
        if top is None:
            continue
        above = polygons[number + 1] if number + 1 < len(polygons) else shapely.MultiPolygon()
        cap = section_difference(polygon, above)
        kept = section_difference(cap, top.ground)
        found.append((number + 1, modeled_top(cap, kept, above, _surface(top))))
    cast = with_tops(upright(polygons), found)
    cast.triangles.setflags(write=False)
    return cast


def _surface(top: Sculpted) -> Surface:
    plain = plain_heights(top.plain)
    return Surface(
        inside=lambda places: top.raised(places, plain(places)),
        rim=lambda places: top.raised(places, 0.0),
        step_mm=top.hand.step_mm,
        even=top.even,
    )


def _draped(sections: Sequence[Section], slab: Slab, field: Field) -> Mesh:
    """Build a part whose top follows a field; pieces too narrow for the lean of the wall stay level."""
    drawn_in = [shape for piece in polygons_of(slab.polygon) for shape in insets(piece, (WALL_RUN_MM,), 0.0)]
    inner = as_multi([polygon for shape in drawn_in for polygon in polygons_of(shape)])
    fine = as_multi(shapely.transform(shapely.segmentize(inner, field.step_mm), snapped))
    if not (fine.is_valid and shapely.contains_properly(slab.polygon, fine)):
        fine = inner
    edge = field.upright_mm
    top = draped_top(slab.polygon, edge, fine, lambda places: field.at(places).clip(min=edge), field.step_mm)
    return sloped(sections, top)
