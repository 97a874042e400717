"""Zones: what marks mean on the plan, a piece of one color, an opening, or all within a polygon."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely

from ..findings import Finding, Note, finding, note
from ..model import FlatAreas
from ..model.arrays import Color
from ..polygons import as_multi, enclosed, merged, nearest_mm, piece_at, place_in, polygons_of, window_of
from ..recipe.tables import Mark, named
from .strokes.partition import GROUND, Sheet

__all__ = [
    "Zone",
    "applied",
    "missed",
    "openings_in",
    "spared",
    "unchanged",
    "without_motifs",
    "zone_of_art",
    "zones_on",
]


@dataclass(frozen=True, slots=True)
class Zone:
    """Where a mark is meant.

    Parameters
    ----------
    mark : Mark
    name : str
        By which messages call it.
    at_mm : (float, float)
        Its point, or one inside its polygon.
    shape : MultiPolygon
        The piece that holds its point, or its polygon.
    number : int or None
        The entry of the sheet that holds its point; None for a polygon.
    """

    mark: Mark
    name: str
    at_mm: tuple[float, float]
    shape: shapely.MultiPolygon
    number: int | None = None

    @property
    def size_mm(self) -> float:
        """Its longest extent in mm."""
        return round(2 * float(shapely.minimum_bounding_radius(self.shape)), 2)


def applied(zone: Zone, words: str) -> Note:
    """Note that a mark was applied."""
    return note("mark-applied", f"{zone.name}: {words}", zone.at_mm, zone.size_mm)


def missed(name: str, words: str, at_mm: tuple[float, float]) -> Finding:
    """Say that a mark could not be applied, and why."""
    return finding("mark-missed", f"{name} {words}", (*at_mm, 0.0))


def zone_of_art(areas: Sequence[shapely.MultiPolygon], name: str, mark: Mark) -> Zone | Finding:
    """Return where a mark is meant on the artwork: the area or opening round its point, or its polygon."""
    if mark.at_mm is None:
        corners = mark.polygon_mm or ()
        window = as_multi(window_of(corners, name))
        return Zone(mark, name, place_in(corners), window)
    found = piece_at(areas, mark.at_mm)
    if found is not None:
        return Zone(mark, name, mark.at_mm, as_multi(found[1]), found[0])
    point = shapely.Point(mark.at_mm)
    opening = next((item for item in enclosed(areas) if item.contains(point)), None)
    if opening is not None:
        return Zone(mark, name, mark.at_mm, as_multi(opening), GROUND)
    near = nearest_mm(areas, point)
    away = "" if near is None else f"; the nearest is {near[1]:.2f} mm away"
    x, y = mark.at_mm
    return missed(name, f"finds no area at ({x:.2f}, {y:.2f}) mm{away}", mark.at_mm)


def zones_on(
    sheet: Sheet, areas: FlatAreas, base_color: Color, marks: Iterable[Mark]
) -> tuple[list[Zone], tuple[Finding, ...]]:
    """Return where marks are meant on a sheet, and a finding for each that finds nothing.

    A point means a piece of a motif; on areas of the base's color, or in an opening, a piece of the ground.
    """
    zones: list[Zone] = []
    findings: list[Finding] = []
    colors = [(int(r), int(g), int(b)) for r, g, b in areas.colors]
    for name, mark in named(marks):
        found = piece_at(sheet.motifs, mark.at_mm) if mark.at_mm is not None else None
        if found is not None and mark.at_mm is not None:
            zones.append(Zone(mark, name, mark.at_mm, as_multi(found[1]), found[0]))
            continue
        zone = zone_of_art(areas.polygons, name, mark)
        if isinstance(zone, Finding):
            findings.append(zone)
        elif zone.number in (None, GROUND) or colors[zone.number] == base_color:
            number = None if zone.number is None else GROUND
            zones.append(Zone(mark, name, zone.at_mm, zone.shape, number))
        else:
            findings.append(missed(name, "finds a speck that was merged into its neighbor", zone.at_mm))
    return zones, tuple(findings)


def without_motifs(
    areas: Sequence[shapely.MultiPolygon], marks: Iterable[Mark]
) -> tuple[tuple[Note, ...], tuple[Finding, ...]]:
    """Say what marks on strokes come to where no motif stands on the base: only `protect` keeps something."""
    zones = [zone_of_art(areas, name, mark) for name, mark in named(marks)]
    found = [zone for zone in zones if isinstance(zone, Zone)]
    kept = [zone for zone in found if zone.mark.kind == "protect"]
    words = "finds no motif: all of the artwork has the color of the base"
    findings = [missed(zone.name, words, zone.at_mm) for zone in found if zone.mark.kind != "protect"]
    nowhere = [zone for zone in zones if isinstance(zone, Finding)]
    return tuple(applied(zone, "what lies there is kept as drawn") for zone in kept), (*nowhere, *findings)


def spared(areas: Sequence[shapely.MultiPolygon], marks: Iterable[Mark]) -> tuple[Zone, ...]:
    """Return the zones on the artwork in which `protect` keeps everything."""
    kept = [(name, mark) for name, mark in named(marks) if mark.kind == "protect"]
    zones = [zone_of_art(areas, name, mark) for name, mark in kept]
    return tuple(zone for zone in zones if isinstance(zone, Zone))


def openings_in(areas: Sequence[shapely.MultiPolygon], zones: Sequence[Zone]) -> shapely.MultiPolygon:
    """Return the openings of the artwork that lie in zones."""
    if not zones:
        return shapely.MultiPolygon()
    whole = merged([zone.shape for zone in zones])
    return as_multi([opening for opening in enclosed(areas) if whole.covers(opening)])


def unchanged(
    wide: shapely.MultiPolygon, base: shapely.Geometry, zones: Sequence[Zone]
) -> shapely.MultiPolygon:
    """Return a widened base as it was before within zones; what is left apart by that goes too."""
    if not zones:
        return wide
    added = merged([zone.shape for zone in zones]).difference(base)
    left = wide.difference(added)
    return as_multi([piece for piece in polygons_of(left) if piece.intersects(base)])
