"""Marks: corrections of the picture by place, made on the scaled areas before anything is planned."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from ..colorimetry import color_phrase, parse_hex, to_hex
from ..colorimetry.difference import SAME_COLOR, differences
from ..errors import GeometryError
from ..findings import Finding, Note, finding, note
from ..model import FlatAreas
from ..model.arrays import Color
from ..polygons import (
    as_multi,
    longest_neighbor,
    nearest_mm,
    noded_coverage,
    opening_at,
    piece_at,
    place_in,
    polygons_of,
    shared_lengths,
    union_of_faces,
    window_of,
)
from ..progress import Progress, Steps, drained
from ..recipe.sections.limits import MOST_COLORS
from ..recipe.tables import AREA_KINDS, Mark, named
from .replaced import ground_at

__all__ = ["mark", "mark_steps"]


@dataclass(frozen=True, slots=True)
class _Picture:
    """Colors and their areas while marks are applied; an area may be empty. One may be enclosed ground."""

    colors: tuple[Color, ...]
    polygons: tuple[shapely.MultiPolygon, ...]
    enclosed: int | None = None


@dataclass(frozen=True, slots=True)
class _Taken:
    """What a mark means: `pieces` of the picture's colors, or an `opening`, what is left, and where it is."""

    rest: _Picture
    pieces: tuple[shapely.MultiPolygon, ...]
    at_mm: tuple[float, float]
    opening: shapely.MultiPolygon = field(default_factory=shapely.MultiPolygon)

    @property
    def all(self) -> list[shapely.MultiPolygon]:
        """What is taken, of every color, and the opening."""
        return [piece for piece in (*self.pieces, self.opening) if not piece.is_empty]


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
        Places in mm of the artwork; kinds that act on the plan are passed over.

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
    picture = _Picture(colors, areas.polygons, areas.enclosed)
    marks = tuple(item for item in marks if item.kind in AREA_KINDS)
    notes: list[Note] = []
    findings: list[Finding] = []
    for number, (name, item) in enumerate(named(marks)):
        yield Progress("applying marks", number / len(marks))
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
        enclosed=kept.index(picture.enclosed) if picture.enclosed in kept else None,
        findings=(*areas.findings, *findings),
        notes=(*areas.notes, *notes),
    )


def _applied(picture: _Picture, item: Mark, name: str) -> tuple[_Picture, Note]:
    """Return the picture after one mark and the note of it."""
    taken = _at_point(picture, item, item.at_mm) if item.at_mm is not None else _inside(picture, item, name)
    what, size = _said(picture, taken), _size(taken)
    if item.kind == "replace":
        return _replaced(picture, taken, item, name)
    if item.kind == "open":
        if picture.enclosed is None or taken.pieces[picture.enclosed].is_empty:
            raise _MissError(f"finds {what}, no enclosed ground; erase takes out what is art")
        return taken.rest, note("mark-applied", f"{name}: {what} became an opening", taken.at_mm, size)
    if item.kind == "erase":
        return taken.rest, note("mark-applied", f"{name}: {what} became background", taken.at_mm, size)
    if item.kind == "merge" and item.value is None:
        index, rest = _beside(taken), taken.rest
    else:
        index, rest = _with_color(
            taken.rest, parse_hex(item.value_color or ""), only_known=item.kind == "merge"
        )
    words = f"{name}: {what} became {color_phrase(rest.colors[index])}"
    return _given_to(rest, index, taken), note("mark-applied", words, taken.at_mm, size)


def _replaced(picture: _Picture, taken: _Taken, item: Mark, name: str) -> tuple[_Picture, Note]:
    """Return the picture with the place of lettering in the color that lies round it."""
    ground = ground_at(picture.polygons, window_of(item.polygon_mm or (), name))
    words = f"{name}: {_said(picture, taken)} made room for words"
    said = note("mark-applied", words, taken.at_mm, _size(taken))
    if ground is None:
        return taken.rest, said
    return _given_to(taken.rest, ground, taken), said


def _given_to(picture: _Picture, index: int, taken: _Taken) -> _Picture:
    """Return a picture in which a color has all that was taken."""
    whole = union_of_faces([picture.polygons[index], *taken.all])
    return replace(picture, polygons=(*picture.polygons[:index], whole, *picture.polygons[index + 1 :]))


def _at_point(picture: _Picture, item: Mark, at_mm: tuple[float, float]) -> _Taken:
    """Take the area, one polygon of one color, that holds a point, or the opening round it."""
    nothing = [shapely.MultiPolygon()] * len(picture.polygons)
    found = piece_at(picture.polygons, at_mm)
    if found is not None:
        index, piece = found
        left = as_multi(
            [part for part in polygons_of(picture.polygons[index]) if not part.equals_exact(piece)]
        )
        polygons = (*picture.polygons[:index], left, *picture.polygons[index + 1 :])
        pieces = (*nothing[:index], as_multi(piece), *nothing[index + 1 :])
        return _Taken(replace(picture, polygons=polygons), pieces, at_mm)
    opening = None if item.kind in ("erase", "open") else opening_at(picture.polygons, at_mm)
    if opening is not None:
        return _Taken(picture, tuple(nothing), at_mm, as_multi(opening))
    away = _nearest(picture, shapely.Point(at_mm))
    raise _MissError(f"finds no area at ({at_mm[0]:.2f}, {at_mm[1]:.2f}) mm{away}")


def _inside(picture: _Picture, item: Mark, name: str) -> _Taken:
    """Cut all areas along a polygon and take what lies inside; both sides share the cut's vertices."""
    window = window_of(item.polygon_mm or (), name)
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


def _place(item: Mark) -> tuple[float, float]:
    """Return a point by which a mark is shown: its own, or one inside its polygon."""
    return item.at_mm if item.at_mm is not None else place_in(item.polygon_mm or ())


def _beside(taken: _Taken) -> int:
    """Return the color of the area that shares the longest boundary with the piece that was taken."""
    parts = [(index, part) for index, item in enumerate(taken.rest.polygons) for part in polygons_of(item)]
    piece = as_multi(taken.all)
    neighbor = longest_neighbor(shared_lengths([piece, *(part for _, part in parts)]), 0)
    if neighbor is None:
        raise _MissError("meets an area without neighbors; give value, the color that it takes")
    return parts[neighbor - 1][0]


def _with_color(picture: _Picture, color: Color, *, only_known: bool) -> tuple[int, _Picture]:
    """Return the index of a color, added to the picture where it is new and may be."""
    gaps = differences(color, picture.colors)
    index = int(np.argmin(gaps))
    if gaps[index] < SAME_COLOR:
        return index, picture
    if only_known:
        raise _MissError(
            f"names {to_hex(color)}, none of the picture's colors;"
            f" the nearest is {color_phrase(picture.colors[index])}"
        )
    art = [item for index, item in enumerate(picture.polygons) if index != picture.enclosed]
    if sum(not polygon.is_empty for polygon in art) >= MOST_COLORS:
        raise _MissError(f"would make more than {MOST_COLORS} colors; merge one first")
    colors, polygons = (*picture.colors, color), (*picture.polygons, shapely.MultiPolygon())
    return len(picture.colors), replace(picture, colors=colors, polygons=polygons)


def _nearest(picture: _Picture, place: shapely.Geometry) -> str:
    found = nearest_mm(picture.polygons, place)
    if found is None:
        return ""
    index, gap = found
    return f"; the nearest is {color_phrase(picture.colors[index])}, {gap:.2f} mm away"


def _said(picture: _Picture, taken: _Taken) -> str:
    """Say how much of which colors a mark takes."""
    own = [
        f"{piece.area:.2f} mm2 of {color_phrase(color)}"
        for color, piece in zip(picture.colors, taken.pieces, strict=True)
        if not piece.is_empty
    ]
    if not taken.opening.is_empty:
        own.append(f"an opening of {taken.opening.area:.2f} mm2")
    return " and ".join(own)


def _size(taken: _Taken) -> float:
    """Return the longest extent of what a mark takes, in mm."""
    return round(2 * float(shapely.minimum_bounding_radius(as_multi(taken.all))), 2)
