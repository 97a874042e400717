"""What marks keep of the sheet while it is repaired."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from ...findings import Finding, Note, finding
from ...model.arrays import Flags
from ...polygons import as_multi, grow, merged, near, polygons_of, without
from ...progress import Steps
from ..zones import Zone, applied, missed
from .centerlines import strokes_steps, thin_places
from .partition import GROUND, Sheet

__all__ = ["NOTHING_KEPT", "Kept", "kept_steps"]

_RING_MM = 0.02
"""Growth is stopped this much farther than a disc reaches: chords, oversize and smoothing of center lines."""

_LEAST_MM2 = 1e-6
"""Pieces that share less than this touch along a boundary only."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of a sheet.

    Parameters
    ----------
    closed : MultiPolygon
        Nothing in here changes its owner.
    own : tuple of MultiPolygon
        What each entry keeps as it is, the ground last; the entry does not grow from it either.
    whole : MultiPolygon
        Pieces that get nothing from others, so that they stay the same to the last vertex.
    """

    closed: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    own: tuple[shapely.MultiPolygon, ...] = ()
    whole: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)

    def free(
        self, gain: shapely.MultiPolygon, number: int, entry: shapely.Geometry, reach: float
    ) -> shapely.MultiPolygon:
        """Return what of a gain an entry may take: nothing kept, nothing within reach of what it keeps."""
        if self.closed.is_empty or gain.is_empty:
            return gain
        left = without(gain, self.closed)
        if not self.own[number].is_empty:
            left = without(left, grow(self.own[number], reach + _RING_MM))
        return as_multi([piece for piece in polygons_of(left) if piece.intersects(entry)])

    def spared(self, number: int, pieces: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
        """Return pieces of an entry without those of which it keeps something."""
        if self.closed.is_empty or self.own[number].is_empty:
            return list(pieces)
        held = _share(pieces, self.own[number])
        return [piece for piece, hit in zip(pieces, held, strict=True) if not hit]

    def allowed(self, number: int, entry: shapely.MultiPolygon) -> shapely.MultiPolygon:
        """Return the pieces of an entry that may be changed."""
        if self.closed.is_empty or self.own[number].is_empty:
            return entry
        return as_multi(self.spared(number, polygons_of(entry)))

    def barred(
        self,
        pieces: Sequence[shapely.Polygon],
        owners: Sequence[int],
        beside: dict[int, list[tuple[int, float]]],
    ) -> dict[int, set[int]]:
        """Return to which owners pieces may not be given.

        A piece beside one that gets nothing goes to its owner through no other neighbor either, since it
        would join the two.
        """
        if self.whole.is_empty:
            return {}
        held = _share(pieces, self.whole)
        return {
            index: {owners[there] for there, _ in pairs if held[there]} for index, pairs in beside.items()
        }


NOTHING_KEPT = Kept()


def _share(pieces: Sequence[shapely.Polygon], kept: shapely.Geometry) -> Flags:
    shapely.prepare(kept)
    shapes = np.asarray(pieces, dtype=object)
    shared = np.zeros(len(shapes), dtype=bool)
    for index in np.flatnonzero(shapely.intersects(kept, shapes)):
        shared[index] = shapes[index].intersection(kept).area > _LEAST_MM2
    return shared


def kept_steps(
    sheet: Sheet, zones: Sequence[Zone], stroke: float, gap: float
) -> Steps[tuple[Kept, tuple[Note, ...], tuple[Finding, ...]]]:
    """Find what `protect` and `leave-thin` keep of a sheet.

    Parameters
    ----------
    sheet : Sheet
    zones : sequence of Zone
    stroke, gap : float
        Least widths in mm, below which a stroke is thin.

    Returns
    -------
    (Kept, tuple of Note, tuple of Finding)
        A note for each mark that is applied, and the finding "left-thin" where what stays is thin.
    """
    closed: list[shapely.Geometry] = []
    whole: list[shapely.Geometry] = []
    own: list[list[shapely.Geometry]] = [[] for _ in (*sheet.motifs, GROUND)]
    notes: list[Note] = []
    findings: list[Finding] = []
    for zone in zones:
        held = _held(sheet, zone, stroke, gap)
        thinnest = yield from _thinnest_steps(held[:-1], stroke)
        slit = yield from _thinnest_steps(held[-1:], gap)
        if zone.mark.kind == "leave-thin" and not np.isfinite(min(thinnest, slit)):
            words = f"finds no stroke thinner than {stroke:.2f} mm there"
            findings.append(missed(zone.name, words, zone.at_mm))
            continue
        closed += [zone.shape] if zone.mark.kind == "protect" else held
        whole += [zone.shape] if zone.mark.kind == "protect" and zone.number is not None else []
        for parts, part in zip(own, held, strict=True):
            parts.append(part)
        words = "is kept as drawn" if zone.mark.kind == "protect" else "stays as thin as it is drawn"
        notes.append(applied(zone, f"what lies there {words}"))
        if thinnest < stroke:
            message = f"{zone.name}: strokes down to {thinnest:.2f} mm were left thin, as wished; "
            message += f"below {stroke:g} mm they may not print."
            findings.append(finding("left-thin", message, (*zone.at_mm, 0.0)))
    if not closed:
        return NOTHING_KEPT, tuple(notes), tuple(findings)
    kept = Kept(merged(closed), tuple(merged(parts) for parts in own), merged(whole))
    return kept, tuple(notes), tuple(findings)


def _held(sheet: Sheet, zone: Zone, stroke: float, gap: float) -> list[shapely.MultiPolygon]:
    """Return what each entry keeps in a zone, the ground last: everything, or its thin strokes."""
    numbers = [*range(len(sheet.motifs)), GROUND]
    if zone.number is not None:
        held = [zone.shape if number == zone.number else shapely.MultiPolygon() for number in numbers]
    else:
        held = [as_multi(sheet.entry(number).intersection(zone.shape)) for number in numbers]
    if zone.mark.kind == "protect":
        return held
    if zone.number is None:
        held[-1] = shapely.MultiPolygon()  # gaps between motifs are no strokes
    thin: list[shapely.MultiPolygon] = []
    for number, part in zip(numbers, held, strict=True):
        width = gap if number == GROUND else stroke
        if part.is_empty:
            thin.append(part)
            continue
        area = part if zone.number is not None else near(sheet.entry(number), zone.shape, 2 * width)
        places = merged(thin_places(area, width))
        thin.append(as_multi(part.intersection(places)))
    return thin


def _thinnest_steps(parts: Sequence[shapely.MultiPolygon], stroke: float) -> Steps[float]:
    """Return the width of the thinnest stroke, along its center line."""
    thinnest = np.inf
    for part in parts:
        if not part.is_empty:
            found = yield from strokes_steps(part, stroke)
            thinnest = min(thinnest, *found.widths, np.inf)
    return float(thinnest)
