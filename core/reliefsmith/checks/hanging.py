"""The hanging hole as the solids have it: where it is, the wall beside it, how the piece hangs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..model import Plan
from ..model.hanglimits import LEAST_HOLE_MM, crooked_findings, wall_findings
from ..polygons import inscribed, openings, polygons_of

__all__ = ["FoundHole", "found_hole", "hole_findings", "plan_findings"]

_KEPT = 4
"""Pieces whose hole is remembered: a changed height does not move it."""


@dataclass(frozen=True, slots=True)
class FoundHole:
    """A hole through the piece.

    Parameters
    ----------
    center_mm : (float, float)
    diameter_mm : float
        Of the largest disc that fits.
    wall_mm : float
        Least material between the hole and any other edge.
    """

    center_mm: tuple[float, float]
    diameter_mm: float
    wall_mm: float


@lru_cache(maxsize=_KEPT)
def found_hole(shape: BaseGeometry, near: tuple[float, float] | None = None) -> FoundHole | None:
    """Return the hole nearest to a point, or the highest one from which a piece would be hung.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        The piece seen from above.
    near : (float, float), optional
        Where the hole is said to be.
    """
    holes = [
        (disc, hole) for hole in openings(shape) if 2 * (disc := inscribed(hole)).radius >= LEAST_HOLE_MM
    ]
    if not holes:
        return None
    if near is None:
        disc, hole = max(holes, key=lambda item: (round(item[0].y, 3), item[0].radius))
    else:
        disc, hole = min(holes, key=lambda item: math.dist(item[0].center, near))
    others = [ring for piece in polygons_of(shape) for ring in (piece.exterior, *piece.interiors)]
    others = [ring for ring in others if not ring.equals(hole.exterior)]
    wall = float(shapely.distance(np.asarray(others, dtype=object), hole.exterior).min())
    return FoundHole(disc.center, 2 * disc.radius, wall)


def hole_findings(
    hole: FoundHole | None, pivot: tuple[float, float] | None, mass: tuple[float, float], height_mm: float
) -> tuple[Finding, ...]:
    """Judge a hole from which a piece hangs: its wall and the angle.

    Where it is not known that the piece hangs from it, a hole below the centre of mass is none to hang it by:
    it would turn over.

    Parameters
    ----------
    hole : FoundHole or None
    pivot : (float, float) or None
        From where the piece hangs; the hole's centre otherwise.
    mass : (float, float)
        Centre of mass.
    height_mm : float
        Top of the piece, for the place in the finding.
    """
    if hole is None:
        return (finding("hole-missing", f"There is no hole of {LEAST_HOLE_MM:g} mm or more to hang it by."),)
    if pivot is None and hole.center_mm[1] <= mass[1]:
        words = f"No hole of {LEAST_HOLE_MM:g} mm or more lies above the balance to hang it by."
        return (finding("hole-missing", words),)
    return (
        *wall_findings(hole.wall_mm, _place(hole, height_mm)),
        *_angle_findings(pivot or hole.center_mm, mass, _place(hole, height_mm)),
    )


def plan_findings(plan: Plan, mass: tuple[float, float], height_mm: float) -> tuple[Finding, ...]:
    """Judge what a plan hangs by, measured again on its base.

    Two holes are judged by the point midway between them; screws and magnets hold a piece as it is set, from
    two of them it does not swing, and a magnet has no hole. A pin holds it at its bar.
    """
    pins = [pocket.polygon.centroid for pocket in plan.pockets if pocket.kind == "pin"]
    if plan.hole is None and plan.pockets:
        return tuple(
            item for pin in pins for item in _angle_findings((pin.x, pin.y), mass, (pin.x, pin.y, 0.0))
        )
    found = [found_hole(plan.base, hole.center_mm) for hole in plan.holes] or [found_hole(plan.base)]
    if len(found) < 2 or None in found:
        pivot = None if plan.hole is None else plan.hole.rest_mm
        return hole_findings(found[0], pivot, mass, height_mm)
    holes = [hole for hole in found if hole is not None]
    walls = [item for hole in holes for item in wall_findings(hole.wall_mm, _place(hole, height_mm))]
    if plan.holes[0].hardware == "screw":
        return tuple(walls)
    rests = np.mean([hole.rest_mm for hole in plan.holes], axis=0)
    return (*walls, *_angle_findings((float(rests[0]), float(rests[1])), mass, _place(holes[0], height_mm)))


def _angle_findings(
    pivot: tuple[float, float], mass: tuple[float, float], at_mm: tuple[float, float, float]
) -> tuple[Finding, ...]:
    """Judge the angle at which a piece hangs from a point."""
    angle = math.degrees(abs(math.atan2(pivot[0] - mass[0], pivot[1] - mass[1])))
    return crooked_findings(angle, at_mm)


def _place(hole: FoundHole, height_mm: float) -> tuple[float, float, float]:
    return (round(hole.center_mm[0], 3), round(hole.center_mm[1], 3), height_mm)
