"""Plans for the tests of solids: motifs on a base, given in a few lines."""

from __future__ import annotations

import shapely

from reliefsmith.model import Frame, Motif, Plan
from reliefsmith.plane import as_multi
from reliefsmith.sections import HeightSettings, PrinterSettings

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
    """Return heights in mm; the first layer is like the others unless given."""
    return HeightSettings(
        base_mm=base, motif_mm=motif, layer_mm=layer, first_layer_mm=layer if first is None else first
    )


PRINTER = PrinterSettings()
"""The default machine."""
