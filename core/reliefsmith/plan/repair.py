"""Repair: what the nozzle cannot print is thickened, opened, enlarged or given away, and only there."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Note, finding
from ..model import Drawing, Mended, Motif, Plan
from ..plane import as_multi, merged, near, polygons_of, without
from ..progress import Progress, Steps, drained
from ..sections import BaseSettings, MotifSettings, PrinterSettings
from .dots import enlarged
from .fidelity import MUCH, changed_share, is_faithful, smallest_good_scale
from .giveaway import Given, given_away_steps
from .outline import held
from .register import in_register
from .remarks import place_of
from .repairnotes import Gain, dot_notes, given_notes, stroke_notes
from .sheet import GROUND, Sheet, sheet_of
from .strokes import strokes_steps
from .width import SLIT_NOZZLES, widened

__all__ = [
    "Limits",
    "carry",
    "carry_steps",
    "mend",
    "mend_steps",
    "repair",
    "repair_steps",
    "repaired_sheet",
]

_T = TypeVar("_T")

USUAL_NOZZLE_MM = 0.4
"""The nozzle for which the least stroke, gap and dot are stated; a wider one scales them up."""

_ROUNDS = 4
"""Neighbors that squeeze each other settle within four rounds: 0.3 mm strokes side by side reach 0.59."""

_PASSES = 3
"""Giving away leaves new tails; three passes leave none that matter."""

_LEAST_FILL_MM2 = 0.01
_LEAST_GAIN_MM2 = 0.001
_LEAST_TOUCHED_MM2 = 0.01
"""What lost less than this, a tenth of a millimetre squared, is not looked at again."""

_CARRYING = Progress("widening the base", 0.8)
_SEARCHING = Progress("looking for a width that keeps the artwork", 0.65)
_MOST_SEARCHED = 6000
"""Artworks with more vertices than this are not tried at other widths: that would take seconds."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Least printable widths in mm."""

    stroke: float
    gap: float
    dot: float
    nozzle: float

    @classmethod
    def of(cls, motif: MotifSettings, printer: PrinterSettings) -> Limits:
        """Take what was measured on this printer, else the settings, scaled up for a wider nozzle."""
        scale = max(1.0, printer.nozzle_mm / USUAL_NOZZLE_MM)
        stroke, gap, dot = (
            width * scale for width in (motif.min_stroke_mm, motif.min_gap_mm, motif.min_dot_mm)
        )
        stroke = stroke if printer.least_stroke_mm is None else printer.least_stroke_mm
        gap = gap if printer.least_gap_mm is None else printer.least_gap_mm
        return cls(stroke, gap, dot, printer.nozzle_mm)

    def scaled(self, factor: float) -> Limits:
        """Return the limits for artwork enlarged by 1 / factor, in the artwork's present millimetres."""
        return Limits(self.stroke * factor, self.gap * factor, self.dot * factor, self.nozzle * factor)


def mend_steps(drawing: Drawing, *, motif: MotifSettings, printer: PrinterSettings) -> Steps[Mended]:
    """Make a drawing printable: strokes, gaps and dots.

    Notes
    -----
    Order of the work: dots are enlarged; strokes thinner than the least stroke are thickened by discs along
    their center lines, colors by rising area, gaps (strokes of the ground) last, in up to four rounds in
    which squeezed neighbors move aside; what still cannot be printed goes to the neighbor with the longest
    shared boundary.

    Returns
    -------
    Mended
        With a note for every change, and words where over 3 % of the artwork changed or a large piece lost
        more than half.
    """
    if not drawing.motifs:
        return Mended(())
    limits = Limits.of(motif, printer)
    before = sheet_of(drawing.motifs)
    after, notes = yield from _repair_sheet(before, limits)
    much = yield from _much(drawing, before, after, limits)
    return Mended(after.motifs, notes, much)


mend = drained(mend_steps)


def carry_steps(plan: Plan, mended: Mended, *, base: BaseSettings, printer: PrinterSettings) -> Steps[Plan]:
    """Put the mended drawing of a plan on its base, made wide enough.

    The base is widened to its least width, its slits are closed, and it is grown to hold every motif with its
    margin.

    Returns
    -------
    Plan
        With a note for every change, and the finding "much-repaired" where the drawing changed much.
    """
    motifs = [
        Motif(item.color, part)
        for item, part in zip(plan.motifs, mended.motifs, strict=True)
        if not part.is_empty
    ]
    findings = plan.findings
    if mended.much:
        x, y = place_of(shapely.box(*plan.base.bounds))
        findings += (finding("much-repaired", mended.much, (x, y, 0.0)),)
    yield Progress("widening the base", 0.0)
    wide, widenings = widened(plan.base, base.min_width_mm, SLIT_NOZZLES * printer.nozzle_mm)
    yield Progress("widening the base", 0.3)
    wide, grown = held(wide, motifs, base.margin_mm)
    yield Progress("putting motifs on the base", 0.6)
    whole, kept = in_register(wide, motifs)
    notes = (*plan.notes, *mended.notes, *widenings, *grown)
    return replace(plan, base=whole, motifs=kept, notes=notes, findings=findings)


carry = drained(carry_steps)


def repair_steps(
    plan: Plan, *, base: BaseSettings, motif: MotifSettings, printer: PrinterSettings
) -> Steps[Plan]:
    """Mend the drawing of a plan, and carry it on its base."""
    mended = yield from mend_steps(plan.drawing, motif=motif, printer=printer)
    yield _CARRYING
    return (yield from _as_one(carry_steps(plan, mended, base=base, printer=printer), _CARRYING))


repair = drained(repair_steps)


def _repair_sheet(sheet: Sheet, limits: Limits) -> Steps[tuple[Sheet, tuple[Note, ...]]]:
    yield Progress("enlarging dots", 0.05)
    sheet, dots = _dots(sheet, limits)
    gains: list[Gain] = []
    for turn in range(_ROUNDS):
        for step, number in enumerate(sheet.numbers()):
            done = 0.1 + 0.1 * turn + 0.01 * min(step, 9)
            yield Progress("thickening strokes", done)
            sheet = yield from _stroke_turn(sheet, number, limits, gains, turn=turn, fraction=done)
        if not any(gain.turn == turn for gain in gains):
            break
    sheet, more = _dots(sheet, limits)  # thickened strokes may have become dots
    given: list[Given] = []
    zone = None
    is_noded = not (gains or dots or more)
    for turn in range(_PASSES):
        yield Progress("giving away what cannot print", 0.5 + 0.05 * turn)
        sheet, moved = yield from given_away_steps(sheet, limits.nozzle, zone, fraction=0.5 + 0.05 * turn)
        given += moved
        if not moved:
            break
        is_noded = True
        sheet, rounded = _dots(sheet, limits)  # without its pointed ends a piece may have become a dot
        more += rounded
        is_noded &= not rounded
        zone = merged([*(item.polygon for item in moved), *rounded])
    if not is_noded:
        sheet = sheet.noded()
    notes = (
        *dot_notes([*dots, *more]),
        *stroke_notes(gains, limits.stroke, limits.gap, limits.nozzle),
        *given_notes(given, limits.nozzle),
    )
    return sheet, notes


def _without_notes(sheet: Sheet, limits: Limits) -> Steps[Sheet]:
    after, _ = yield from _repair_sheet(sheet, limits)
    return after


repaired_sheet = drained(_without_notes)
"""The sheet after repair, without the notes."""


def _dots(sheet: Sheet, limits: Limits) -> tuple[Sheet, list[shapely.Polygon]]:
    made: list[shapely.Polygon] = []
    for number in sheet.numbers():
        dots = enlarged(sheet.entry(number), limits.dot, limits.nozzle)
        if dots:
            free = as_multi(merged(dots).difference(merged(made))) if made else merged(dots)
            sheet = sheet.with_gain(number, free)
            made += dots
    return sheet, made


def _stroke_turn(
    sheet: Sheet, number: int, limits: Limits, gains: list[Gain], *, turn: int, fraction: float
) -> Steps[Sheet]:
    """Thicken one entry; discs that others made before are left to them, so it moves aside.

    After the first turn only places that others touched since this entry's last turn are looked at.
    """
    zone = _zone(number, gains) if turn > 0 else None
    if zone is not None and zone.is_empty:
        return sheet
    entry = sheet.entry(number)
    width = limits.gap if number == GROUND else limits.stroke
    found = yield from strokes_steps(
        entry, width, zone, tip=limits.nozzle if turn == 0 else 0.0, fraction=fraction
    )
    taken = _met([gain.discs for gain in gains if gain.number != number], found.discs)
    free = without(found.discs, taken)
    added = without(free, near(entry, free, 0.0)) if not free.is_empty else free
    if added.area < _LEAST_GAIN_MM2:
        return sheet
    refused = as_multi(found.discs.intersection(taken))
    gains.append(Gain(number, turn, free, added, refused, found))
    yield Progress("thickening strokes", fraction)
    return sheet.with_gain(number, free)


def _met(shapes: list[shapely.MultiPolygon], other: shapely.MultiPolygon) -> shapely.MultiPolygon:
    """Return the union of the pieces of shapes whose boxes meet a box of a piece of another shape."""
    pieces = np.asarray(polygons_of(shapes), dtype=object)
    hit = shapely.STRtree(pieces).query(np.asarray(polygons_of(other), dtype=object))[1]
    return merged(pieces[np.unique(hit)])


def _zone(number: int, gains: list[Gain]) -> BaseGeometry:
    """Return what others took since this entry's last turn, and what it wanted then but had to leave."""
    last = max((i for i, gain in enumerate(gains) if gain.number == number), default=-1)
    since = [gain.added for gain in gains[last + 1 :] if gain.number != number]
    left = [gains[last].refused] if last >= 0 else []
    pieces = np.asarray(polygons_of([*since, *left]), dtype=object)
    return merged(pieces[shapely.area(pieces) >= _LEAST_TOUCHED_MM2])


def _much(drawing: Drawing, before: Sheet, after: Sheet, limits: Limits) -> Steps[str]:
    """Say that much was changed, and from which width on it would be little; nothing if it was little."""
    area = max(drawing.area_mm2, _LEAST_FILL_MM2)
    if is_faithful(before, after, area):
        return ""
    yield _SEARCHING
    advice = "simplify it"
    if sum(shapely.get_num_coordinates(motif) for motif in before.motifs) <= _MOST_SEARCHED:
        trials = smallest_good_scale(
            before, area, lambda scale: _without_notes(before, limits.scaled(1 / scale))
        )
        scale = yield from _as_one(trials, _SEARCHING)
        if scale is not None:
            width = math.ceil(scale * drawing.width_mm)
            advice = f"from a width of about {width} mm on it would be under {100 * MUCH:g} %"
    share = changed_share(before, after, area)
    return f"Repair changed {100 * share:.0f} % of the artwork's area; {advice}."


def _as_one(steps: Steps[_T], progress: Progress) -> Steps[_T]:
    """Pass steps on under one name and share, and return their value."""
    while True:
        try:
            next(steps)
        except StopIteration as stop:
            value: _T = stop.value
            return value
        yield progress
