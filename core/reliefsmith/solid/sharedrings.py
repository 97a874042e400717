"""Base and motifs with shared vertices, so that sections at different heights fit each other."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from ..mesh import moved_apart, section_difference
from ..model import Motif, Plan
from ..model.arrays import Area
from ..model.plan import in_shapes
from ..polygons import as_multi, as_single, noded_coverage, union_of_faces

__all__ = ["in_register", "parted", "registered", "rest_of"]


def in_register(plan: Plan) -> tuple[Area, tuple[Motif, ...]]:
    """Return base and motifs with shared vertices wherever their boundaries meet."""
    whole, shapes = registered([item.polygon for item in plan.motifs], plan.base)
    return whole, tuple(Motif(item.color, shape) for item, shape in zip(plan.motifs, shapes, strict=True))


def parted(plan: Plan) -> tuple[Area, tuple[Motif, ...]]:
    """Return base and motifs in register, apart where rings of a motif or of the base round them touch."""
    base, motifs = in_register(plan)
    base, shapes = moved_apart(base, [item.polygon for item in motifs], sections=_sections)
    return base, in_shapes(motifs, shapes)


def rest_of(base: shapely.Geometry, motifs: Sequence[shapely.MultiPolygon]) -> shapely.MultiPolygon:
    """Return the base round the motifs."""
    return section_difference(base, union_of_faces(motifs))


def _sections(base: shapely.Geometry, motifs: Sequence[shapely.MultiPolygon]) -> list[shapely.Geometry]:
    return [*motifs, rest_of(base, motifs)]


def registered(
    shapes: Sequence[shapely.MultiPolygon], base: shapely.Geometry
) -> tuple[Area, tuple[shapely.MultiPolygon, ...]]:
    """Return the base and shapes inside it as unions of faces of one coverage.

    Where shapes cover the same place the first one has it.
    """
    *own, rest = noded_coverage([*shapes, as_multi(base)])
    return as_single(union_of_faces([*own, rest])), tuple(own)
