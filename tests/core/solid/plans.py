"""Plans for the tests of solids: motifs on a base, given in a few lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from hypothesis import strategies as st

from reliefsmith.model import Frame, Motif, Part, Plan, Stack
from reliefsmith.polygons import as_multi, noded_coverage
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

NAVY, WHITE, RED, GOLD = (20, 33, 61), (255, 255, 255), (211, 32, 32), (201, 162, 39)


def plan_of(
    base: shapely.Geometry, *motifs: tuple[tuple[int, int, int], shapely.Geometry], color=NAVY
) -> Plan:
    """Return a plan of a base and motifs given as (color, shape)."""
    made = tuple(Motif(item, as_multi(shape)) for item, shape in motifs)
    x0, y0, x1, y1 = base.bounds
    return Plan(
        base=base,
        base_color=color,
        base_is_extra=True,
        motifs=made,
        areas=tuple(motif.polygon for motif in made),
        area_colors=tuple(motif.color for motif in made),
        frame=Frame(0.05, (0.0, 0.0), 0.0, (1400, 1400)),
        artwork_mm=(x1 - x0, y1 - y0),
    )


def heights_of(base: float, motif: float, layer: float = 0.2, first: float | None = None) -> HeightSettings:
    """Return heights in mm of raised motifs; the first layer is like the others unless given."""
    return HeightSettings(
        style="raised",
        base_mm=base,
        motif_mm=motif,
        layer_mm=layer,
        first_layer_mm=layer if first is None else first,
    )


PRINTER = PrinterSettings()
"""The default machine."""


def stacked(plan: Plan, heights: HeightSettings) -> Stack:
    """Return the stack of a plan on the default machine."""
    return stack(plan, heights=heights, printer=PRINTER)


def styled(plan: Plan, style: str, **values) -> tuple[Stack, tuple[Part, ...]]:
    """Return the stack of a plan in a style of relief, and its solids."""
    made = stacked(plan, HeightSettings(style=style, **values))
    return made, build(made)


@st.composite
def pictures(draw: st.DrawFn) -> Plan:
    """Draw colors on a raster, some turned by an angle, with cells left out: corners touch in every way."""
    size = draw(st.integers(2, 5))
    cells = draw(st.lists(st.integers(0, 3), min_size=size * size, max_size=size * size))
    return raster_plan(cells, draw(st.sampled_from([0.0, 13.0, 45.0])))


def raster_plan(cells: Sequence[int], angle: float) -> Plan:
    """Color the squares of a raster of 3 mm by their numbers, 1 to 3, and turn them on a plate of 30 mm."""
    size = math.isqrt(len(cells))
    colors: list[shapely.Geometry] = []
    for color in (1, 2, 3):
        boxes = [
            shapely.box(3 * (k % size), 3 * (k // size), 3 * (k % size) + 3, 3 * (k // size) + 3)
            for k, item in enumerate(cells)
            if item == color
        ]
        shape = shapely.union_all(boxes)
        colors.append(
            shapely.affinity.rotate(shape, angle, origin=(7, 7)) if boxes else shapely.MultiPolygon()
        )
    *motifs, base = noded_coverage([*map(as_multi, colors), as_multi(shapely.box(-8, -8, 22, 22))])
    whole = noded_coverage([as_multi(shapely.box(-8, -8, 22, 22))], lines=[*motifs, base])[0].geoms[0]
    return plan_of(
        whole, *[(c, m) for c, m in zip((WHITE, RED, GOLD), motifs, strict=True) if not m.is_empty]
    )
