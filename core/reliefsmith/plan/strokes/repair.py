"""Repair: what the nozzle cannot print is thickened, opened, enlarged or given away, and only there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias, TypeVar

import numpy as np
import shapely

from ...model import Drawing, FlatAreas, Mended, Plan
from ...polygons import as_multi, merged, near, polygons_of, without
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, MotifSettings, PrinterSettings
from ...recipe.tables import Mark
from ..base.carry import carry_steps
from ..zones import without_motifs, zones_on
from .centerlines import strokes_steps
from .changed import MUCH, changed_share, is_faithful, smallest_good_scale
from .dots import enlarged
from .giveaway import Given, given_away_steps
from .intricacy import plannable_steps
from .leastwidths import Limits
from .partition import GROUND, Sheet, sheet_of
from .repairnotes import Gain, dot_notes, given_notes, stroke_notes
from .spared import NOTHING_KEPT, Kept, kept_steps
from .thickmarks import Wider, thickened_steps

__all__ = [
    "Limits",
    "mend",
    "mend_steps",
    "repair",
    "repair_steps",
    "repaired_sheet",
]

_T = TypeVar("_T")
_Changes: TypeAlias = tuple[list[shapely.Polygon], list[Gain], list[Given]]
"""What repair changed of a sheet: dots enlarged, discs of strokes, pieces given away."""

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
_MOST_SEARCHED = 10_000
"""Artworks of more vertices and nozzle widths of boundary than this are not tried at other widths: that would
take seconds, up to six times what repair takes once."""


def mend_steps(
    drawing: Drawing,
    areas: FlatAreas,
    *,
    motif: MotifSettings,
    printer: PrinterSettings,
    stroke_marks: Sequence[Mark] = (),
) -> Steps[Mended]:
    """Make a drawing printable: strokes, gaps and dots.

    Notes
    -----
    Order of the work: dots are enlarged; strokes thinner than the least stroke are thickened by discs along
    their center lines, colors by rising area, gaps (strokes of the ground) last, in up to four rounds in
    which squeezed neighbors move aside; what still cannot be printed goes to the neighbor with the longest
    shared boundary. Before all that, marks keep places as they are, or ask for wider strokes there.

    Parameters
    ----------
    drawing : Drawing
    areas : FlatAreas
        Before any change: where marks find what they mean.
    motif, printer : sections of the recipe
    stroke_marks : sequence of Mark
        What is protected, left thin, or thickened.

    Returns
    -------
    Mended
        With a note for every change, and words where over 3 % of the artwork changed or a large piece lost
        more than half.

    Raises
    ------
    GeometryError
        If fine strokes and gaps fill the artwork: repair would take minutes.
    """
    if not drawing.motifs:
        notes, missing = without_motifs(areas.polygons, stroke_marks)
        return Mended((), notes, findings=missing)
    limits = Limits.of(motif, printer)
    before = sheet_of(drawing.motifs)
    yield from plannable_steps(before, limits)
    kept, wider = NOTHING_KEPT, Wider(before)
    if stroke_marks:
        kept, wider = yield from _marked_steps(drawing, areas, before, limits, stroke_marks)
    after, (dots, gains, given) = yield from _repair_sheet(wider.sheet, limits, kept, wider.gains)
    much, wide_mm = yield from _much(drawing, wider.sheet, after, limits, kept)
    notes = (
        *wider.notes,
        *dot_notes(dots),
        *stroke_notes(gains[len(wider.gains) :], limits.stroke, limits.gap, limits.nozzle),
        *given_notes(given, limits.nozzle),
    )
    return Mended(after.motifs, notes, much, wider.findings, wide_mm)


mend = drained(mend_steps)


def _marked_steps(
    drawing: Drawing, areas: FlatAreas, sheet: Sheet, limits: Limits, marks: Sequence[Mark]
) -> Steps[tuple[Kept, Wider]]:
    """Find what marks keep, and make the strokes wider that they ask for."""
    zones, missing = zones_on(sheet, areas, drawing.base_color, marks)
    keeping = [zone for zone in zones if zone.mark.kind != "thicken"]
    kept, notes, found = yield from kept_steps(sheet, keeping, limits.stroke, limits.gap)
    asked = [zone for zone in zones if zone.mark.kind == "thicken"]
    sheet, gains, more, failed = yield from thickened_steps(sheet, asked, kept)
    return kept, Wider(sheet, tuple(gains), (*notes, *more), (*missing, *found, *failed))


def repair_steps(
    plan: Plan,
    *,
    base: BaseSettings,
    motif: MotifSettings,
    printer: PrinterSettings,
    outline_marks: Sequence[Mark] = (),
    stroke_marks: Sequence[Mark] = (),
) -> Steps[Plan]:
    """Mend the drawing of a plan, and carry it on its base."""
    colors = np.array(plan.area_colors, dtype=np.uint8).reshape(-1, 3)
    areas = FlatAreas(plan.areas, colors, plan.frame, plan.artwork_mm)
    mended = yield from mend_steps(
        plan.drawing, areas, motif=motif, printer=printer, stroke_marks=stroke_marks
    )
    yield _CARRYING
    carried = carry_steps(plan, mended, base=base, printer=printer, outline_marks=outline_marks)
    return (yield from _as_one(carried, _CARRYING))


repair = drained(repair_steps)


def _repair_sheet(
    sheet: Sheet, limits: Limits, kept: Kept = NOTHING_KEPT, wider: Sequence[Gain] = ()
) -> Steps[tuple[Sheet, _Changes]]:
    yield Progress("enlarging dots", 0.05)
    sheet, dots = _dots(sheet, limits, kept)
    gains = list(wider)
    for turn in range(_ROUNDS):
        for step, number in enumerate(sheet.numbers()):
            done = 0.1 + 0.1 * turn + 0.01 * min(step, 9)
            yield Progress("thickening strokes", done)
            sheet = yield from _stroke_turn(sheet, number, limits, gains, kept, turn=turn, fraction=done)
        if not any(gain.turn == turn for gain in gains):
            break
    more: list[shapely.Polygon] = []
    if gains or dots:
        sheet, more = _dots(sheet, limits, kept)  # thickened strokes may have become dots
    given: list[Given] = []
    zone = None
    is_noded = not (gains or dots or more)
    for turn in range(_PASSES):
        yield Progress("giving away what cannot print", 0.5 + 0.05 * turn)
        sheet, moved = yield from given_away_steps(
            sheet, limits.nozzle, zone, kept=kept, fraction=0.5 + 0.05 * turn
        )
        given += moved
        if not moved:
            break
        is_noded = True
        sheet, rounded = _dots(sheet, limits, kept)  # without its pointed ends a piece may have become a dot
        more += rounded
        is_noded &= not rounded
        zone = merged([*(item.polygon for item in moved), *rounded])
    if not is_noded:
        sheet = sheet.noded()
    return sheet, ([*dots, *more], gains, given)


def _without_notes(sheet: Sheet, limits: Limits, kept: Kept = NOTHING_KEPT) -> Steps[Sheet]:
    after, _ = yield from _repair_sheet(sheet, limits, kept)
    return after


repaired_sheet = drained(_without_notes)
"""The sheet after repair, without the notes."""


def _dots(sheet: Sheet, limits: Limits, kept: Kept) -> tuple[Sheet, list[shapely.Polygon]]:
    made: list[shapely.Polygon] = []
    for number in sheet.numbers():
        entry = sheet.entry(number)
        dots = enlarged(kept.allowed(number, entry), limits.dot, limits.nozzle)
        if dots:
            free = as_multi(merged(dots).difference(merged(made))) if made else merged(dots)
            free = kept.free(free, number, entry, 0.0)
            sheet = sheet.with_gain(number, free)
            made += dots
    return sheet, made


def _stroke_turn(
    sheet: Sheet,
    number: int,
    limits: Limits,
    gains: list[Gain],
    kept: Kept,
    *,
    turn: int,
    fraction: float,
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
    free = kept.free(without(found.discs, taken), number, entry, width / 2)
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


def _zone(number: int, gains: list[Gain]) -> shapely.Geometry:
    """Return what others took since this entry's last turn, and what it wanted then but had to leave."""
    last = max((i for i, gain in enumerate(gains) if gain.number == number), default=-1)
    since = [gain.added for gain in gains[last + 1 :] if gain.number != number]
    left = [gains[last].refused] if last >= 0 else []
    pieces = np.asarray(polygons_of([*since, *left]), dtype=object)
    return merged(pieces[shapely.area(pieces) >= _LEAST_TOUCHED_MM2])


def _much(
    drawing: Drawing, before: Sheet, after: Sheet, limits: Limits, kept: Kept
) -> Steps[tuple[str, float | None]]:
    """Say that much was changed, and from which width on it would be little; nothing if it was little."""
    area = max(drawing.area_mm2, _LEAST_FILL_MM2)
    if is_faithful(before, after, area):
        return "", None
    yield _SEARCHING
    advice, width = "simplify it", None
    motifs = np.asarray(before.motifs, dtype=object)
    vertices, widths = shapely.get_num_coordinates(motifs).sum(), shapely.length(motifs).sum() / limits.nozzle
    if vertices + widths <= _MOST_SEARCHED:
        trials = smallest_good_scale(
            before, area, lambda scale: _without_notes(before, limits.scaled(1 / scale), kept)
        )
        scale = yield from _as_one(trials, _SEARCHING)
        if scale is not None:
            width = float(math.ceil(scale * drawing.width_mm))
            advice = f"from a width of about {width:g} mm on it would be under {100 * MUCH:g} %"
    share = changed_share(before, after, area)
    return f"Repair changed {100 * share:.0f} % of the artwork's area; {advice}.", width


def _as_one(steps: Steps[_T], progress: Progress) -> Steps[_T]:
    """Pass steps on under one name and share, and return their value."""
    while True:
        try:
            next(steps)
        except StopIteration as stop:
            value: _T = stop.value
            return value
        yield progress
