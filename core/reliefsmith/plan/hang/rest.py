"""Openings of the artwork as hanging holes: where hardware comes to rest in them.

A piece that hangs freely minimizes its potential energy, so the hardware rests where the distance from the
centre of mass, taken over all places the bar can have in the opening, has a local maximum. The bar's places
are the opening shrunk by the bar's radius.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from ...model.arrays import Floats
from ...polygons import inscribed, polygons_of, shrink
from .balance import hang_angle
from .hardware import Hardware

__all__ = ["Rest", "stable_rests"]

LEAST_RISE_MM = 0.5
"""A rest must be this much lower in energy (as a height) than the way out; a round opening centered on the
mass has no rest at all."""

_SAMPLE_MM = 0.1


@dataclass(frozen=True, slots=True)
class Rest:
    """A stable rest of a bar in an opening.

    Parameters
    ----------
    center : (float, float)
        Centre of the bar.
    contact : (float, float)
        Where the bar bears on the edge of the opening.
    angle : float
        Hanging angle in degrees.
    passes : float
        Diameter of the largest bar that the opening lets through.
    """

    center: tuple[float, float]
    contact: tuple[float, float]
    angle: float
    passes: float


def stable_rests(opening: shapely.Polygon, center: tuple[float, float], hardware: Hardware) -> list[Rest]:
    """Return the stable rests of hardware in an opening, the least angle first.

    Parameters
    ----------
    opening : Polygon
        In mm.
    center : (float, float)
        Centre of mass of the piece.
    hardware : Hardware

    Examples
    --------
    >>> from .hardware import hardware_table
    >>> hole = shapely.Point(0, 10).buffer(5)
    >>> (rest,) = stable_rests(hole, (0.0, 0.0), hardware_table()[0])
    >>> rest.angle < 0.5, round(rest.contact[1], 1)
    (True, 15.0)
    """
    passes = 2 * inscribed(opening).radius
    if passes < hardware.opening_mm:
        return []
    radius = hardware.bar_mm / 2
    found: list[Rest] = []
    for place in polygons_of(shrink(opening, radius)):
        points = shapely.get_coordinates(shapely.segmentize(place.exterior, _SAMPLE_MM))[:-1]
        height = np.hypot(*(points - np.array(center)).T)
        found += [_rest(opening, points[index], center, passes) for index in _peaks(height)]
    return sorted(found, key=lambda rest: (round(rest.angle, 6), rest.center))


def _peaks(height: Floats) -> list[int]:
    """Return the local maxima of a closed profile that rise at least `LEAST_RISE_MM` above the way out."""
    higher = (height > np.roll(height, 1)) & (height >= np.roll(height, -1))
    peaks = [int(index) for index in np.flatnonzero(higher)]
    return [index for index in peaks if _rise(height, index) >= LEAST_RISE_MM]


def _rise(height: Floats, peak: int) -> float:
    """Return how far one must climb down from a peak to get to a higher one, or to the lowest place."""
    turned = np.roll(height, -peak)
    above = np.flatnonzero(turned > turned[0])
    if len(above) == 0:
        return float(turned[0] - turned.min())
    ways = (turned[: above[0] + 1].min(), turned[above[-1] :].min())
    return float(turned[0] - max(ways))


def _rest(opening: shapely.Polygon, point: Floats, center: tuple[float, float], passes: float) -> Rest:
    bar = (float(point[0]), float(point[1]))
    out = np.array(bar) - np.array(center)
    ray = shapely.LineString([bar, tuple(np.array(bar) + out / max(math.hypot(*out), 1e-9) * passes)])
    meets = shapely.intersection(ray, opening.exterior)
    nearest = shapely.shortest_line(shapely.Point(bar), opening.exterior if meets.is_empty else meets)
    contact = shapely.get_coordinates(nearest)[-1]
    return Rest(bar, (float(contact[0]), float(contact[1])), hang_angle(bar, center), passes)
