"""Tongues below the artwork, by which a piece stands in the slots of feet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from ...errors import GeometryError
from ...findings import note
from ...model import Plan
from ...polygons import as_multi, as_single, merged, snapped
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, HeightSettings, PrinterSettings, StandSettings, settled
from ..hang.balance import center_of_mass
from ..hang.bore import rounded
from ..register import in_register

__all__ = ["tongue", "tongue_steps"]

SPREAD = 0.3
"""Two feet stand this share of the base's width to the left and right of the centre of mass."""

HELD_MM = 3.0
"""How far a tongue reaches into the base where that has its whole width: more than the base is high."""

_STEP_MM = 0.5  # between heights at which tongues are tried


def tongue_steps(
    plan: Plan,
    *,
    stand: StandSettings,
    heights: HeightSettings,
    base: BaseSettings,
    printer: PrinterSettings,
) -> Steps[Plan]:
    """Give the base a tongue for each foot: a strip from below its lowest point up into it.

    Returns
    -------
    Plan
        The very same where nothing is to stand.

    Raises
    ------
    GeometryError
        If the base is nowhere as wide as a tongue.
    """
    if stand.kind == "off":
        return plan
    yield Progress("adding tongues for feet", 0.0)
    x0, low, x1, _ = plan.base.bounds
    middle = plan.center_of_mass_mm[0] if plan.center_of_mass_mm else (x0 + x1) / 2
    offsets = [0.0] if stand.feet == 1 else [-SPREAD * (x1 - x0), SPREAD * (x1 - x0)]
    strips = [_strip(plan, middle + offset, low - stand.slot_mm, stand.width_mm) for offset in offsets]
    if len(strips) > 1 and shapely.distance(*strips) < stand.width_mm:
        raise GeometryError(
            "the piece is too narrow for two feet; set stand.feet to 1 or lower stand.width_mm"
        )
    whole, motifs = in_register(merged([plan.base, *strips]), plan.motifs, strips)
    below = shapely.box(x0 - 1, low - stand.slot_mm - 1, x1 + 1, low)
    tongues = as_multi([shapely.intersection(strip, below) for strip in strips])
    heights, _ = settled(heights, base, printer, len(motifs))
    single = as_single(whole)
    center = center_of_mass(single, motifs, heights, (*plan.pockets, *plan.sunk))
    notes = tuple(
        note(
            "tongue-added",
            f"A tongue {stand.width_mm:g} mm wide sits {stand.slot_mm:g} mm deep in a foot.",
            rounded((strip.centroid.x, low)),
            stand.width_mm,
        )
        for strip in strips
    )
    return replace(
        plan,
        base=single,
        motifs=motifs,
        tongues=tongues,
        center_of_mass_mm=rounded(center),
        notes=(*plan.notes, *notes),
    )


tongue = drained(tongue_steps)


def _strip(plan: Plan, middle: float, bottom: float, width: float) -> shapely.Polygon:
    """Return a strip of a width from a height up to where it lies in the base with all its width."""
    left, right = middle - width / 2, middle + width / 2
    _, low, _, high = plan.base.bounds
    shapely.prepare(plan.base)
    for top in np.arange(low + HELD_MM, (low + high) / 2 + HELD_MM, _STEP_MM).tolist():
        if shapely.covers(plan.base, shapely.box(left, top - HELD_MM, right, top)):
            return shapely.transform(shapely.box(left, bottom, right, top), snapped)
    raise GeometryError(
        f"the base has no room for a tongue of {width:g} mm near x = {middle:.1f} mm; lower stand.width_mm,"
        " or set base.shape to rectangle"
    )
