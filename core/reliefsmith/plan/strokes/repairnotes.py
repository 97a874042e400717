"""Notes of what repair changed: where, how wide it was before and is now, over what length."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...findings import Note, note
from ...polygons import merged, polygons_of
from ..remarks import LEAST_NOTED_MM2, remarks
from .centerlines import Strokes
from .giveaway import Given
from .partition import GROUND

__all__ = ["Gain", "dot_notes", "given_notes", "stroke_notes"]

_LEAST_REFUSED_MM2 = 0.02
_SAME_MM = 0.005
"""Widths are told to 0.01 mm; a stroke this near to its least width is named by the width alone."""
_SMALL = "A piece of {size} mm is too small to print and was left out"


@dataclass(frozen=True, slots=True)
class Gain:
    """Discs that one entry of the sheet got in one turn, and what of them others had already."""

    number: int
    turn: int
    discs: shapely.MultiPolygon
    added: shapely.MultiPolygon
    refused: shapely.MultiPolygon
    strokes: Strokes


def dot_notes(dots: Iterable[shapely.Polygon]) -> tuple[Note, ...]:
    """Note the dots that were enlarged."""
    return remarks("dot-enlarged", dots, "A dot was enlarged to {size} mm.")


def stroke_notes(gains: Sequence[Gain], stroke: float, gap: float, tip: float) -> tuple[Note, ...]:
    """Note strokes that were thickened and gaps that were opened.

    Parameters
    ----------
    gains : sequence of Gain
    stroke, gap, tip : float
        Least widths in mm of strokes, of gaps, and of pointed ends.
    """
    made: list[Note] = []
    for number in sorted({gain.number for gain in gains if gain.number != GROUND}):
        own = [gain for gain in gains if gain.number == number]
        words = _words(own, "A stroke", "thickened", stroke, tip)
        made += remarks("stroke-thickened", _noted(own), words)
    own = [gain for gain in gains if gain.number == GROUND]
    return (*made, *remarks("gap-opened", _noted(own), _words(own, "A gap", "opened", gap, tip)))


def given_notes(given: Sequence[Given], nozzle: float) -> tuple[Note, ...]:
    """Note pieces that were left out and gaps that were closed, and how many tips of others were rounded."""
    tips = [item for item in given if item.polygon.area < nozzle**2 / (1 if item.is_tail else 4)]
    whole = [item for item in given if item.polygon.area >= nozzle**2 / 4 and not item.is_tail]
    ends = [item.polygon for item in given if item.polygon.area >= nozzle**2 and item.is_tail]
    gaps = [item.polygon for item in whole if item.origin == GROUND]
    passed = [item.polygon for item in whole if GROUND not in (item.origin, item.target)]
    dropped = [item.polygon for item in whole if item.origin != GROUND and item.target == GROUND]
    notes = (
        *remarks("area-removed", passed, f"{_SMALL}; its area went to the color beside it."),
        *remarks("area-removed", dropped, f"{_SMALL}; the ground shows in its place."),
        *remarks("area-removed", ends, "An end narrower than the nozzle was shortened by {size} mm."),
        *remarks("gap-closed", gaps, "A gap of {size} mm too narrow to print was closed."),
    )
    if tips:
        words = f"{len(tips)} tips and chips narrower than the nozzle were rounded."
        notes += (note("area-removed", words),)
    return notes


def _words(
    own: Sequence[Gain], what: str, done: str, width: float, tip: float
) -> Callable[[shapely.Polygon], str]:
    """Return what tells of a place how wide it was before and is now."""

    def words(place: shapely.Polygon) -> str:
        before = _width_before(own, place)
        if before is None:
            return f"A pointed end was made {tip:.2f} mm wide over {{size}} mm."
        refused = sum(gain.refused.intersection(place.buffer(width / 2)).area for gain in own[-1:])
        room = ", as far as its neighbors leave room," if refused >= _LEAST_REFUSED_MM2 else ""
        start = f"{what} of {before:.2f} mm" if before < width - _SAME_MM else f"{what} under {width:.2f} mm"
        return f"{start} was {done} to {width:.2f} mm{room} over {{size}} mm."

    return words


def _width_before(own: Sequence[Gain], place: shapely.Polygon) -> float | None:
    """Return the median width along the center line in a place, by the first turn that found one there."""
    shapely.prepare(place)
    for gain in own:
        x, y = gain.strokes.points.T
        inside = shapely.contains_xy(place, x, y)
        if inside.any():
            return float(np.median(gain.strokes.widths[inside]))
    return None


def _noted(own: Sequence[Gain]) -> list[shapely.Polygon]:
    """Return the places at which the discs of one entry added something worth a note."""
    places = np.asarray(polygons_of(merged([gain.discs for gain in own])), dtype=object)
    added = np.asarray(polygons_of([gain.added for gain in own]), dtype=object)
    if len(added) == 0:
        return []
    piece, place = shapely.STRtree(places).query(shapely.point_on_surface(added), predicate="intersects")
    sums = np.bincount(place, weights=shapely.area(added)[piece], minlength=len(places))
    return list(places[sums >= LEAST_NOTED_MM2])
