"""Keys: where one part reaches into the next so that they cannot be pulled apart in the plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...polygons import grow, polygons_of, shrink, snapped, without
from ...polygons.groups import Groups
from ...recipe.sections import SeamSettings

__all__ = ["KEY_WALL_MM", "NEEDED_MM", "REACHES_MM", "Key", "Loose", "keys_of", "outline"]

REACHES_MM = (6.0, 4.5, 3.0)
"""How far keys reach, tried from the longest, where the recipe does not say."""

KEY_WALL_MM = 1.2
"""Least plastic between a key's socket and the outside, a hole or a pocket: three beads."""

APART_MM = 50.0
"""About how far keys stand apart along a seam (common practice, no source)."""

NECK, HEAD = 0.3, 0.55
"""Half widths of a hammer head's neck and head, by its reach; the neck is half as long as the key."""

NEEDED_MM = 2 * (HEAD * REACHES_MM[-1] + KEY_WALL_MM)
"""An arm takes the shortest key, with a wall on both sides, where it is as wide as this."""

DOVETAIL_DEG = 15.0
"""How far the sides of a dovetail lean out: 1 in 4 (common practice, no source)."""

_ROOT = 0.4  # how far a key goes back into its own part, as a share of its reach, past a bent seam
_STEP_MM = 1.0  # between places along a seam at which a key is tried
_ASTRAY = 0.02  # share of a key that a bent seam may leave on the wrong side


@dataclass(frozen=True, slots=True)
class Key:
    """A key of cell `owner` that reaches into cell `other`, its root in the owner."""

    owner: int
    other: int
    shape: shapely.Polygon


def outline(joint: str, reach: float) -> np.ndarray:
    """Return the corners (n, 2) of a key at the origin, reaching upward over y = 0.

    Examples
    --------
    >>> outline("hammer", 4.0)[:4].tolist()
    [[1.2, -1.6], [1.2, 2.0], [2.2, 2.0], [2.2, 4.0]]
    """
    neck, root = NECK * reach, -_ROOT * reach
    if joint == "hammer":
        right = [(neck, root), (neck, reach / 2), (HEAD * reach, reach / 2), (HEAD * reach, reach)]
    else:
        right = [(neck, root), (neck, 0.0), (neck + reach * math.tan(math.radians(DOVETAIL_DEG)), reach)]
    return np.round([*right, *((-x, y) for x, y in reversed(right))], 6)


@dataclass(frozen=True, slots=True)
class Loose:
    """A seam of cells that no key holds together, and its middle."""

    owner: int
    other: int
    place: shapely.Point
    reach_mm: float


def keys_of(
    cells: Sequence[shapely.Polygon], barred: shapely.Geometry, seams: SeamSettings, gap_mm: float
) -> tuple[list[Key], list[Loose]]:
    """Place keys along the seams of cells, each on the cell that comes first; tell which seams have none.

    A seam needs no key where its cells hold together by way of others.

    Parameters
    ----------
    cells : sequence of Polygon
        In the order of assembly, a coverage.
    barred : geometry
        What keys stay clear of.
    seams : SeamSettings
    gap_mm : float
    """
    reaches = REACHES_MM if seams.reach_mm is None else (seams.reach_mm,)
    shared = _seams(cells)
    keys: list[Key] = []
    held = Groups(len(cells))
    for one, other, seam in shared:
        for reach in reaches:
            around = _Around(cells[one], cells[other], barred, gap_mm)
            found = _placed(seam, outline(seams.joint, reach), around)
            keys += [Key(one, other, shape) for shape in found]
            if found:
                held.join(one, other)
                break
    loose = []
    for one, other, seam in shared:
        if held.join(one, other):  # were not held yet
            longest = max(seam.geoms, key=shapely.length)
            place = shapely.line_interpolate_point(longest, 0.5, normalized=True)
            loose.append(Loose(one, other, place, reaches[-1]))
    return keys, loose


def _seams(cells: Sequence[shapely.Polygon]) -> list[tuple[int, int, shapely.MultiLineString]]:
    """Return which cells meet, and along which lines."""
    tree = shapely.STRtree(list(cells))
    pairs = sorted({(int(a), int(b)) for a, b in tree.query(list(cells)).T if a < b})
    found = []
    for one, other in pairs:
        meeting = shapely.intersection(shapely.boundary(cells[one]), shapely.boundary(cells[other]))
        lines = [
            item for item in shapely.get_parts(meeting) if item.geom_type == "LineString" and item.length
        ]
        if lines:
            merged = shapely.line_merge(shapely.multilinestrings(lines))
            found.append((one, other, shapely.multilinestrings(shapely.get_parts(merged))))
    return found


@dataclass(frozen=True, slots=True)
class _Around:
    """What a key must suit: the cell that it stands on, the one that it reaches into, what it avoids."""

    own: shapely.Polygon
    other: shapely.Polygon
    barred: shapely.Geometry
    gap_mm: float

    def takes(self, key: shapely.Polygon, root: shapely.Polygon) -> bool:
        """Tell whether a key has room, its root in its own cell and its head in the other one."""
        room = grow(key, self.gap_mm + KEY_WALL_MM, "miter")
        both = shapely.union(self.own, self.other)
        if not shapely.covers(both, room) or shapely.intersects(self.barred, room):
            return False
        ahead = shapely.difference(key, root)
        astray = shapely.intersection(ahead, self.own).area + shapely.difference(root, self.own).area
        if astray > _ASTRAY * key.area:
            return False
        left = without(self.other, grow(key, 2 * self.gap_mm, "miter"))  # cuts nothing off the other cell
        return sum(not shrink(piece, self.gap_mm).is_empty for piece in polygons_of(left)) == 1


def _placed(
    seam: shapely.MultiLineString,
    corners: np.ndarray,
    around: _Around,
) -> list[shapely.Polygon]:
    """Return keys along the lines of a seam, about evenly, where there is room."""
    kept: list[shapely.Polygon] = []
    for line in seam.geoms:
        length = shapely.length(line)
        wanted = max(1, round(length / APART_MM))
        places = np.arange(_STEP_MM / 2, length, _STEP_MM)
        for turn in range(wanted):
            middle = (turn + 0.5) * length / wanted
            near = places[np.abs(places - middle) <= length / wanted / 2]
            for place in near[np.argsort(np.abs(near - middle), kind="stable")].tolist():
                key, root = _turned(line, place, corners, around)
                clear = grow(key, 2 * KEY_WALL_MM + around.gap_mm, "miter")
                if around.takes(key, root) and not any(shapely.intersects(clear, one) for one in kept):
                    kept.append(key)
                    break
    return kept


def _turned(
    line: shapely.LineString,
    place: float,
    corners: np.ndarray,
    around: _Around,
) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Return a key and its root as they stand at a place of a seam, across it, toward the other cell."""
    reach = float(corners[:, 1].max())
    ends = shapely.line_interpolate_point(line, [max(place - reach / 2, 0.0), place + reach / 2])
    start, end = shapely.get_coordinates(ends)
    at = shapely.get_coordinates(shapely.line_interpolate_point(line, place))[0]
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    across = np.array((-along[1], along[0]))
    if not shapely.intersects(around.other, shapely.Point(at + 0.2 * reach * across)):
        along, across = -along, -across
    shape = shapely.Polygon(snapped(at + corners @ np.array([along, across])))
    behind = np.array([(-2 * reach, -2 * reach), (2 * reach, -2 * reach), (2 * reach, 0), (-2 * reach, 0)])
    half = shapely.Polygon(at + behind @ np.array([along, across]))
    return shape, shapely.intersection(shape, half)
