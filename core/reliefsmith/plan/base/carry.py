"""Carrying: the base is made wide enough and put under the mended drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...findings import finding
from ...model import Mended, Plan
from ...model.plan import in_shapes
from ...polygons import merged
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, PrinterSettings
from ...recipe.tables import Mark
from ..register import in_register
from ..remarks import place_of
from ..zones import spared, unchanged
from .outline import held
from .width import SLIT_NOZZLES, widened

__all__ = ["carry", "carry_steps"]

_NO_GROUND = shapely.MultiPolygon()


def carry_steps(
    plan: Plan,
    mended: Mended,
    ground: shapely.MultiPolygon = _NO_GROUND,
    *,
    base: BaseSettings,
    printer: PrinterSettings,
    outline_marks: Sequence[Mark] = (),
) -> Steps[Plan]:
    """Put the mended drawing of a plan on its base, made wide enough.

    The base is widened to its least width, its slits are closed, and it is grown to hold every motif with its
    margin.

    Parameters
    ----------
    plan : Plan
    mended : Mended
    ground : MultiPolygon
        What it must carry too: texts.
    base, printer, outline_marks : parts of the recipe

    Returns
    -------
    Plan
        With a note for every change, and the finding "much-repaired" where the drawing changed much.
    """
    motifs = in_shapes(plan.motifs, mended.motifs)
    findings = (*plan.findings, *mended.findings)
    if mended.much:
        x, y = place_of(shapely.box(*plan.base.bounds))
        findings += (finding("much-repaired", mended.much, (x, y, 0.0)),)
    yield Progress("widening the base", 0.0)
    carrying = plan.base if ground.is_empty else merged([plan.base, ground])
    wide, widenings = widened(carrying, base.min_width_mm, SLIT_NOZZLES * printer.nozzle_mm)
    wide = unchanged(wide, carrying, spared(plan.areas, outline_marks))
    yield Progress("widening the base", 0.3)
    wide, grown = held(wide, motifs, base.margin_mm)
    yield Progress("putting motifs on the base", 0.6)
    whole, kept = in_register(wide, motifs)
    notes = (*plan.notes, *mended.notes, *widenings, *grown)
    return replace(plan, base=whole, motifs=kept, notes=notes, findings=findings)


carry = drained(carry_steps)
