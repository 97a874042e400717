"""Marks: corrections of the picture by place, made on the scaled areas before anything is planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..chroma import ciede2000, color_word, parse_hex, srgb_to_lab, to_hex
from ..errors import GeometryError, RecipeError
from ..findings import Finding, Note, finding, note
from ..model import FlatAreas
from ..model.arrays import Color
from ..plane import (
    as_multi,
    longest_neighbor,
    noded_coverage,
    polygons_of,
    shared_lengths,
    snapped,
    union_of_faces,
)
from ..progress import Progress, Steps, drained
from ..tables import Mark

__all__ = ["MOST_COLORS", "mark", "mark_steps"]

MOST_COLORS = 8
"""Flat colors of one picture, as `colors.count` allows."""

SAME_COLOR = 3.0
"""A color that a mark names is one of the picture's if it differs by less (CIEDE2000); else it is new."""


@dataclass(frozen=True, slots=True)
class _Picture:
    """Colors and their areas while marks are applied; an area may be empty."""

    colors: tuple[Color, ...]
    polygons: tuple[shapely.MultiPolygon, ...]


@dataclass(frozen=True, slots=True)
class _Taken:
    """What a mark means: `pieces` taken out of the picture's colors, what is left, and where it is."""

    rest: _Picture
    pieces: tuple[shapely.MultiPolygon, ...]
    at_mm: tuple[float, float]


class _MissError(Exception):
    """A mark cannot be applied; the words say why."""


def mark_steps(areas: FlatAreas, marks: tuple[Mark, ...]) -> Steps[FlatAreas]:
    """Apply the marks of a recipe to scaled areas, one after the other.

    Frame and size stay those of the areas before any mark, so that the places of the other marks keep their
    meaning. A mark that finds nothing is a finding and changes nothing.

    Parameters
    ----------
    areas : FlatAreas
    marks : tuple of Mark
        Places in mm of the artwork.

    Returns
    -------
    FlatAreas
        A valid coverage on the 1 um grid. New colors stand last; colors without an area are left out.

    Raises
    ------
    RecipeError
        If the polygon of a mark crosses itself or encloses nothing.
    GeometryError
        If nothing is left.
    """
    colors = tuple((int(r), int(g), int(b)) for r, g, b in areas.colors)
    picture = _Picture(colors, areas.polygons)
    notes: list[Note] = []
    findings: list[Finding] = []
    for number, item in enumerate(marks, start=1):
        yield Progress("applying marks", (number - 1) / len(marks))
        name = f"mark {number} ({item.kind})"
        try:
            picture, said = _applied(picture, item, name)
            notes.append(said)
        except _MissError as missed:
            x, y = _place(item)
            findings.append(finding("mark-missed", f"{name} {missed}", (x, y, 0.0)))
    if not marks:
        return areas
    return _flat(areas, picture, findings, notes)


mark = drained(mark_steps)


def _flat(areas: FlatAreas, picture: _Picture, findings: list[Finding], notes: list[Note]) -> FlatAreas:
    kept = [index for index, polygon in enumerate(picture.polygons) if not polygon.is_empty]
    if not kept:
        raise GeometryError("the marks leave no area of the artwork; take one out of marks")
    return replace(
        areas,
        polygons=tuple(picture.polygons[index] for index in kept),
        colors=np.array([picture.colors[index] for index in kept], dtype=np.uint8),
        findings=(*areas.findings, *findings),
        notes=(*areas.notes, *notes),
    )


def _applied(picture: _Picture, item: Mark, name: str) -> tuple[_Picture, Note]:
    """Return the picture after one mark and the note of it."""
    taken = _at_point(picture, item.at_mm) if item.at_mm is not None else _in_polygon(picture, item, name)
    what = _said(picture, taken.pieces)
    if item.kind == "erase":
        return taken.rest, note("mark-applied", f"{name}: {what} became background", taken.at_mm)
    if item.kind == "merge" and item.value is None:
        index, rest = _beside(taken), taken.rest
    else:
        index, rest = _with_color(taken.rest, parse_hex(item.value or ""), only_known=item.kind == "merge")
    whole = union_of_faces([piece for piece in (rest.polygons[index], *taken.pieces) if not piece.is_empty])
    polygons = (*rest.polygons[:index], whole, *rest.polygons[index + 1 :])
    words = f"{name}: {what} became {_named(rest.colors[index])}"
    return replace(rest, polygons=polygons), note("mark-applied", words, taken.at_mm)


def _at_point(picture: _Picture, at_mm: tuple[float, float]) -> _Taken:
    """Take the area, one polygon of one color, that holds a point; on a boundary the first one."""
    point = shapely.Point(at_mm)
    for index, polygon in enumerate(picture.polygons):
        parts = polygons_of(polygon)
        hit = np.flatnonzero(shapely.intersects(np.asarray(parts, dtype=object), point))
        if len(hit):
            left = as_multi([part for number, part in enumerate(parts) if number != hit[0]])
            polygons = (*picture.polygons[:index], left, *picture.polygons[index + 1 :])
            pieces = [shapely.MultiPolygon()] * len(picture.polygons)
            pieces[index] = as_multi(parts[hit[0]])
            return _Taken(replace(picture, polygons=polygons), tuple(pieces), at_mm)
    raise _MissError(f"finds no area at ({at_mm[0]:.2f}, {at_mm[1]:.2f}) mm{_nearest(picture, point)}")


def _in_polygon(picture: _Picture, item: Mark, name: str) -> _Taken:
    """Cut all areas along a polygon and take what lies inside; both sides share the cut's vertices."""
    window = _window(item, name)
    inside = [as_multi(shapely.intersection(polygon, window)) for polygon in picture.polygons]
    outside = [as_multi(shapely.difference(polygon, window)) for polygon in picture.polygons]
    cut = noded_coverage([*inside, *outside])
    pieces, rest = cut[: len(inside)], cut[len(inside) :]
    if all(piece.is_empty for piece in pieces):
        x, y = _place(item)
        raise _MissError(
            f"finds no area in its polygon round ({x:.2f}, {y:.2f}) mm{_nearest(picture, window)}"
        )
    return _Taken(replace(picture, polygons=rest), pieces, _place(item))


def _window(item: Mark, name: str) -> shapely.Polygon:
    window = shapely.Polygon(snapped(item.polygon_mm or ()))
    if not window.is_valid or window.area == 0:
        raise RecipeError(
            f"the polygon of {name} crosses itself or encloses nothing; give its corners in turn"
        )
    return window


def _place(item: Mark) -> tuple[float, float]:
    """Return a point by which a mark is shown: its own, or one inside its polygon."""
    if item.at_mm is not None:
        return item.at_mm
    point = shapely.Polygon(item.polygon_mm).representative_point()
    return (round(point.x, 3), round(point.y, 3))


def _beside(taken: _Taken) -> int:
    """Return the color of the area that shares the longest boundary with the piece that was taken."""
    parts = [(index, part) for index, item in enumerate(taken.rest.polygons) for part in polygons_of(item)]
    piece = as_multi(taken.pieces)
    neighbor = longest_neighbor(shared_lengths([piece, *(part for _, part in parts)]), 0)
    if neighbor is None:
        raise _MissError("meets an area without neighbors; give value, the color that it takes")
    return parts[neighbor - 1][0]


def _with_color(picture: _Picture, color: Color, *, only_known: bool) -> tuple[int, _Picture]:
    """Return the index of a color, added to the picture where it is new and may be."""
    labs = srgb_to_lab(np.array(picture.colors, dtype=np.uint8))
    gaps = ciede2000(labs, srgb_to_lab(np.array(color, dtype=np.uint8)))
    index = int(np.argmin(gaps))
    if gaps[index] < SAME_COLOR:
        return index, picture
    if only_known:
        raise _MissError(
            f"names {to_hex(color)}, none of the picture's colors;"
            f" the nearest is {_named(picture.colors[index])}"
        )
    if sum(not polygon.is_empty for polygon in picture.polygons) >= MOST_COLORS:
        raise _MissError(f"would make more than {MOST_COLORS} colors; merge one first")
    grown = _Picture((*picture.colors, color), (*picture.polygons, shapely.MultiPolygon()))
    return len(picture.colors), grown


def _nearest(picture: _Picture, place: shapely.Geometry) -> str:
    gaps = [place.distance(polygon) if not polygon.is_empty else np.inf for polygon in picture.polygons]
    index = int(np.argmin(gaps))
    if not np.isfinite(gaps[index]):
        return ""
    return f"; the nearest is {_named(picture.colors[index])}, {gaps[index]:.2f} mm away"


def _said(picture: _Picture, pieces: Sequence[shapely.MultiPolygon]) -> str:
    """Say how much of which colors a mark takes."""
    own = [
        f"{piece.area:.2f} mm2 of {_named(color)}"
        for color, piece in zip(picture.colors, pieces, strict=True)
        if not piece.is_empty
    ]
    return " and ".join(own)


def _named(color: Color) -> str:
    return f"{color_word(color)} ({to_hex(color)})"
