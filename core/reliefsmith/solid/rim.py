"""A raised rim along the outside of the base, in its color."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ..errors import GeometryError
from ..mesh import moved_apart
from ..model import Plan, Slab
from ..model.plan import in_shapes
from ..polygons import as_multi, grow, merged, opened, shrink, without_openings
from ..recipe.sections import BaseSettings
from .layergrid import LayerGrid
from .levels import Levels, snapped_note
from .sharedrings import registered, rest_of

__all__ = ["RimmedPlan", "rimmed", "with_rim"]

RimmedPlan = tuple[Plan, shapely.MultiPolygon]


def rimmed(plan: Plan, base: BaseSettings, nozzle_mm: float) -> RimmedPlan:
    """Return the plan with the vertices of the rim, and the rim's shape.

    The rim runs along the outside only, not round openings. It gives way to motifs by the margin, and where
    that leaves less than the nozzle's width it ends.

    Raises
    ------
    GeometryError
        If the rim is narrower than the nozzle, or motifs leave nothing of it.
    """
    if base.rim_mm < nozzle_mm:
        raise GeometryError(
            f"a rim of {base.rim_mm:g} mm is narrower than the nozzle of {nozzle_mm:g} mm; raise base.rim_mm"
            " or set base.rim_mm to 0"
        )
    whole = without_openings(plan.whole)
    band: shapely.Geometry = shapely.intersection(
        shapely.difference(whole, shrink(whole, base.rim_mm)), plan.base
    )
    if not plan.tongues.is_empty:
        band = shapely.difference(band, plan.tongues)
    if plan.motifs:
        together = merged([item.polygon for item in plan.motifs])
        band = shapely.difference(band, grow(together, base.margin_mm))
    band = as_multi(shapely.intersection(band, opened(band, nozzle_mm / 2)))
    if band.is_empty:
        raise GeometryError(
            f"motifs leave no room for a rim of {base.rim_mm:g} mm; raise base.border_mm or set"
            " base.rim_mm to 0"
        )
    shapes = [*(item.polygon for item in plan.motifs), band]
    wide, noded = registered(shapes, plan.base)
    wide, parted = moved_apart(wide, noded, sections=_sections)
    return replace(plan, base=wide, motifs=in_shapes(plan.motifs, parted[:-1])), parted[-1]


def with_rim(levels: Levels, rim: shapely.MultiPolygon, grid: LayerGrid, base: BaseSettings) -> Levels:
    """Set the rim on the base, to the nearest whole layer (a tie goes up), one at least.

    Layers that it shares with motifs hold two colors.
    """
    slabs = [slab for slab in levels.slabs if slab.part == "base"]
    foot = max(slab.top for slab in slabs if isinstance(slab.top, float))
    below = grid.nearest(foot)
    count = max(1, grid.count(base.rim_height_mm))
    top = grid.top_mm(below + count)
    own = Slab("base", "base", slabs[0].color, rim, foot, top)
    rest = [slab for slab in levels.slabs if slab.part != "base"]
    return replace(
        levels,
        slabs=(*slabs, own, *rest),
        layers=max(levels.layers, below + count),
        by_height=not rest,
        notes=(*levels.notes, *snapped_note([("rim", base.rim_height_mm, round(top - foot, 6))])),
    )


def _sections(base: shapely.Geometry, shapes: Sequence[shapely.MultiPolygon]) -> list[shapely.Geometry]:
    """Return the solids' shapes: motifs, the rim, and the base round the motifs, where they lie in it."""
    return [*shapes, rest_of(base, shapes[:-1])]
