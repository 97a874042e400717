"""Pockets in the back: round ones for magnets, level ones for the bar of a brooch pin or strips of tape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ...errors import GeometryError
from ...findings import Finding, Note, finding, note
from ...model import Plan, Pocket
from ...model.arrays import Floats
from ...model.hanglimits import HANG_LIMIT_DEG
from ...model.plan import PocketKind
from ...polygons import ARC_MM, as_multi, disc, shrink, snapped
from ...progress import Progress, Steps
from ...recipe.sections import HangSettings, HeightSettings
from .balance import center_of_mass, hang_angle
from .bore import SLACK_MM, largest, rounded
from .hardware import Hardware, hardware_for
from .level import level_pair, shrunk_level

__all__ = ["FLOOR_LAYERS", "WIDER_MM", "recessed_steps"]

WIDER_MM, DEEPER_MM = 0.15, 0.2
"""A magnet's pocket is wider by the first and deeper by the second (common practice, no source)."""

PIN_WIDER_MM = 0.3
"""A bar's or strip's pocket is longer and wider by this: room for glue (common practice, no source)."""

FLOOR_LAYERS = 2
"""Layers that stay above a pocket at least, or the glue shows."""

_STEP_MM = 0.5
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class _Recess:
    """Size of one pocket: half the length of a bar, radius or half width, depth, and the wall round it."""

    kind: PocketKind
    stretch: float
    radius: float
    depth: float
    wall: float
    words: str

    def shape(self, at: tuple[float, float]) -> shapely.Polygon:
        x, y = at
        if self.kind == "magnet":
            drawn = disc(x, y, self.radius)
        else:
            half = self.stretch + PIN_WIDER_MM / 2
            drawn = shapely.box(x - half, y - self.radius, x + half, y + self.radius)
        found: shapely.Polygon = shapely.transform(drawn, snapped)
        return found


def recessed_steps(
    plan: Plan, center: tuple[float, float], *, hang: HangSettings, heights: HeightSettings
) -> Steps[Plan]:
    """Cut the pockets for magnets, a pin or strips of tape into the back, with a wall of 1.2 mm round them.

    Notes
    -----
    One magnet or strip lies as near to the centre of mass as the base allows; two lie on the level of the
    centre of mass, or as near to it as can be (whole millimetres), alike far from the vertical through it and
    as far apart as the wall allows. A pin lies level above the centre of mass, on the vertical through it as
    high as it goes, so the piece hangs upright; where that has no room, at the place of the least angle.

    Raises
    ------
    GeometryError
        If the base is too low or has no room.
    """
    yield Progress("looking for room in the back", 0.3)
    recess = _recess(hang, heights)
    _check_height(recess, heights)
    if hang.at_mm is not None:
        places = [hang.at_mm]
        if hang.holes > 1 and recess.kind != "pin":
            places.append((2 * center[0] - hang.at_mm[0], hang.at_mm[1]))
    else:
        room = shrink(largest(plan.base), recess.radius + recess.wall + SLACK_MM)
        yield Progress("placing pockets", 0.6)
        places = _places(shrunk_level(room, recess.stretch), center, recess, hang.holes)
    pockets = tuple(Pocket(recess.kind, recess.shape(at), recess.depth, "back") for at in places)
    _check_inside(plan, pockets, recess)
    made = replace(plan, pockets=(*plan.pockets, *pockets))
    center = center_of_mass(plan.base, plan.motifs, heights, made.pockets)
    return replace(
        made,
        center_of_mass_mm=rounded(center),
        notes=(*plan.notes, *_notes(pockets, places, recess)),
        findings=(*plan.findings, *_crooked(places[0], center, recess)),
    )


def _recess(hang: HangSettings, heights: HeightSettings) -> _Recess:
    """Return the pocket that magnet or pin needs, its depth in whole layers from the bed."""
    hardware: Hardware = hardware_for(hang.hardware, 0, 0)
    kinds: dict[str, PocketKind] = {"magnet": "magnet", "pin": "pin", "tape": "tape"}
    kind = kinds[hang.hardware]
    if kind == "magnet":
        across, height = hang.magnet_mm or hardware.size_mm[:2]
        words = f"magnet of {across:g} x {height:g} mm"
        stretch, radius, depth = 0.0, (across + WIDER_MM + ARC_MM) / 2, height + DEEPER_MM
    else:
        own = hang.pin_mm if kind == "pin" else hang.tape_mm
        length, width = sorted(own or hardware.size_mm[:2], reverse=True)
        what = "brooch pin with a bar" if kind == "pin" else hardware.title
        words = f"{what} of {length:g} x {width:g} mm"
        stretch, radius, depth = length / 2, (width + PIN_WIDER_MM) / 2, hardware.size_mm[2]
    above = max(depth - heights.first_layer_mm, 0.0)
    layers = math.ceil(above / heights.layer_mm - _ROUNDING)
    depth = round(heights.first_layer_mm + layers * heights.layer_mm, 6)
    return _Recess(kind, stretch, radius, depth, hardware.wall_mm, words)


def _check_height(recess: _Recess, heights: HeightSettings) -> None:
    """Refuse a base in which too little is left above the pocket, motifs in it counted."""
    layer = heights.layer_mm
    inlaid = {"flush": heights.motif_mm + layer, "sunk": heights.motif_mm + 2 * layer + layer}
    needed = recess.depth + max(FLOOR_LAYERS * layer, inlaid.get(heights.style, 0.0))
    if heights.base_mm < needed - _ROUNDING:
        raise GeometryError(
            f"heights.base_mm {heights.base_mm:g} is too low for a pocket of {recess.depth:g} mm for a"
            f" {recess.words} and what stays above it; raise it to {math.ceil(needed * 10 - 1e-6) / 10:g}"
        )


def _places(
    room: shapely.Geometry, center: tuple[float, float], recess: _Recess, count: int
) -> list[tuple[float, float]]:
    if recess.kind == "pin":
        return [_pin_place(room, center, recess)]
    if count == 1:
        _check_room(room, recess)
        nearest = shapely.get_coordinates(shapely.shortest_line(room, shapely.Point(center)))[0]
        return [(float(nearest[0]), float(nearest[1]))]
    shared = level_pair(room, center[0])
    points = _edge_points(shared)
    arm = points[:, 0] - center[0]
    points = points[arm >= recess.stretch + recess.radius + recess.wall / 2]
    if len(points) == 0:
        raise GeometryError(
            f"the base has no room for two pockets for a {recess.words} side by side; set hang.holes to 1,"
            " take smaller ones, or print it larger"
        )
    off = np.round(np.abs(points[:, 1] - center[1]))
    x, y = points[np.lexsort((points[:, 1], -points[:, 0], off))[0]]
    return [(float(2 * center[0] - x), float(y)), (float(x), float(y))]


def _pin_place(room: shapely.Geometry, center: tuple[float, float], recess: _Recess) -> tuple[float, float]:
    _check_room(room, recess)
    points = _edge_points(room)
    top = float(shapely.bounds(room)[3])
    upright = shapely.LineString([center, (center[0], max(top, center[1]) + 1.0)])
    points = np.concatenate([shapely.get_coordinates(shapely.intersection(upright, room)), points])
    away = points - np.array(center)
    angle = np.round(np.degrees(np.abs(np.arctan2(away[:, 0], away[:, 1]))), 3)
    x, y = points[np.lexsort((points[:, 0], -points[:, 1], angle))[0]]
    return (float(x), float(y))


def _edge_points(room: shapely.Geometry) -> Floats:
    lines = shapely.segmentize(shapely.boundary(as_multi(room)), _STEP_MM)
    points: Floats = shapely.get_coordinates(lines)
    return np.unique(np.round(points, 6), axis=0)


def _check_room(room: shapely.Geometry, recess: _Recess) -> None:
    if room.is_empty:
        raise GeometryError(
            f"the base has no room for a {recess.words} with a wall of {recess.wall:g} mm; take a smaller one"
            f" (hang.{recess.kind}_mm) or print it larger"
        )


def _check_inside(plan: Plan, pockets: Sequence[Pocket], recess: _Recess) -> None:
    """Refuse pockets that were placed by hand where the wall does not hold."""
    inner = [pocket.polygon.buffer(recess.wall - 2 * SLACK_MM) for pocket in pockets]
    apart = len(inner) < 2 or not shapely.intersects(inner[0], pockets[1].polygon)
    if not (apart and shapely.covers(plan.base, shapely.union_all(inner))):
        raise GeometryError(
            f"hang.at_mm leaves a wall of less than {recess.wall:g} mm round a {recess.words}; move it inward"
        )


def _notes(
    pockets: Sequence[Pocket], places: Sequence[tuple[float, float]], recess: _Recess
) -> tuple[Note, ...]:
    left, low, right, high = pockets[0].polygon.bounds
    across = f"{right - left:.2f}" if recess.kind == "magnet" else f"{right - left:.1f} x {high - low:.1f}"
    words = f"A pocket in the back, {across} mm and {recess.depth:g} mm deep, takes a {recess.words}."
    return tuple(note("pocket-cut", words, rounded(at), round(right - left, 3)) for at in places)


def _crooked(place: tuple[float, float], center: tuple[float, float], recess: _Recess) -> tuple[Finding, ...]:
    """Say when a pin is not above the centre of mass; magnets hold a piece as it is set."""
    angle = hang_angle(place, center)
    if recess.kind != "pin" or angle <= HANG_LIMIT_DEG:
        return ()
    words = f"From its pin the piece hangs {angle:.1f} degrees off the vertical."
    return (finding("hangs-crooked", words, (*rounded(place), 0.0)),)
