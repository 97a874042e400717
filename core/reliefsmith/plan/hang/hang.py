"""The hanging hole: an opening of the artwork where hardware comes to rest, a hole inside, or an eyelet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import shapely

from ...errors import GeometryError, RecipeError
from ...findings import finding, note
from ...model import Hole, Plan
from ...model.hanglimits import HANG_LIMIT_DEG, WALL_WARN_MM
from ...polygons import inscribed, merged, openings
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, HangSettings, HeightSettings, PrinterSettings, settled
from ...recipe.sections.limits import BORE_MM
from .balance import center_of_mass, hang_angle, steadied
from .bore import SLACK_MM, Bore, bored, largest, rounded, wall_at
from .countersink import head_of
from .handle import is_bar, with_handle_open
from .hardware import Hardware, hardware_for, hardware_table
from .holechecks import hole_findings, strength_note
from .holeplace import Place, Site, best_pair, best_place
from .recess import recessed_steps
from .rest import Rest, stable_rests

__all__ = ["hang", "hang_steps"]

_RIVAL_MM = 4.0
"""An opening of the artwork this wide could be taken for the hanging hole."""

_KEPT = 4
"""Artworks that are remembered: a changed height leaves them as they are."""

_PLACINGS = 3
_PLAIN, _NOTHING = BaseSettings(), shapely.MultiPolygon()

_best_place = lru_cache(maxsize=_KEPT)(best_place)

_PAIR, _FOUR = 2, 4
"""Two lie side by side; of screws four are spread out, a pair above the centre of mass and one below."""

_PAIR_LIMIT_DEG = 0.1
"""A pair is placed again until the piece hangs this straight: cutting it moves the centre of mass."""


def hang_steps(
    plan: Plan,
    reserved: shapely.MultiPolygon = _NOTHING,
    *,
    hang: HangSettings,
    heights: HeightSettings,
    printer: PrinterSettings,
    base: BaseSettings = _PLAIN,
) -> Steps[Plan]:
    """Give the piece its hanging hole, above the centre of mass, or what else it hangs by.

    Notes
    -----
    An opening of the artwork serves if the hardware passes and swings, the wall beside the rest is at least
    2 mm, and the piece then hangs within 3 degrees; where the hardware rests is solved (see `stable_rests`).
    So does enclosed ground that the base shows, where it is a handle's inside: it is opened for that.
    Else a hole, or a strap's slot, is made at the cheapest place (see `best_place`): inside, or in an eyelet
    with a filleted neck where the base does not reach. Two holes lie on one level (see `best_pair`), four for
    screws on two levels, above and below the centre of mass. Screw
    holes are countersunk (see `countersunk`). Magnets and brooch pins get pockets in the back and no hole
    (see `recessed_steps`). `hang.at_mm` places it by hand; a second hole then mirrors the first. A hole is
    drawn wider by what the printer makes it narrower (`printer.hole_loss_mm`); here only, so that nothing
    makes up for it twice.

    Parameters
    ----------
    plan : Plan
    reserved : MultiPolygon
        Where no hole is to be, as under a motif: places of texts.
    hang, heights, printer, base : sections of the recipe

    Returns
    -------
    Plan
        With hole or pockets and centre of mass; the base is one Polygon if it was in one piece before.

    Raises
    ------
    RecipeError
        If no screw passes the hole, or for more holes than are made of a kind.
    GeometryError
        If the base has no room for a pocket, or a slot is wider than the piece.
    """
    if hang.holes > _PAIR and (hang.hardware != "screw" or hang.holes < _FOUR):
        raise RecipeError(f"hang.holes {hang.holes} is not made; set 1 or 2, or 4 with hang.hardware screw")
    yield Progress("finding the centre of mass", 0.1)
    heights, _ = settled(heights, base, printer, len(plan.motifs))
    center = center_of_mass(plan.base, plan.motifs, heights)
    if hang.hardware == "none":
        missing = finding("hole-missing", "There is no hanging hole, as the recipe asks.")
        return replace(plan, center_of_mass_mm=rounded(center), findings=(*plan.findings, missing))
    if hang.hardware in ("magnet", "pin", "tape"):
        return (yield from recessed_steps(plan, center, hang=hang, heights=heights))
    bore = _bore(plan, center, hang, printer, base.rim_mm)
    if not reserved.is_empty:
        bore = replace(bore, site=replace(bore.site, motifs=merged([bore.site.motifs, reserved])))
    if hang.at_mm is None:
        yield Progress("looking at openings of the artwork", 0.2)
        used = _opening_used(plan, center, bore, heights) or _handle_used(plan, bore, heights, base)
        if used is not None:
            return used
        return (yield from _hung_straight(plan, bore, heights))
    yield Progress("cutting the hanging hole", 0.8)
    return bored(plan, _by_hand(hang.at_mm, center, hang), bore, heights)


hang = drained(hang_steps)


def _bore(
    plan: Plan, center: tuple[float, float], hang: HangSettings, printer: PrinterSettings, rim_mm: float
) -> Bore:
    """Return what is to be cut, as wide as it is drawn, and what it is placed on."""
    hardware = None if hang.hardware == "auto" else hardware_for(hang.hardware, 0, 0)
    loss = printer.hole_loss_mm
    hole, wall, stretch, head, head_wall = hang.hole_mm, hang.wall_mm, 0.0, 0.0, 0.0
    if hardware is not None and hardware.use == "slot":
        usual = hardware.size_mm[0] + hardware.play_mm
        length, hole = hang.slot_mm or (usual, hardware.opening_mm)
        length, hole = max(length, hole), min(length, hole)
        wall = max(wall, hardware.wall_mm * math.sqrt(length / usual))  # as its bridge bends
        stretch = (length - hole) / 2
        _check_slot(plan, length, wall)
    if hardware is not None and hardware.use == "screw":
        head = head_of(hole)[1] + loss
        head_wall = max(hardware.wall_mm, rim_mm + SLACK_MM)  # a rim stands outside of the head
    hole = min(max(hole + loss, BORE_MM[0]), BORE_MM[1])
    body = largest(plan.base)
    motifs, art = _united(tuple(motif.polygon for motif in plan.motifs), tuple(plan.areas))
    rivals = _rivals(body)
    middle = steadied(center) if hang.holes == 1 else center
    site = Site(body, motifs, art, middle, hole, wall, rivals, stretch, head, head_wall)
    return Bore(hang, hardware, site)


@lru_cache(maxsize=_KEPT)
def _united(
    motifs: tuple[shapely.Geometry, ...], areas: tuple[shapely.Geometry, ...]
) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return the union of all motifs, and that of all areas of the artwork."""
    return merged(motifs), shapely.coverage_union_all([area for area in areas if not area.is_empty])


@lru_cache(maxsize=_KEPT)
def _rivals(body: shapely.Polygon) -> tuple[shapely.Polygon, ...]:
    """Return the openings that could be taken for the hanging hole."""
    return tuple(opening for opening in openings(body) if 2 * inscribed(opening).radius >= _RIVAL_MM)


def _check_slot(plan: Plan, length: float, wall: float) -> None:
    """Refuse a slot that is wider with its walls than the piece, which then hangs below a beam."""
    left, _, right, _ = plan.base.bounds
    if length + 2 * wall > right - left:
        raise GeometryError(
            f"a slot of {length:g} mm with walls of {wall:.1f} mm is wider than the piece of"
            f" {right - left:.1f} mm; print it larger, or set a shorter hang.slot_mm for a narrower one"
        )


def _by_hand(at_mm: tuple[float, float], center: tuple[float, float], hang: HangSettings) -> list[Place]:
    first = Place(*at_mm, angle=hang_angle(at_mm, center), cost=0.0)
    if hang.holes == 1:
        return [first]
    mirrored = replace(first, x=2 * center[0] - first.x)
    across = [replace(place, y=2 * center[1] - place.y) for place in (first, mirrored)]
    return [first, mirrored, *across][: hang.holes]


def _hung_straight(plan: Plan, bore: Bore, heights: HeightSettings) -> Steps[Plan]:
    """Place the holes; where an eyelet itself pulls a light piece crooked, place them again for that."""
    tried: list[Plan] = []
    limit = HANG_LIMIT_DEG if bore.hang.holes == 1 else _PAIR_LIMIT_DEG
    for turn in range(_PLACINGS):
        yield Progress("placing the hanging hole", 0.3 + 0.2 * turn)
        places = _places(bore)
        yield Progress("cutting the hanging hole", 0.4 + 0.2 * turn)
        tried.append(bored(plan, places, bore, heights))
        found = tried[-1].center_of_mass_mm
        if _angle(tried[-1]) <= limit or found is None:
            break
        middle = steadied(found) if bore.hang.holes == 1 else found
        bore = replace(bore, site=replace(bore.site, center=middle))
    return min(tried, key=_angle)


def _places(bore: Bore) -> Sequence[Place]:
    if bore.hang.holes == 1:
        return [_best_place(bore.site)]
    if bore.hang.holes == _FOUR:
        return [*best_pair(bore.site, widest=True, half=1), *best_pair(bore.site, widest=True, half=-1)]
    return best_pair(bore.site, widest=bore.use == "screw")


def _angle(plan: Plan) -> float:
    return plan.hole.hang_angle_deg if plan.hole is not None else 180.0


def _handle_used(plan: Plan, bore: Bore, heights: HeightSettings, base: BaseSettings) -> Plan | None:
    """Return the plan hung from its handle, opened for that, or None if it does not serve."""
    if bore.use != "loop" or bore.hang.holes > 1:
        return None
    opened = with_handle_open(plan, base)
    if opened is None:
        return None
    hardware = bore.hardware or hardware_table()[0]
    made, opening = opened
    body = largest(made.base)
    center = center_of_mass(made.base, made.motifs, heights)
    serving = _serving(body, opening, center, hardware)
    if serving is None or not is_bar(opening, body, hardware.reach_mm):
        return None
    return _hung_from(made, serving, center, heights)


@dataclass(frozen=True, slots=True)
class _Serving:
    rest: Rest
    wall: float
    hardware: Hardware


def _opening_used(
    plan: Plan, center: tuple[float, float], bore: Bore, heights: HeightSettings
) -> Plan | None:
    """Return the plan hung from an opening of the artwork, or None if none serves."""
    if bore.use != "loop" or bore.hang.holes > 1:
        return None
    body = bore.site.base
    hardware = bore.hardware or hardware_table()[0]
    serving = [
        found
        for opening in openings(body)
        if (found := _serving(body, opening, center, hardware)) is not None
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
    wall = wall_at(body, shapely.Point(rests[0].contact), opening)
    if wall < WALL_WARN_MM or not hardware.fits(rests[0].passes, wall):
        return None
    return _Serving(rests[0], wall, hardware)


def _hung_from(plan: Plan, serving: _Serving, center: tuple[float, float], heights: HeightSettings) -> Plan:
    rest = serving.rest
    hole = Hole(
        center_mm=rounded(rest.center),
        diameter_mm=round(rest.passes, 2),
        wall_mm=round(serving.wall, 3),
        hang_angle_deg=round(rest.angle, 3),
        origin="artwork",
        rest_mm=rounded(rest.contact),
        hardware=serving.hardware.name,
    )
    words = f"An opening of the artwork takes a {serving.hardware.title}; it rests here."
    used = note("opening-used", words, rounded(rest.contact), hole.diameter_mm)
    return replace(
        plan,
        hole=hole,
        center_of_mass_mm=rounded(center),
        notes=(*plan.notes, used, strength_note(hole, heights)),
        findings=(*plan.findings, *hole_findings([hole], heights)),
    )
