"""Links that marks add, and places at which marks allow none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from ...errors import GeometryError
from ...findings import Finding, Note
from ...polygons import as_multi, disc, merged, nearest_mm, place_in, polygons_of, window_of
from ...polygons.groups import Groups
from ...recipe.tables import Mark, named
from ..zones import Zone, applied, missed
from .bars import LONGEST_IN_WIDTHS, Link, between_roots, link_places, links_between, pairs_by_distance

__all__ = ["Barred", "asked_links", "barred_by", "links_round"]

_TURNS = 180
"""Directions in which a link through a point is tried, one for each degree."""

_FAR_MM = 5000.0
_OVERLAP_MM = 0.01
"""A bar reaches this far into what it joins, so that their union is one piece."""

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Barred:
    """Where no link may pass, and which marks say so."""

    shape: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)
    zones: tuple[Zone, ...] = ()

    def notes(self) -> tuple[Note, ...]:
        """Return a note for each mark."""
        return tuple(applied(zone, "no link passes there") for zone in self.zones)

    def outcome(self, bars: Sequence[shapely.Geometry]) -> tuple[tuple[Note, ...], tuple[Finding, ...]]:
        """Return notes of the marks that are kept, and findings of those that a link had to pass."""
        passed = [any(bar.intersects(zone.shape) for bar in bars) for zone in self.zones]
        words = "is passed by a link: these pieces cannot be joined anywhere else."
        findings = [
            missed(zone.name, words, zone.at_mm)
            for zone, is_passed in zip(self.zones, passed, strict=True)
            if is_passed
        ]
        notes = [note for note, is_passed in zip(self.notes(), passed, strict=True) if not is_passed]
        return tuple(notes), tuple(findings)


def barred_by(marks: Sequence[Mark], width: float) -> Barred:
    """Return where `no-link` marks allow no link: their polygons, or discs of a radius round points.

    Parameters
    ----------
    marks : sequence of Mark
    width : float
        Width of links in mm, the radius of marks without a value.
    """
    zones: list[Zone] = []
    for name, mark in named(mark for mark in marks if mark.kind == "no-link"):
        if mark.at_mm is not None:
            shape = as_multi(disc(*mark.at_mm, mark.value_mm or width))
            zones.append(Zone(mark, name, mark.at_mm, shape))
        else:
            corners = mark.polygon_mm or ()
            zones.append(Zone(mark, name, place_in(corners), as_multi(window_of(corners, name))))
    return Barred(merged([zone.shape for zone in zones]), tuple(zones))


def asked_links(
    base: shapely.Geometry, marks: Sequence[Mark], width: float
) -> tuple[list[tuple[Link, Note]], tuple[Finding, ...]]:
    """Return the bars that `link` marks ask for, and a finding for each that finds nothing to join.

    A point asks for the shortest bar through it, between two pieces or across an opening; a polygon for one
    along its long axis. Without a value the bar is as wide as `width`, and a quarter of its length at least.
    """
    found: list[tuple[Link, Note]] = []
    findings: list[Finding] = []
    for name, mark in named(mark for mark in marks if mark.kind == "link"):
        place = mark.at_mm if mark.at_mm is not None else place_in(mark.polygon_mm or ())
        ends = _ends_at(base, place) if mark.at_mm is not None else _ends_in(base, mark, name)
        if ends is None:
            findings.append(missed(name, _why(base, place), place))
            continue
        length = float(np.hypot(*(ends[1] - ends[0])))
        wide = mark.value_mm or max(width, length / LONGEST_IN_WIDTHS)
        bar = _bar(base, ends, wide)
        zone = Zone(mark, name, place, as_multi(bar))
        words = f"a link of {length:.2f} mm, {wide:.2f} mm wide, was added there"
        found.append((Link(bar, length, float(bar.area)), applied(zone, words)))
    return found, tuple(findings)


def links_round(
    pieces: list[shapely.Polygon], width: float, barred: Barred
) -> tuple[list[tuple[int, int, Link]], list[tuple[int, int]]]:
    """Return links that join pieces and pass no barred place, and pairs that can only be joined there.

    Pairs of pieces are joined by rising distance (Kruskal 1956), each by its cheapest allowed link.
    """
    groups = Groups(len(pieces))
    links: list[tuple[int, int, Link]] = []
    left: list[tuple[int, int]] = []
    for first, second in pairs_by_distance(pieces):
        if groups.same(first, second):
            continue
        usual = links_between(pieces[first], pieces[second], width)
        allowed = [link for link in usual if not link.bar.intersects(barred.shape)]
        if not allowed:
            tried = link_places(pieces[first], pieces[second], width)
            allowed = [link for link in tried if not link.bar.intersects(barred.shape)]
            allowed = [min(allowed, key=lambda link: round(link.cost, 6))] if allowed else []
        if not allowed:
            left.append((first, second))
            continue
        links += [(first, second, link) for link in allowed]
        groups.join(first, second)
    return links, [pair for pair in left if groups.join(*pair)]


def _ends_at(base: shapely.Geometry, place: tuple[float, float]) -> np.ndarray | None:
    """Return the ends of the shortest chord through a point in a gap or an opening of the base.

    A chord between two pieces goes before one that ends on the same piece twice.
    """
    center = np.array(place)
    if base.intersects(shapely.Point(place)):
        return None
    angles = np.pi * np.arange(_TURNS) / _TURNS
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    hits = [_first_hits(base, center, sign * ways) for sign in (1.0, -1.0)]
    length = np.round(np.hypot(*(hits[0] - hits[1]).T), 6)
    pieces = np.asarray(polygons_of(base), dtype=object)
    tree = shapely.STRtree(pieces)
    both = np.isfinite(length)
    if not both.any():
        return None
    owners = np.full((2, _TURNS), -1)
    for side in (0, 1):
        owners[side, both] = tree.nearest(shapely.points(hits[side][both]))
    same = owners[0] == owners[1]
    order = np.lexsort((length, same, ~both))
    best = int(order[0])
    return np.stack([hits[1][best], hits[0][best]])


def _first_hits(base: shapely.Geometry, center: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Return where rays from a point first meet the base; nan where they do not."""
    rays = shapely.linestrings(np.stack([np.broadcast_to(center, ways.shape), center + _FAR_MM * ways], 1))
    point = shapely.Point(center)
    found = np.full(ways.shape, np.nan)
    met = shapely.intersection(rays, shapely.boundary(base))
    for index in np.flatnonzero(~shapely.is_empty(met)):
        ends = shapely.get_coordinates(shapely.shortest_line(point, met[index]))
        found[index] = ends[1]
    return found


def _ends_in(base: shapely.Geometry, mark: Mark, name: str) -> np.ndarray | None:
    """Return the ends of the gap of the base along the long axis of a polygon."""
    box = shapely.minimum_rotated_rectangle(window_of(mark.polygon_mm or (), name))
    corners = shapely.get_coordinates(box)[:4]
    sides = np.roll(corners, -1, axis=0) - corners
    first = int(np.hypot(*sides[0]) >= np.hypot(*sides[1]))  # the short side; the axis joins the two
    middle = (corners + np.roll(corners, -1, axis=0)) / 2
    axis = shapely.LineString([middle[first], middle[first + 2]])
    gaps = [line for line in shapely.get_parts(axis.difference(base)) if line.length > _OVERLAP_MM]
    ends = [shapely.get_coordinates(line)[[0, -1]] for line in gaps]
    joined = [pair for pair in ends if max(base.distance(shapely.Point(end)) for end in pair) < _SAME]
    return max(joined, key=lambda pair: round(float(np.hypot(*(pair[1] - pair[0]))), 6), default=None)


def _bar(base: shapely.Geometry, ends: np.ndarray, width: float) -> shapely.Geometry:
    """Return the bar between two ends, reaching into the base on both sides as far as its corners need."""
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    line = shapely.LineString(ends + np.outer([-width, width], way))
    free = line.buffer(width / 2, cap_style="flat").difference(base)
    chord = shapely.LineString(ends)
    parts = [part for part in polygons_of(free) if part.intersection(chord).length > _SAME]
    if not parts:
        raise GeometryError("a link between these places has no length; move the mark a little")
    whole = between_roots(merged(parts), line, width, polygons_of(base))
    return whole.buffer(_OVERLAP_MM, join_style="mitre")


def _why(base: shapely.Geometry, place: tuple[float, float]) -> str:
    """Say why there is no link at a place."""
    if base.intersects(shapely.Point(place)):
        return "lies on the base, where nothing is to be joined; put it in a gap or an opening"
    near = nearest_mm([as_multi(base)], shapely.Point(place))
    away = f"; the base is {near[1]:.2f} mm away" if near is not None else ""
    return f"finds no two sides of the base to join{away}"
