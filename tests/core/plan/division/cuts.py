"""Plans that are cut for the bed, in a few lines."""

from __future__ import annotations

import shapely

from core.solid.plans import GOLD, RED, plan_of
from reliefsmith.plan.division.divide import divide
from reliefsmith.polygons import snapped
from reliefsmith.recipe.sections import (
    BaseSettings,
    BedSettings,
    HeightSettings,
    MotifSettings,
    PrinterSettings,
    SeamSettings,
)

BED = (100.0, 100.0)
LINE = ({"from_mm": (0, -60), "to_mm": (3, 60)},)
UPRIGHT = ({"from_mm": (0, -60), "to_mm": (0, 60)},)
UP = HeightSettings(style="raised")


def divided(plan, *, heights=UP, bed=BED, printer=None, strip_mm=0.0, **cut):
    """Return a plan cut as `cut` says, for a bed."""
    return divide(
        plan,
        seams=SeamSettings(**{"mode": "line", "lines": LINE, **cut}),
        heights=heights,
        printer=printer or PrinterSettings(bed_mm=bed),
        beds=BedSettings(strip_mm=strip_mm),
        base=BaseSettings(),
        motif=MotifSettings(),
    )


def sign() -> shapely.Polygon:
    """A plate with a hole and a notch, wider than the bed."""
    plate = shapely.box(-75, -30, 75, 30).buffer(3, quad_segs=4)
    holed = (plate - shapely.Point(-60, 0).buffer(4)) - shapely.box(20, 20, 26, 40)
    return shapely.transform(holed, snapped)


def colored(base):
    """A plan with a motif on each side of its middle and one across it."""
    across = shapely.box(-15, -6, 15, 6)
    left, right = shapely.box(-50, 10, -20, 24), shapely.box(30, -24, 60, -10)
    return plan_of(base, (RED, shapely.union_all([left, across])), (GOLD, right))
