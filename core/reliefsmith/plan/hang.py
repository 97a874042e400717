"""The hanging hole: an opening of the artwork where hardware comes to rest, a hole inside, or an eyelet."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Note, finding, note
from ..model import Hole, Motif, Plan
from ..plane import ARC_MM, GRID_MM, as_multi, disc, inscribed, merged, polygons_of
from ..progress import Progress, Steps, drained
from ..sections import HangSettings, HeightSettings, PrinterSettings
from .balance import center_of_mass, hang_angle
from .eyelet import CLEAR_MM, HANG_LIMIT_DEG, Place, Site, best_place
from .hardware import Hardware, hardware_for, hardware_table
from .judge import WALL_WARN_MM, hole_findings, hole_notes
from .links import fillets
from .register import in_register
from .remarks import remarks
from .rest import Rest, stable_rests

__all__ = ["hang", "hang_steps"]

_SLACK_MM = ARC_MM + 2 * GRID_MM
"""Walls and clearances are planned wider by this: chords of arcs and rounding to the grid."""

_FILLET_MM = 1.5
_RIVAL_MM = 4.0
"""An opening of the artwork this wide could be taken for the hanging hole."""

_CRUMB_MM2 = 0.2
"""Crumbs of motifs left beside the hole are taken away as well."""

_INSIDE_MM2 = 0.05
_PLACINGS = 3


def hang_steps(
    plan: Plan, *, hang: HangSettings, heights: HeightSettings, printer: PrinterSettings
) -> Steps[Plan]:
    """Give the piece its hanging hole, above the centre of mass.

    Notes
    -----
    An opening of the artwork serves if the hardware passes and swings, the wall beside the rest is at least
    2 mm, and the piece then hangs within 3 degrees; where the hardware rests is solved (see `stable_rests`).
    Else a hole is made at the cheapest place (see `best_place`): inside, or in an eyelet with a filleted neck
    where the base does not reach. `hang.at_mm` places it by hand. A hole is drawn wider by what the printer
    makes it narrower (`printer.hole_loss_mm`); here only, so that nothing makes up for it twice.

    Returns
    -------
    Plan
        With hole and centre of mass; the base is one Polygon if it was in one piece before.
    """
    yield Progress("finding the centre of mass", 0.1)
    hang = replace(hang, hole_mm=min(max(hang.hole_mm + printer.hole_loss_mm, 1.0), 50.0))
    center = center_of_mass(plan.base, plan.motifs, heights)
    if hang.hardware == "none":
        missing = finding("hole-missing", "There is no hanging hole, as the recipe asks.")
        return replace(plan, center_of_mass_mm=_rounded(center), findings=(*plan.findings, missing))
    if hang.at_mm is None:
        yield Progress("looking at openings of the artwork", 0.2)
        used = _opening_used(plan, center, hang, heights)
        if used is not None:
            return used
        return (yield from _hung_straight(plan, center, hang, heights))
    place = Place(*hang.at_mm, angle=hang_angle(hang.at_mm, center), cost=0.0)
    yield Progress("cutting the hanging hole", 0.8)
    return _with_hole(plan, place, hang, heights)


hang = drained(hang_steps)


def _hung_straight(
    plan: Plan, center: tuple[float, float], hang: HangSettings, heights: HeightSettings
) -> Steps[Plan]:
    """Place the hole; where the eyelet itself pulls a light piece crooked, place it again for that."""
    tried: list[Plan] = []
    site = _site(plan, center, hang)
    for turn in range(_PLACINGS):
        yield Progress("placing the hanging hole", 0.3 + 0.2 * turn)
        place = best_place(site)
        yield Progress("cutting the hanging hole", 0.4 + 0.2 * turn)
        tried.append(_with_hole(plan, place, hang, heights))
        found = tried[-1].center_of_mass_mm
        if _angle(tried[-1]) <= HANG_LIMIT_DEG or found is None:
            break
        site = replace(site, center=found)
    return min(tried, key=_angle)


def _angle(plan: Plan) -> float:
    return plan.hole.hang_angle_deg if plan.hole is not None else 180.0


def _rounded(point: tuple[float, float]) -> tuple[float, float]:
    return (round(point[0], 3), round(point[1], 3))


def _largest(base: BaseGeometry) -> shapely.Polygon:
    return max(polygons_of(base), key=lambda piece: (piece.area, piece.bounds))


def _site(plan: Plan, center: tuple[float, float], hang: HangSettings) -> Site:
    body = _largest(plan.base)
    rivals = [
        opening
        for opening in (shapely.Polygon(ring) for ring in body.interiors)
        if 2 * inscribed(opening).radius >= _RIVAL_MM
    ]
    motifs = merged([motif.polygon for motif in plan.motifs])
    art = shapely.coverage_union_all([area for area in plan.areas if not area.is_empty])
    return Site(body, motifs, art, center, hang.hole_mm, hang.wall_mm, rivals)


@dataclass(frozen=True, slots=True)
class _Serving:
    rest: Rest
    wall: float
    hardware: Hardware


def _opening_used(
    plan: Plan, center: tuple[float, float], hang: HangSettings, heights: HeightSettings
) -> Plan | None:
    """Return the plan hung from an opening of the artwork, or None if none serves."""
    body = _largest(plan.base)
    hardware = hardware_table()[0] if hang.hardware == "auto" else hardware_for(hang.hardware, 0, 0)
    serving = [
        found
        for ring in body.interiors
        if (found := _serving(body, shapely.Polygon(ring), center, hardware)) is not None
    ]
    if not serving:
        return None
    best = min(serving, key=lambda found: (round(found.rest.angle, 3), found.rest.center))
    return _hung_from(plan, best, center, heights)


def _serving(
    body: shapely.Polygon, opening: shapely.Polygon, center: tuple[float, float], hardware: Hardware
) -> _Serving | None:
    rests = stable_rests(opening, center, hardware)
    if not rests or rests[0].angle > HANG_LIMIT_DEG:
        return None
    wall = _wall(body, shapely.Point(rests[0].contact), opening)
    if wall < WALL_WARN_MM or not hardware.fits(rests[0].passes, wall):
        return None
    return _Serving(rests[0], wall, hardware)


def _wall(body: shapely.Polygon, place: BaseGeometry, opening: shapely.Polygon) -> float:
    """Return the least distance from a place on an opening's edge to the other edges of the body."""
    rings = [body.exterior, *body.interiors]
    others = [ring for ring in rings if not shapely.equals_exact(ring, opening.exterior)]
    return float(shapely.distance(np.asarray(others, dtype=object), place).min())


def _hung_from(plan: Plan, serving: _Serving, center: tuple[float, float], heights: HeightSettings) -> Plan:
    rest = serving.rest
    hole = Hole(
        center_mm=_rounded(rest.center),
        diameter_mm=round(rest.passes, 2),
        wall_mm=round(serving.wall, 3),
        hang_angle_deg=round(rest.angle, 3),
        origin="artwork",
        rest_mm=_rounded(rest.contact),
        hardware=serving.hardware.name,
    )
    words = f"An opening of the artwork takes a {serving.hardware.title}; it rests here."
    used = note("opening-used", words, _rounded(rest.contact), hole.diameter_mm)
    return replace(
        plan,
        hole=hole,
        center_of_mass_mm=_rounded(center),
        notes=(*plan.notes, used),
        findings=(*plan.findings, *hole_findings(hole, heights)),
    )


def _with_hole(plan: Plan, place: Place, hang: HangSettings, heights: HeightSettings) -> Plan:
    half = hang.hole_mm / 2
    eyelet = disc(place.x, place.y, half + hang.wall_mm + _SLACK_MM)
    added = as_multi(eyelet.difference(plan.base))
    grown = _grown(plan.base, place, eyelet) if added.area > _INSIDE_MM2 else as_multi(plan.base)
    cut = disc(place.x, place.y, half + ARC_MM / 2)
    motifs, cleared = _cleared(plan.motifs, disc(place.x, place.y, half + CLEAR_MM + _SLACK_MM))
    whole, kept = in_register(grown.difference(cut), motifs)
    body, others = _largest(whole), polygons_of(plan.base)[1:]
    base = body if not others else whole
    center = center_of_mass(base, kept, heights)
    hole = _measured(body, place, hang, center, "eyelet" if added.area > _INSIDE_MM2 else "inside")
    return replace(
        plan,
        base=base,
        motifs=kept,
        hole=hole,
        center_of_mass_mm=_rounded(center),
        notes=(*plan.notes, *hole_notes(hole, hang, center, plan.artwork_mm), *cleared),
        findings=(*plan.findings, *hole_findings(hole, heights)),
    )


def _grown(base: BaseGeometry, place: Place, eyelet: shapely.Polygon) -> shapely.MultiPolygon:
    """Return the base with the eyelet, its neck filleted; an eyelet placed apart gets a neck of its own."""
    parts = [base, eyelet]
    if not eyelet.intersects(base):
        root = shapely.shortest_line(shapely.Point(place.x, place.y), base)
        parts.append(root.buffer(eyelet.minimum_rotated_rectangle.length / 8))
    shape = merged(parts)
    return merged([shape, fillets(shape, merged(parts[1:]), _FILLET_MM)])


def _cleared(motifs: tuple[Motif, ...], zone: shapely.Polygon) -> tuple[tuple[Motif, ...], tuple[Note, ...]]:
    """Cut motifs back from the hole, and take away the crumbs that this leaves."""
    kept: list[Motif] = []
    taken: list[BaseGeometry] = []
    for motif in motifs:
        if not motif.polygon.intersects(zone):
            kept.append(motif)
            continue
        pieces = polygons_of(motif.polygon.difference(zone))
        near = zone.buffer(_SLACK_MM)
        left = [piece for piece in pieces if piece.area >= _CRUMB_MM2 or not piece.intersects(near)]
        taken.append(motif.polygon.difference(as_multi(left)))
        if left:
            kept.append(Motif(motif.color, as_multi(left)))
    notes = remarks(
        "motif-cleared", merged(taken), "A motif was cut back from the hanging hole over {size} mm."
    )
    return tuple(kept), notes


def _measured(
    body: shapely.Polygon, place: Place, hang: HangSettings, center: tuple[float, float], origin: str
) -> Hole:
    middle = shapely.Point(place.x, place.y)
    ring = next((ring for ring in body.interiors if shapely.Polygon(ring).contains(middle)), None)
    wall = 0.0 if ring is None else _wall(body, ring, shapely.Polygon(ring))
    away = np.array([place.x, place.y]) - np.array(center)
    bear = np.array([place.x, place.y]) + away / max(math.hypot(*away), 1e-9) * hang.hole_mm / 2
    return Hole(
        center_mm=_rounded((place.x, place.y)),
        diameter_mm=hang.hole_mm,
        wall_mm=round(wall, 3),
        hang_angle_deg=round(hang_angle((place.x, place.y), center), 3),
        origin=origin,
        rest_mm=_rounded((float(bear[0]), float(bear[1]))),
        hardware=hardware_for(hang.hardware, hang.hole_mm, round(wall, 3)).name,
    )
