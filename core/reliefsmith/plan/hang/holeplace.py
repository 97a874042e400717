"""Where the hanging hole goes: candidates along the outline, judged by one explicit cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ...errors import GeometryError
from ...model.arrays import Floats, Shapes
from ...model.hanglimits import HANG_LIMIT_DEG
from ...polygons import arc_segments, grow, inscribed, polygons_of
from .level import level_pair, shrunk_level

__all__ = ["CLEAR_MM", "Place", "Site", "best_pair", "best_place"]


CLEAR_MM = 0.3
"""Least base between the hole and a motif."""

_SAFE_SHARE = 0.85
"""Places within this share of the limit come before all others, whatever they cost: the final angle is
measured on the finished piece and may differ a little."""

_STEP_MM = 1.0
_FINALISTS = 80
_SWING_MM = (2.0, 12.0)
"""Width and height of the strip above the hole that must be free for a ring to swing."""

_NECK_WANTED_MM, _NECK_WEAK_MM = 5.0, 2.0
_OUTLINE_TOLERANCE_MM = 0.02
_ROOM_WORTH_MM = 5.0
"""For screws a millimetre of room round the wall makes up for a cost of 1, up to this."""

_BORDER_STEPS = 17
"""Distances inside the outline that are tried for screws on a wide border."""


@dataclass(frozen=True, slots=True)
class Site:
    """What a hanging hole is placed on.

    Parameters
    ----------
    base : Polygon or MultiPolygon
    motifs : geometry
        Union of all motifs.
    art : geometry
        Union of the artwork's areas, also those in the base's own color.
    center : (float, float)
        Centre of mass.
    hole, wall : float
        Diameter of the hole and width of the wall in mm.
    rivals : tuple of Polygon
        Openings of the artwork that could be taken for the hanging hole.
    stretch : float
        Half the length of the straight part of a level slot, whose width is then `hole`; 0 for a round hole.
    head : float
        Diameter of a screw's head round the hole, or 0.
    head_wall : float
        Width of the wall round the head.
    """

    base: shapely.Geometry
    motifs: shapely.Geometry
    art: shapely.Geometry
    center: tuple[float, float]
    hole: float
    wall: float
    rivals: tuple[shapely.Polygon, ...]
    stretch: float = 0.0
    head: float = 0.0
    head_wall: float = 0.0

    @property
    def radius(self) -> float:
        """Radius of hole and wall together, or of head and its wall."""
        return max(self.hole / 2 + self.wall, self.head / 2 + self.head_wall if self.head else 0.0)

    @property
    def bore(self) -> float:
        """Radius that must be clear of motifs."""
        return max(self.hole, self.head) / 2

    def middles(self, points: Floats) -> Shapes:
        """Return the middles of holes at points: the points, or the level lines of slots."""
        if not self.stretch:
            return np.asarray(shapely.points(points), dtype=object)
        aside = np.array([self.stretch, 0.0])
        ends = np.stack([points - aside, points + aside], axis=1)
        return np.asarray(shapely.linestrings(ends), dtype=object)


@dataclass(frozen=True, slots=True)
class Place:
    """A place for the hole, its hanging angle and its cost."""

    x: float
    y: float
    angle: float
    cost: float


def best_place(site: Site) -> Place:
    """Return the cheapest place for the hanging hole.

    Notes
    -----
    Candidates lie on the outline, inside it by hole radius and wall, and outside it by three distances, every
    millimetre, and exactly above the centre of mass (so symmetric art hangs on its axis). Places within
    0.85 x 3 degrees come first. The cost adds: (angle / 3)^2; degrees per millimetre of misplacement / 3; the
    added area over that of the eyelet's disc; 3 x the lack of clearance to motifs in mm (up to 2 mm); 2 x the
    share of the hole that takes away artwork; the blocked share of the strip above the hole; half the lack of
    neck under 5 mm, and 6 for a neck under 2 mm; 4 if an opening of the artwork that could be mistaken for
    the hole lies higher; 2 if it is nearer to the centre of mass than 0.15 of the diagonal.
    """
    points = _candidates(site)
    angle, sway = _angles(site, points)
    rough = np.round((angle / HANG_LIMIT_DEG) ** 2 + sway / HANG_LIMIT_DEG, 9)
    late = angle > _SAFE_SHARE * HANG_LIMIT_DEG
    order = np.lexsort((points[:, 0], -points[:, 1], rough, late))[:_FINALISTS]
    points, angle, rough, late = points[order], angle[order], rough[order], late[order]
    cost = rough + _burden(site, points)
    best = np.lexsort((points[:, 0], -points[:, 1], np.round(cost, 6), late))[0]
    return Place(*(float(value) for value in (*points[best], angle[best], cost[best])))


def best_pair(site: Site, *, widest: bool, half: int = 0) -> tuple[Place, Place]:
    """Return the cheapest two places on one level, alike far from the vertical through the centre of mass.

    Parameters
    ----------
    site : Site
    widest : bool
        Whether places inside the base that are farther apart come first, for screws; else places above the
        centre of mass, from which the piece hangs.
    half : int
        1 for places above the centre of mass only, -1 for such below; then those farther from its level come
        first too. 0 for all.

    Notes
    -----
    A pair fits where both holes do: candidates lie on the edge of what the base grown by a distance shares
    with its mirror image across the vertical, the distances being those of `best_place`. The cost of a pair
    is that of both places (`best_place`), where instead of the angle, which is 0 by construction, two terms
    stand: the degrees by which the piece turns if one hole is a millimetre too high, over 3, and, where it
    hangs from them, those of a millimetre aside at the height of the pair above the centre of mass, over 3,
    so that it does not tip over. "Farther" counts half millimetres, and room beyond what a hole needs, to the
    edge and to the artwork, twice as much: on a wide border screws lie in its middle.

    Raises
    ------
    GeometryError
        If there is no room for two.
    """
    points = _pair_candidates(site, half, inside=widest)
    if len(points) == 0:
        points = _pair_candidates(site, half, inside=False)
    if len(points) == 0:
        raise GeometryError(
            "the base has no room for two holes on one level, alike far from its balance; set hang.holes to"
            f" {2 if half else 1}"
        )
    arm = points[:, 0] - site.center[0]
    above = np.maximum(points[:, 1] - site.center[1], 1e-6)
    tips = np.zeros(len(points)) if widest else np.degrees(np.arctan(1.0 / above))
    sway = np.round((np.degrees(np.arctan(0.5 / arm)) + tips) / HANG_LIMIT_DEG, 9)
    first = (
        -np.round(2 * (arm + np.abs(half * (points[:, 1] - site.center[1])) + 2 * _room(site, points)))
        if widest
        else (points[:, 1] <= site.center[1]).astype(np.float64)
    )
    order = np.lexsort((arm, -points[:, 1], sway, first))[:_FINALISTS]
    points, arm, first, sway = points[order], arm[order], first[order], sway[order]
    mirrored = np.column_stack([2 * site.center[0] - points[:, 0], points[:, 1]])
    cost = sway + _burden(site, points) + _burden(site, mirrored)
    best = np.lexsort((arm, -points[:, 1], np.round(cost, 6), first))[0]
    pair = (mirrored[best], points[best])
    left, right = (Place(float(x), float(y), 0.0, float(cost[best])) for x, y in pair)
    return left, right


def _distances(site: Site) -> tuple[float, ...]:
    """Return how far from the outline candidates lie; the first is inside."""
    half, wall = site.hole / 2, site.radius - site.hole / 2
    return (
        -(site.radius + _OUTLINE_TOLERANCE_MM),
        *(0.0, half - 0.5, half + 0.4 * wall, half + 0.8 * wall),
    )


def _inside(site: Site) -> tuple[float, ...]:
    """Return distances inside the outline: for the least wall, and on to the middle of a wide border."""
    least = -_distances(site)[0]
    free = polygons_of(site.base.difference(site.art))
    most = max((inscribed(piece).radius for piece in free), default=0.0)
    steps = _BORDER_STEPS if most > least else 1
    return tuple(-float(step) for step in np.linspace(least, max(least, most), steps))


def _room(site: Site, points: Floats) -> Floats:
    """Return by how many mm holes at points lie farther from edges and artwork than they need to."""
    middles = site.middles(points)
    around = np.minimum(
        shapely.distance(middles, shapely.boundary(site.base)), shapely.distance(middles, site.art)
    )
    room: Floats = np.maximum(around - site.radius - _OUTLINE_TOLERANCE_MM, 0.0)
    return room


def _offset(site: Site, distance: float) -> shapely.Geometry:
    """Return the base grown by a distance; shrunk, so that all of a slot fits."""
    shape = grow(shapely.simplify(site.base, _OUTLINE_TOLERANCE_MM), distance)
    return shrunk_level(shape, site.stretch) if distance < 0 else shape


def _candidates(site: Site) -> Floats:
    found: list[Floats] = []
    for distance in (*(_inside(site) if site.head else ()), *_distances(site)):
        rings = _rings(_offset(site, distance), with_openings=distance < 0)
        if len(rings):
            lines = shapely.multilinestrings(rings)
            found.append(shapely.get_coordinates(shapely.segmentize(lines, _STEP_MM)))
            found.append(_crossings(lines, site))
    return np.unique(np.round(np.concatenate(found), 6), axis=0)


def _pair_candidates(site: Site, half: int, *, inside: bool) -> Floats:
    """Return the right-hand places of all pairs, far enough apart for a wall between the holes."""
    found: list[Floats] = [np.empty((0, 2), dtype=np.float64)]
    for distance in _inside(site) if inside else _distances(site):
        shared = level_pair(_offset(site, distance), site.center[0])
        rings = _rings(shared, with_openings=distance < 0)
        if len(rings):
            lines = shapely.segmentize(shapely.multilinestrings(rings), _STEP_MM)
            found.append(shapely.get_coordinates(lines))
    points: Floats = np.unique(np.round(np.concatenate(found), 6), axis=0)
    apart = site.stretch + max(site.bore, site.hole / 2) + site.wall / 2
    away: Floats = points - np.array(site.center)
    return points[(away[:, 0] >= apart) & (half * away[:, 1] >= apart * abs(half))]


def _rings(shape: shapely.Geometry, *, with_openings: bool) -> Shapes:
    pieces = np.asarray(polygons_of(shape), dtype=object)
    return np.asarray(shapely.get_rings(pieces) if with_openings else shapely.get_exterior_ring(pieces))


def _crossings(lines: shapely.Geometry, site: Site) -> Floats:
    """Return where the vertical above the centre of mass meets the rings: the places of angle 0."""
    top = shapely.bounds(site.base)[3] + 2 * site.radius
    line = shapely.LineString([site.center, (site.center[0], top)])
    points: Floats = shapely.get_coordinates(shapely.intersection(lines, line))
    return points


def _angles(site: Site, points: Floats) -> tuple[Floats, Floats]:
    """Return the hanging angle and the degrees by which it changes for a millimetre of misplacement."""
    away = points - np.array(site.center)
    distance = np.maximum(np.hypot(*away.T), 1e-6)
    return np.degrees(np.abs(np.arctan2(away[:, 0], away[:, 1]))), np.degrees(1.0 / distance)


def _burden(site: Site, points: Floats) -> Floats:
    """Return the costs that need the shapes: area, motifs, artwork, swing, neck, rivals, nearness."""
    shapely.prepare(site.base)
    centers = site.middles(points)
    segments = arc_segments(site.radius) // 2
    discs = shapely.buffer(centers, site.radius, quad_segs=segments)
    holes = shapely.buffer(centers, site.hole / 2, quad_segs=segments)
    whole = shapely.area(discs)
    added = 1.0 - shapely.area(shapely.intersection(discs, site.base)) / whole
    neck = shapely.length(shapely.intersection(shapely.boundary(discs), site.base))
    away = np.nan_to_num(shapely.distance(centers, site.motifs), nan=np.inf)  # without motifs all is clear
    lack = np.clip(CLEAR_MM - (away - site.bore), 0.0, 2.0)
    art = shapely.area(shapely.intersection(holes, site.art)) / shapely.area(holes)
    cost: Floats = added + 3.0 * lack + 2.0 * art + _blocked(site, points)
    cost += np.clip((_NECK_WANTED_MM - neck) / 2, 0.0, 3.0) + 6.0 * (neck < _NECK_WEAK_MM)
    if site.rivals:
        cost += 4.0 * (points[:, 1] < max(rival.centroid.y for rival in site.rivals))
    left, low, right, high = site.base.bounds
    near = np.hypot(*(points - np.array(site.center)).T) < 0.15 * np.hypot(right - left, high - low)
    cost += 2.0 * near
    if site.head:
        cost -= np.minimum(_room(site, points), _ROOM_WORTH_MM)
    return cost


def _blocked(site: Site, points: Floats) -> Floats:
    width, height = _SWING_MM
    x, y = points[:, 0], points[:, 1] + site.radius
    strips = shapely.box(x - width / 2, y, x + width / 2, y + height)
    return np.asarray(shapely.area(shapely.intersection(strips, site.base)) / (width * height))
