"""Where the centre of mass lies, and at what angle a piece hangs from a point."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from ...model import Motif, Pocket
from ...model.arrays import Area
from ...polygons import polygons_of
from ...recipe.sections import HeightSettings

__all__ = ["center_of_mass", "hang_angle", "steadied"]

STEADY_MM = (0.1, 1.0)
"""One hole is placed for a centre of mass to this, in x and y: heights move it by less, and the hole stays.

A piece whose centre is 30 mm below its hole so turns by 0.1 degrees, which nobody sees; the limit is 3.
"""


def center_of_mass(
    base: Area,
    motifs: Sequence[Motif],
    heights: HeightSettings,
    pockets: Sequence[Pocket] = (),
) -> tuple[float, float]:
    """Return the centre of mass seen from above: sum of area x height x centroid over sum of area x height.

    The base counts with its height over its whole area, motifs with theirs, pockets as less by their depth;
    one density for all, so what lies in a pocket counts as nothing, but for inlays.

    Examples
    --------
    >>> center_of_mass(shapely.box(0, 0, 6, 4), [], HeightSettings())
    (3.0, 2.0)
    """
    weight = x = y = 0.0
    taken = [(pocket.polygon, -pocket.depth_mm) for pocket in pockets if pocket.color is None]
    for polygon, height in (*_bodies(base, motifs, heights), *taken):
        middle = polygon.centroid
        weight += polygon.area * height
        x += polygon.area * height * middle.x
        y += polygon.area * height * middle.y
    return (x / weight, y / weight)


def steadied(center: tuple[float, float]) -> tuple[float, float]:
    """Return the centre of mass for which one hole is placed, so that it does not creep with heights.

    Examples
    --------
    >>> steadied((0.0213, -1.2744))
    (0.0, -1.0)
    """
    x, y = (round(round(value / step) * step, 3) + 0.0 for value, step in zip(center, STEADY_MM, strict=True))
    return (x, y)


def hang_angle(pivot: tuple[float, float], center: tuple[float, float]) -> float:
    """Return the angle in degrees, 0 to 180, by which the piece turns when it hangs from `pivot`.

    Examples
    --------
    >>> hang_angle((0, 10), (0, 0)), round(hang_angle((1, 1), (0, 0)))
    (0.0, 45)
    """
    return math.degrees(abs(math.atan2(pivot[0] - center[0], pivot[1] - center[1])))


def _bodies(
    base: Area, motifs: Sequence[Motif], heights: HeightSettings
) -> list[tuple[shapely.Polygon, float]]:
    """Return pieces with the height that each adds, or takes where motifs are sunk.

    Steps are taken with the largest color at the bottom, as the search of their order nearly always has it.
    """
    bodies = [(piece, heights.base_mm) for piece in polygons_of(base)]
    by_area = sorted(motifs, key=lambda motif: -motif.polygon.area)
    for rank, motif in enumerate(by_area, start=1):
        added = {"raised": 1, "flush": 0, "sunk": -1, "stepped": rank}[heights.style] * heights.motif_mm
        bodies += [(piece, added) for piece in polygons_of(motif.polygon)]
    return bodies
