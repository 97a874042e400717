"""Base and motifs with shared vertices, so that sections at different heights fit each other."""

from __future__ import annotations

import shapely

from ..model import Motif, Plan
from ..plane import as_multi, noded_coverage, polygons_of, union_of_faces

__all__ = ["in_register"]


def in_register(plan: Plan) -> tuple[shapely.Polygon | shapely.MultiPolygon, tuple[Motif, ...]]:
    """Return base and motifs with shared vertices wherever their boundaries meet."""
    *shapes, rest = noded_coverage([*(item.polygon for item in plan.motifs), as_multi(plan.base)])
    whole = union_of_faces([item for item in (*shapes, rest) if not item.is_empty])
    pieces = polygons_of(whole)
    motifs = tuple(Motif(item.color, shape) for item, shape in zip(plan.motifs, shapes, strict=True))
    return (pieces[0] if len(pieces) == 1 else whole), motifs
