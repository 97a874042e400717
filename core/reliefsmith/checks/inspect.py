"""Inspection of a finished plan: findings on its solids as they will be printed, and the estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..colorimetry.hiding import measured_stock
from ..findings import Finding, finding
from ..mesh import signed_volume
from ..model import Accessory, Contours, Estimate, Inspection, Part, Plan, Slab, Stack
from ..progress import Progress, Steps, drained
from ..recipe.sections import (
    CostSettings,
    FilamentSettings,
    FormSettings,
    HangSettings,
    HeightSettings,
    Inscription,
    PrinterSettings,
)
from .accessorychecks import accessory_findings_steps
from .changes import Schedule, hand_loads, schedule
from .contrast import color_findings
from .estimate import colors_by_layer, estimate
from .forms import form_findings
from .handling import bed_findings, handling_findings
from .handwork import hand_changes, hand_thin
from .hanging import plan_findings
from .independent import center_of_mass, solid_findings
from .layerchecks import layer_findings_steps
from .layerstack import Layer, in_printing_order, layers_of_stack_steps, seen_layers
from .magnets import caution_findings

__all__ = ["inspect", "inspect_steps"]

OVER_EDGE_MM2 = 1e-6
"""Area of a motif outside the base that is more than rounding of the 1 um grid."""

_NO_FORM = FormSettings()

VOLUME_SHARE = 1e-9
"""How exactly a solid must hold area times height of its slabs."""


def inspect_steps(
    plan: Plan,
    stack: Stack,
    parts: tuple[Part, ...],
    accessories: tuple[Accessory, ...] = (),
    *,
    heights: HeightSettings,
    printer: PrinterSettings,
    hang: HangSettings,
    cost: CostSettings,
    filaments: FilamentSettings,
    audience: str,
    form: FormSettings = _NO_FORM,
    lettering: Sequence[Inscription] = (),
) -> Steps[Inspection]:
    """Judge the solids and estimate what they take.

    What the plan has found already is not said twice; what it states of the hanging hole is measured again on
    the solids' own outline.

    Parameters
    ----------
    plan, stack, parts, accessories
        As the stages before made them.
    audience : str
        "adults" or "children"; stricter for children.
    form, lettering : parts of the recipe
        What the piece is to be used as, and its texts.
    """
    found: list[Finding] = []
    for part in parts:
        yield Progress("checking solids", 0.0)
        found += (*solid_findings([part]), *_volume(stack, part))
    layers = yield from layers_of_stack_steps(stack, parts)
    found += _over_edge(plan)
    motifs = {part.name for part in parts if part.role == "motif"}
    segments = [plan.base] if plan.division is None else [one.outline for one in plan.division.segments]
    plates = len(segments) if stack.back_at_mm is None else 2
    judged = yield from layer_findings_steps(
        layers, nozzle_mm=printer.nozzle_mm, motifs=motifs, plates=plates
    )
    found += (_on_piece(item, stack) for item in judged)
    yield Progress("measuring the hanging hole", 0.8)
    seen = seen_layers(stack, parts) if stack.piece else layers
    found += _hanging(plan, seen, hang)
    for slab in stack.slabs:
        yield Progress("looking at hand relief", 0.88)
        found += hand_thin(slab, printer.nozzle_mm, heights.layer_mm)
    yield Progress("looking at colors, tips and size", 0.9)
    colors = {part.name: part.color for part in parts}
    found += color_findings(seen, colors, heights.layer_mm, measured_stock(filaments.stock))
    found += handling_findings(plan.whole, audience=audience)
    found += caution_findings(plan, audience=audience)
    for outline in segments:
        told = {item.code for item in found}
        found += (item for item in bed_findings(outline, printer.bed_mm) if item.code not in told)
    for accessory in accessories:
        found += yield from accessory_findings_steps(
            accessory, nozzle_mm=printer.nozzle_mm, bed_mm=printer.bed_mm, audience=audience
        )
    found += form_findings(form, lettering)
    yield Progress("estimating time and plastic", 0.95)
    printed = in_printing_order(layers, stack.jobs)
    made = estimate(parts, printed, printer=printer, cost=cost)
    order = schedule(colors_by_layer(printed, colors))
    found += _changes(order, made, printer, has_back=bool(plan.inlays))
    found += hand_changes(stack, colors, order, printer)
    said = {item.code for item in (*plan.findings, *stack.findings)}
    fresh = tuple(item for item in found if item.code not in said)
    return Inspection(fresh, made)


inspect = drained(inspect_steps)


def _volume(stack: Stack, part: Part) -> list[Finding]:
    """Tell of a solid that does not hold just what its slabs do."""
    least, most = np.sum([_bounds(slab) for slab in stack.slabs if slab.part == part.name], axis=0)
    volume, slack = signed_volume(part.vertices, part.triangles), VOLUME_SHARE * most
    if least - slack <= volume <= most + slack:
        return []
    return [finding("not-watertight", f"{part.name} does not hold the volume of its slabs.")]


def _bounds(slab: Slab) -> tuple[float, float]:
    """Return the least and the greatest volume of a slab: the same for a flat top.

    A slope from contour to contour holds at least what lies straight below the inner one, and at most what
    lies straight below the outer one.
    """
    upright = slab.polygon.area * (slab.upright_mm - slab.bottom_mm)
    if isinstance(slab.top, Contours):
        steps = np.diff(slab.top.levels_mm)
        areas = shapely.area(slab.top.shapes)
        return upright + float((areas[1:] * steps).sum()), upright + float((areas[:-1] * steps).sum())
    return upright, slab.polygon.area * (slab.highest_mm - slab.bottom_mm)


def _on_piece(item: Finding, stack: Stack) -> Finding:
    """Return a finding whose place is that on the finished piece, front up."""
    return item if item.at_mm is None else replace(item, at_mm=stack.on_piece(item.at_mm))


def _changes(order: Schedule, made: Estimate, printer: PrinterSettings, *, has_back: bool) -> list[Finding]:
    """Say when colors that share layers make hand work."""
    by_hand = hand_loads(order.colors, printer.filaments)
    if not order.inside or not by_hand:
        return []
    stepped = max(0, len(set(order.colors)) - printer.filaments)
    words = (
        f"Colors lie in the same layers, so {by_hand} changes are by hand ({made.attended_min:.0f} minutes of"
        f" attention, {printer.filaments} loaded at once). "
    )
    if has_back:
        words += "Fewer colors of the second picture (back.colors, back.palette) mean fewer."
    else:
        words += f"In the stepped style it would be {stepped}."
    return [finding("changes-in-layers", words)]


def _over_edge(plan: Plan) -> list[Finding]:
    found = []
    shapely.prepare(plan.base)
    for item in plan.motifs:
        if shapely.covers(plan.base, item.polygon):
            continue
        over = shapely.difference(item.polygon, plan.base)
        if over.area > OVER_EDGE_MM2:
            place = over.representative_point()
            words = f"A motif reaches {over.area:.3g} mm2 beyond the base."
            found.append(finding("motif-over-edge", words, (round(place.x, 2), round(place.y, 2), 0.0)))
    return found


def _hanging(plan: Plan, layers: Sequence[Layer], hang: HangSettings) -> tuple[Finding, ...]:
    if hang.hardware == "none":
        return ()
    return plan_findings(plan, center_of_mass(layers), layers[-1].top_mm)
