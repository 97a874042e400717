"""The border: everywhere as wide as the setting says, at marks as wide as they say, without steps between."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...findings import Finding, Note
from ...polygons import as_multi, grow, merged, polygons_of
from ...recipe.sections import BaseSettings
from ...recipe.tables import Mark, named
from ..zones import Zone, applied, missed, zone_of_art

__all__ = ["Borders", "bordered"]

_STEP_MM = 0.1
"""Between two widths the border changes by steps of at most this, each rounded off by its own offset: a
quarter of a nozzle's width, which no print shows."""

_MOST_STEPS = 32
_SLOPE = 0.5
"""The border changes by this much for each millimetre along the outline."""

_LEAST_TIP_MM2 = 1e-4
"""What a miter has beyond a round corner is a tip of at least this; less is chords of arcs."""


@dataclass(frozen=True, slots=True)
class Borders:
    """The artwork grown by its border.

    Parameters
    ----------
    grown : MultiPolygon
    wider : MultiPolygon
        What marks added to it, as a plate under the artwork needs it too.
    """

    grown: shapely.MultiPolygon
    wider: shapely.MultiPolygon


def bordered(
    art: shapely.MultiPolygon,
    areas: Sequence[shapely.MultiPolygon],
    base: BaseSettings,
    marks: Sequence[Mark],
) -> tuple[Borders, tuple[Note, ...], tuple[Finding, ...]]:
    """Grow the artwork by the border, and by that of each `border` mark where it is meant.

    Notes
    -----
    The border at a point of the artwork is the width w of a mark within its zone, and goes over to the
    setting's by half a millimetre a millimetre round it. The result is the union of discs of that radius,
    in steps of 0.1 mm.

    Parameters
    ----------
    art : MultiPolygon
        Union of all areas.
    areas : sequence of MultiPolygon
        In which marks find their zones.
    base : BaseSettings
    marks : sequence of Mark
        Others than "border" are passed over.
    """
    least = base.rim_mm + base.margin_mm if base.rim_mm > 0 else 0.0  # a rim stands on the border
    levels: list[tuple[shapely.Geometry, float]] = [(art, base.border_mm)]
    wide: list[tuple[shapely.Geometry, float]] = []
    notes: list[Note] = []
    findings: list[Finding] = []
    for name, mark in named(mark for mark in marks if mark.kind == "border"):
        zone = zone_of_art(areas, name, mark)
        if isinstance(zone, Finding):
            findings.append(zone)
            continue
        width = max(mark.value_mm or 0.0, least)
        if base.shape != "outline" and width <= base.border_mm:
            words = f"changes nothing: base.shape is {base.shape}, which only a wider border reaches beyond"
            findings.append(missed(name, words, zone.at_mm))
            continue
        levels = [level for old in levels for level in _narrowed(*old, zone, width)]
        more = _widened(art, zone, width, base.border_mm)
        wide += more
        levels += more
        notes.append(applied(zone, f"the border is {width:.2f} mm wide there"))
    grown = merged([_grown(art, shape, width, base.corners) for shape, width in levels])
    wider = merged([_grown(art, shape, width, base.corners) for shape, width in wide])
    return Borders(grown, wider), tuple(notes), tuple(findings)


def _ramp(start: float, end: float) -> list[tuple[float, float]]:
    """Return distances from a zone and the border there, from the zone's to the setting's."""
    steps = min(_MOST_STEPS, max(1, math.ceil(abs(end - start) / _STEP_MM)))
    return [(abs(w - start) / _SLOPE, float(w)) for w in np.linspace(start, end, steps + 1)]


def _widened(
    art: shapely.MultiPolygon, zone: Zone, width: float, border: float
) -> list[tuple[shapely.Geometry, float]]:
    """Return parts of the artwork round a zone with their borders, where the mark's is the wider one."""
    if width <= border:
        return []
    ramp = _ramp(width, border)[:-1]
    return [(art.intersection(grow(zone.shape, away)), at) for away, at in ramp]


def _narrowed(
    part: shapely.Geometry, border: float, zone: Zone, width: float
) -> list[tuple[shapely.Geometry, float]]:
    """Return a part of the artwork in pieces with their borders, where the mark's is the narrower one."""
    if width >= border:
        return [(part, border)]
    ramp = _ramp(width, border)
    return [(part, width), *((part.difference(grow(zone.shape, away)), at) for away, at in ramp[1:])]


def _grown(art: shapely.Geometry, part: shapely.Geometry, width: float, corners: str) -> shapely.MultiPolygon:
    """Grow a part of the artwork; where it was cut off, its corners are no corners of the artwork."""
    if corners == "round" or part is art:
        return grow(part, width, corners)
    around, whole = grow(part, width), grow(art, width, corners)
    if corners == "bevel":
        return as_multi(around.intersection(whole))
    tips = [tip for tip in polygons_of(whole.difference(grow(art, width))) if tip.area >= _LEAST_TIP_MM2]
    return merged([around, *(tip for tip in tips if tip.intersects(around))])
