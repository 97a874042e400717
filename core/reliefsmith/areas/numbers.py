"""Numbers of areas: by them marks name an area without a place in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..colorimetry import color_phrase, color_word, parse_hex, unique_names
from ..colorimetry.difference import SAME_COLOR, differences
from ..errors import RecipeError
from ..model import FlatAreas, NumberedArea, TracedAreas
from ..model.arrays import Color, Palette, Points
from ..polygons import piece_at
from ..recipe.sections import Inscription
from ..recipe.tables import Mark, named

__all__ = ["lettering_placed", "numbered", "placed"]

_MIDDLE_SHARE, _LEAST_PX = 0.02, 0.01
"""How exactly the middle of an area is found: by the side of a square as large, and at least."""

_ANEW = "areas are numbered anew where colors, background or picture change"


def numbered(
    areas: TracedAreas, mm_per_px: float, to_mm: Callable[[Points], Points]
) -> tuple[NumberedArea, ...]:
    """Count the connected pieces of all colors, the largest first, of equal ones the upper left one.

    They are measured in the pixels of the picture, before any size, so that neither size nor
    anything after it changes a number.

    Parameters
    ----------
    areas : TracedAreas
    mm_per_px : float
    to_mm : callable
        Takes points in pixels to mm of the artwork.
    """
    pieces, owner = shapely.get_parts(np.asarray(areas.polygons, dtype=object), return_index=True)
    sizes = shapely.area(pieces)
    radii = shapely.maximum_inscribed_circle(pieces, np.maximum(_MIDDLE_SHARE * np.sqrt(sizes), _LEAST_PX))
    middles = shapely.get_coordinates(shapely.get_point(radii, 0))
    places, reach = to_mm(middles).round(3) + 0.0, shapely.length(radii)
    return tuple(
        NumberedArea(
            color=_color(areas.colors[owner[index]]),
            at_mm=(float(places[index, 0]), float(places[index, 1])),
            radius_mm=float(reach[index] * mm_per_px),
            area_mm2=float(sizes[index] * mm_per_px**2),
        )
        for index in np.lexsort((middles[:, 0], middles[:, 1], -sizes.round())).tolist()
    )


def placed(marks: Sequence[Mark], areas: FlatAreas) -> tuple[Mark, ...]:
    """Return marks with the place in mm of each area that they name by its number.

    Raises
    ------
    RecipeError
        If there is no such area, it has another color than the mark says, or nothing of it is left at this
        size.
    """
    return tuple(
        item if item.number is None else replace(item, at=None, at_mm=_place(item, name, areas))
        for name, item in named(marks)
    )


def lettering_placed(texts: Sequence[Inscription], areas: FlatAreas) -> tuple[Inscription, ...]:
    """Return texts with a place in mm in each area that they name by its number; errors as for marks."""
    return tuple(
        item
        if item.number is None
        else replace(item, area=None, area_mm=_place(item, f"lettering entry {place}", areas))
        for place, item in enumerate(texts, start=1)
    )


def _place(mark: Mark | Inscription, name: str, areas: FlatAreas) -> tuple[float, float]:
    number, count = mark.number or 0, len(areas.numbered)
    if not 1 <= number <= count:
        raise RecipeError(f"{name} names area {number}, but the picture has areas 1 to {count}; {_ANEW}")
    area = areas.numbered[number - 1]
    if mark.stated and not _is_called(mark.stated, area.color, areas.colors):
        is_so = f"area {number} is {color_phrase(area.color)}"
        raise RecipeError(f"{name} names area {number} as {mark.stated}, but {is_so}; {_ANEW}")
    found = piece_at(areas.polygons, area.at_mm)
    if found is None or _color(areas.colors[found[0]]) != area.color:
        raise RecipeError(f"{name} names area {number}, of which this size leaves nothing; make it larger")
    return area.at_mm


def _is_called(stated: str, color: Color, colors: Palette) -> bool:
    """Tell whether a word or value names a color, one of several; "red" names a second red too."""
    if stated.startswith("#"):
        return bool(differences(parse_hex(stated), [color])[0] < SAME_COLOR)
    names = {_color(own): name for own, name in zip(colors, unique_names(colors), strict=True)}
    return stated in (names.get(color), color_word(color))


def _color(row: Iterable[int]) -> Color:
    red, green, blue = (int(value) for value in row)
    return red, green, blue
