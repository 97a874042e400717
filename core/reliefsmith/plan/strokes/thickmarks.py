"""Strokes that a mark makes wider than the printer asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...findings import Finding, Note
from ...polygons import as_multi, grow, merged, near, without
from ...progress import Steps
from ..zones import Zone, applied, missed
from .centerlines import Strokes, strokes_steps
from .partition import GROUND, Sheet
from .repairnotes import Gain, stroke_notes
from .spared import Kept

__all__ = ["BEFORE_ALL", "Wider", "thickened_steps"]

BEFORE_ALL = -1
"""The turn of what marks thicken: before all turns of repair."""

_LEAST_STEP_MM = 0.5
"""Center lines are followed down to an eighth of a width; wide strokes are reached by doubling from here."""

_LEAST_GAIN_MM2 = 0.001
_END_SLACK = 1.001


@dataclass(frozen=True, slots=True)
class Wider:
    """A sheet on which marks made strokes wider, by which gains, and what is said of it."""

    sheet: Sheet
    gains: tuple[Gain, ...] = ()
    notes: tuple[Note, ...] = ()
    findings: tuple[Finding, ...] = ()


def thickened_steps(
    sheet: Sheet, zones: Sequence[Zone], kept: Kept
) -> Steps[tuple[Sheet, list[Gain], tuple[Note, ...], tuple[Finding, ...]]]:
    """Make strokes in zones as wide as their marks say.

    Returns
    -------
    (Sheet, list of Gain, tuple of Note, tuple of Finding)
        Gains that repair leaves alone; two notes for each mark that is applied, what was asked and what was
        changed where; a finding for each that finds no thinner stroke.
    """
    gains: list[Gain] = []
    notes: list[Note] = []
    findings: list[Finding] = []
    for zone in zones:
        width = zone.mark.value_mm or 0.0
        own: list[Gain] = []
        for number in _numbers(sheet, zone):
            gain = yield from _gain_steps(sheet, zone, number, kept, gains)
            if gain is not None:
                sheet = sheet.with_gain(number, gain.discs)
                gains.append(gain)
                own.append(gain)
        if own:
            notes.append(applied(zone, f"strokes there are {width:.2f} mm wide or wider"))
            notes += stroke_notes(own, width, width, width)
        else:
            findings.append(missed(zone.name, f"finds no stroke thinner than {width:.2f} mm", zone.at_mm))
    return sheet, gains, tuple(notes), tuple(findings)


def _numbers(sheet: Sheet, zone: Zone) -> list[int]:
    """Return the entries whose strokes are meant: the one at the point, or every motif in the polygon."""
    if zone.number is not None:
        return [zone.number]
    return [n for n in sheet.numbers() if n != GROUND and sheet.entry(n).intersects(zone.shape)]


def _gain_steps(
    sheet: Sheet, zone: Zone, number: int, kept: Kept, gains: Sequence[Gain]
) -> Steps[Gain | None]:
    """Thicken the strokes of one entry in a zone by doubling widths."""
    width = zone.mark.value_mm or 0.0
    entry = sheet.entry(number)
    piece = zone.shape if zone.number is not None else near(entry, zone.shape, 2 * width)
    widths = width / 2.0 ** np.arange(max(0, int(np.ceil(np.log2(width / _LEAST_STEP_MM)))), -1, -1)
    grown, first, discs = piece, None, shapely.MultiPolygon()
    for step in widths:
        found: Strokes = yield from strokes_steps(grown, float(step), zone.shape)
        first = found if first is None or len(first.widths) == 0 else first
        grown, discs = merged([grown, found.discs]), merged([discs, found.discs])
    if first is None or discs.is_empty:
        return None
    if zone.number is None:
        part = piece.intersection(zone.shape)
        discs = as_multi(discs.intersection(grow(part, width / 2 * _END_SLACK)))
    others = merged([gain.discs for gain in gains if gain.number != number])
    free = kept.free(without(discs, others), number, entry, 0.0)
    added = without(free, near(entry, free, 0.0)) if not free.is_empty else free
    if added.area < _LEAST_GAIN_MM2:
        return None
    return Gain(number, BEFORE_ALL, free, added, shapely.MultiPolygon(), first)
