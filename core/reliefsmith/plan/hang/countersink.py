"""Countersinks: the cone of a screw's head, in whole layers from the front, since that is how it prints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from ...findings import Finding, Note, finding, note
from ...model import Plan, Pocket
from ...polygons import disc, openings, polygons_of, snapped
from ...recipe.sections import HeightSettings
from .hardware import hardware_for
from .holeplace import Place, Site

__all__ = ["HEAD_PLAY_MM", "countersunk", "head_of"]

HEAD_PLAY_MM = 0.2
"""A head's countersink is wider than the head by this, so that printed steps let it sink to the surface."""

_LEAST_RING_MM = 0.02
"""A step narrower than this on a side is left to the hole."""

_ROUNDING = 1e-6


def head_of(hole_mm: float) -> tuple[float, float]:
    """Return thread and countersink diameter of the largest screw that a hole takes.

    Examples
    --------
    >>> head_of(5.0)
    (4.0, 8.6)
    """
    thread, head = hardware_for("screw", 0, 0).screw(hole_mm)
    return thread, head + HEAD_PLAY_MM


def countersunk(
    plan: Plan, places: Sequence[Place], site: Site, heights: HeightSettings
) -> tuple[Plan, tuple[Note, ...]]:
    """Return the plan with countersinks round its screw holes, and what is to be said of them.

    Each layer from the front is cut as wide as the cone is at the layer's upper face, so the head never sits
    on a step above its cone; rings that do not overlap, each as deep as it reaches. One layer of the base
    stays whole. Where the base is too low for the cone, a finding says how far the head stands out.

    Parameters
    ----------
    plan : Plan
        With the holes cut.
    places : sequence of Place
    site : Site
        With the diameter of the countersink as `head`.
    heights : HeightSettings
    """
    layer, half = heights.layer_mm, site.hole / 2
    spread = layer * math.tan(math.radians(hardware_for("screw", 0, 0).angle_deg / 2))
    wanted = math.ceil((site.head / 2 - half - _LEAST_RING_MM) / spread)
    room = math.floor((heights.base_mm - heights.first_layer_mm) / layer + _ROUNDING)
    radii = [site.head / 2 - step * spread for step in range(min(wanted, room))]
    pockets = [pocket for place in places for pocket in _rings(plan, place, radii, layer)]
    at = (round(places[0].x, 3), round(places[0].y, 3))
    words = f"Countersunk to {site.head:.1f} mm, {len(radii) * layer:.1f} mm deep, in {len(radii)} layers."
    short = (wanted - room) * layer
    return replace(
        plan,
        pockets=(*plan.pockets, *pockets),
        findings=(*plan.findings, *(_proud(short, heights, at) if wanted > room else ())),
    ), (note("countersunk", words, at, round(site.head, 3)),)


def _rings(plan: Plan, place: Place, radii: Sequence[float], layer: float) -> list[Pocket]:
    """Return one ring for each layer, the inmost one down to the hole's own edge."""
    middle = shapely.Point(place.x, place.y)
    bore = next(opening for opening in openings(plan.base) if opening.contains(middle))
    discs = [shapely.transform(disc(place.x, place.y, radius), snapped) for radius in radii]
    found = []
    for number, (outer, inner) in enumerate(pairwise([*discs, bore]), start=1):
        (ring,) = polygons_of(outer.difference(inner))
        found.append(Pocket("countersink", ring, round(number * layer, 6), "front"))
    return found


def _proud(short: float, heights: HeightSettings, at: tuple[float, float]) -> tuple[Finding, ...]:
    words = (
        f"The base is too low for the screw's head, which stands out by {short:.1f} mm: raise heights.base_mm"
        f" to {heights.base_mm + short:.1f} or choose a smaller screw (hang.hole_mm)."
    )
    return (finding("countersink-shallow", words, (*at, heights.base_mm)),)
