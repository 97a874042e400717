"""Holes cut into a plan at given places: eyelets where the base does not reach, motifs cut back, measures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from ...findings import Note
from ...model import Hole, Motif, Plan
from ...polygons import ARC_MM, GRID_MM, arc_segments, as_multi, merged, polygons_of
from ...recipe.sections import HangSettings, HeightSettings
from ..links.bars import fillets
from ..register import in_register
from ..remarks import remarks
from .balance import center_of_mass, hang_angle
from .countersink import countersunk
from .hardware import Hardware, hardware_for
from .holechecks import hole_findings, hole_notes
from .holeplace import CLEAR_MM, Place, Site
from .level import capsule

__all__ = ["SLACK_MM", "Bore", "bored", "cleared", "largest", "rounded", "wall_at"]

SLACK_MM = ARC_MM + 2 * GRID_MM
"""Walls and clearances are planned wider by this: chords of arcs and rounding to the grid."""

_KEPT = 8
"""Bases with an eyelet that are remembered: a changed height seldom moves it."""

_FILLET_MM = 1.5

_CRUMB_MM2 = 0.2
"""Crumbs of motifs left beside the hole are taken away as well."""

_INSIDE_MM2 = 0.05


@dataclass(frozen=True, slots=True)
class Bore:
    """What is cut at every place, and the settings it comes from.

    Parameters
    ----------
    hang : HangSettings
        With `hole_mm` as it is drawn.
    hardware : Hardware or None
        None where the hole decides ("auto").
    site : Site
    """

    hang: HangSettings
    hardware: Hardware | None
    site: Site

    @property
    def use(self) -> str:
        """How the hardware is taken up."""
        return "loop" if self.hardware is None else self.hardware.use

    def shape(self, place: Place, radius: float) -> shapely.Polygon:
        """Return the hole's shape at a place, its round ends of this radius."""
        return capsule((place.x, place.y), self.site.stretch, radius, arc_segments(radius))


def bored(plan: Plan, places: Sequence[Place], bore: Bore, heights: HeightSettings) -> Plan:
    """Return the plan with holes at places of one level, measured and judged."""
    site = bore.site
    eyelets = [bore.shape(place, site.radius + SLACK_MM) for place in places]
    added = [as_multi(eyelet.difference(plan.base)).area > _INSIDE_MM2 for eyelet in eyelets]
    grown = as_multi(plan.base)
    for place, eyelet, outside in zip(places, eyelets, added, strict=True):
        grown = _grown(grown, place, eyelet) if outside else grown
    cut = shapely.union_all([bore.shape(place, site.hole / 2 + ARC_MM / 2) for place in places])
    zone = shapely.union_all([bore.shape(place, site.bore + CLEAR_MM + SLACK_MM) for place in places])
    motifs, notes = cleared(plan.motifs, zone, "the hanging hole")
    whole, kept = in_register(grown.difference(cut), motifs)
    others = polygons_of(plan.base)[1:]
    body = largest(whole)
    base = whole if others else body
    origins = ["eyelet" if outside else "inside" for outside in added]
    made = replace(plan, base=base, motifs=kept)
    found: tuple[Note, ...] = ()
    if bore.use == "screw":
        made, found = countersunk(made, places, site, heights)
    center = center_of_mass(base, kept, heights, made.pockets)
    holes = [
        _measured(body, place, bore, center, origin) for place, origin in zip(places, origins, strict=True)
    ]
    if len(holes) > 1:
        holes = [replace(hole, hang_angle_deg=_pair_angle(places, center, bore)) for hole in holes]
    return replace(
        made,
        hole=holes[0],
        other_holes=tuple(holes[1:]),
        center_of_mass_mm=rounded(center),
        notes=(
            *plan.notes,
            *hole_notes(holes, bore.hang, heights, center, plan.artwork_mm),
            *found,
            *notes,
        ),
        findings=(*made.findings, *hole_findings(holes, heights)),
    )


def largest(base: shapely.Geometry) -> shapely.Polygon:
    """Return the largest piece of the base."""
    return max(polygons_of(base), key=lambda piece: (piece.area, piece.bounds))


def rounded(point: tuple[float, float]) -> tuple[float, float]:
    """Return a point on the grid."""
    return (round(point[0], 3), round(point[1], 3))


def wall_at(body: shapely.Polygon, place: shapely.Geometry, opening: shapely.Polygon) -> float:
    """Return the least distance from a place on an opening's edge to the other edges of the body."""
    rings = [body.exterior, *body.interiors]
    others = [ring for ring in rings if not shapely.equals_exact(ring, opening.exterior)]
    return float(shapely.distance(np.asarray(others, dtype=object), place).min())


def cleared(
    motifs: tuple[Motif, ...], zone: shapely.Geometry, what: str
) -> tuple[tuple[Motif, ...], tuple[Note, ...]]:
    """Cut motifs back from a zone round something, and take away the crumbs that this leaves."""
    kept: list[Motif] = []
    taken: list[shapely.Geometry] = []
    for motif in motifs:
        if not motif.polygon.intersects(zone):
            kept.append(motif)
            continue
        pieces = polygons_of(motif.polygon.difference(zone))
        near = zone.buffer(SLACK_MM)
        left = [piece for piece in pieces if piece.area >= _CRUMB_MM2 or not piece.intersects(near)]
        taken.append(motif.polygon.difference(as_multi(left)))
        if left:
            kept.append(Motif(motif.color, as_multi(left)))
    words = f"A motif was cut back from {what} over {{size}} mm."
    return tuple(kept), remarks("motif-cleared", merged(taken), words)


@lru_cache(maxsize=_KEPT)
def _grown(base: shapely.Geometry, place: Place, eyelet: shapely.Polygon) -> shapely.MultiPolygon:
    """Return the base with the eyelet, its neck filleted; an eyelet placed apart gets a neck of its own."""
    parts = [base, eyelet]
    if not eyelet.intersects(base):
        root = shapely.shortest_line(shapely.Point(place.x, place.y), base)
        parts.append(root.buffer(eyelet.minimum_rotated_rectangle.length / 8))
    shape = merged(parts)
    return merged([shape, fillets(shape, merged(parts[1:]), _FILLET_MM)])


def _pair_angle(places: Sequence[Place], center: tuple[float, float], bore: Bore) -> float:
    """Return how far a piece turns that hangs from two places; screws hold it where they are."""
    if bore.use == "screw":
        return 0.0
    middle = (math.fsum(place.x for place in places) / 2, math.fsum(place.y for place in places) / 2)
    return round(hang_angle(middle, center), 3)


def _measured(
    body: shapely.Polygon, place: Place, bore: Bore, center: tuple[float, float], origin: str
) -> Hole:
    middle, hang, site = shapely.Point(place.x, place.y), bore.hang, bore.site
    ring = next((ring for ring in body.interiors if shapely.Polygon(ring).contains(middle)), None)
    wall = 0.0 if ring is None else wall_at(body, ring, shapely.Polygon(ring))
    away = np.array([place.x, place.y]) - np.array(center)
    up = np.array([0.0, 1.0]) if hang.holes > 1 or site.stretch else away / max(math.hypot(*away), 1e-9)
    bear = np.array([place.x, place.y]) + up * site.hole / 2
    slot = (round(site.hole + 2 * site.stretch, 3), site.hole) if site.stretch else None
    return Hole(
        center_mm=rounded((place.x, place.y)),
        diameter_mm=site.hole,
        wall_mm=round(wall, 3),
        hang_angle_deg=round(hang_angle((place.x, place.y), center), 3),
        origin=origin,
        rest_mm=rounded((float(bear[0]), float(bear[1]))),
        hardware=hardware_for(hang.hardware, site.hole, round(wall, 3)).name,
        slot_mm=slot,
    )
