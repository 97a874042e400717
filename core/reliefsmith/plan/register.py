"""Base and motifs in register: a motif is a union of faces of the base, so it cannot reach over it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely

from ..model import Motif
from ..model.plan import in_shapes
from ..polygons import as_multi, noded_coverage, union_of_faces

__all__ = ["by_area", "in_register", "rest_of", "stand_clear"]


def in_register(
    base: shapely.Geometry, motifs: Sequence[Motif], lines: Iterable[shapely.Geometry] = ()
) -> tuple[shapely.MultiPolygon, tuple[Motif, ...]]:
    """Node base and motifs together; return both on the grid, as unions of the same faces.

    Parameters
    ----------
    base : Polygon or MultiPolygon
        Where it does not hold a motif, it is grown to hold it exactly.
    motifs : sequence of Motif
        Where two overlap, the first one owns the place; empty ones are dropped.
    lines : iterable of geometries
        Further boundaries whose crossings become shared vertices.

    Returns
    -------
    (MultiPolygon, tuple of Motif)
        Motifs by falling area, then by color.
    """
    entries = [as_multi(motif.polygon) for motif in motifs]
    *kept, rest = noded_coverage([*entries, as_multi(base)], list(lines))
    return union_of_faces([*kept, rest]), by_area(in_shapes(motifs, kept))


def by_area(motifs: Iterable[Motif]) -> tuple[Motif, ...]:
    """Return motifs by falling area, then by color."""
    return tuple(sorted(motifs, key=lambda motif: (-motif.polygon.area, motif.color)))


def stand_clear(base: shapely.Geometry, shapes: Sequence[shapely.Geometry], distance: float) -> bool:
    """Tell whether shapes lie inside a base, everywhere farther from its edge than a distance in mm.

    Examples
    --------
    >>> base = shapely.box(0, 0, 10, 10)
    >>> [stand_clear(base, [shapely.box(2, 2, 5, 5)], margin) for margin in (1.9, 2.1)]
    [True, False]
    """
    rim = shapely.boundary(base)
    shapely.prepare([base, rim])
    others = [shape for shape in shapes if not shape.is_empty]
    return all(shapely.covers(base, other) and not shapely.dwithin(rim, other, distance) for other in others)


def rest_of(base: shapely.Geometry, motifs: Sequence[Motif]) -> shapely.MultiPolygon:
    """Return what of the base no motif covers: its visible top."""
    covered = shapely.coverage_union_all([motif.polygon for motif in motifs]) if motifs else None
    return as_multi(base if covered is None else base.difference(covered))
