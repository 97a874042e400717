"""What of a picture is to be seen on the piece, the ground that its art encloses too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from ...colorimetry import color_phrase
from ...findings import Note, note
from ...model import FlatAreas
from ...model.arrays import Color
from ...polygons import as_multi, inscribed, polygons_of
from ..remarks import place_of

__all__ = ["Art", "art_of", "ground_note"]

LEAST_GROUND_MM2 = 1.0
"""Enclosed ground smaller than this is left to the base: it is under the least dot that prints."""

WIDE_MM = 4.0
"""Enclosed ground in which a disc of this width fits could have been meant as an opening."""

_MOST_PLACES = 12


@dataclass(frozen=True, slots=True)
class Art:
    """Colors that are to be seen, and where.

    Parameters
    ----------
    polygons : tuple of MultiPolygon
        A valid coverage, none empty.
    colors : tuple of (r, g, b)
    ground : (r, g, b) or None
        The color of an opaque picture's ground.
    enclosed : int or None
        Which entry is ground that the art encloses.
    is_part : bool
        Whether enclosed ground is to be a part of its own, whatever the base's color.
    """

    polygons: tuple[shapely.MultiPolygon, ...]
    colors: tuple[Color, ...]
    ground: Color | None = None
    enclosed: int | None = None
    is_part: bool = False


def art_of(areas: FlatAreas, polygons: Sequence[shapely.MultiPolygon], enclosed: str) -> Art:
    """Return what is to be seen of areas, whose entries are these polygons now.

    Parameters
    ----------
    areas : FlatAreas
    polygons : sequence of MultiPolygon
    enclosed : str
        "keep" where enclosed ground is to be a part of its own.
    """
    shown = list(polygons)
    if areas.enclosed is not None and enclosed != "keep":
        ground = polygons_of(shown[areas.enclosed])
        shown[areas.enclosed] = as_multi([piece for piece in ground if piece.area >= LEAST_GROUND_MM2])
    kept = [index for index, polygon in enumerate(shown) if not polygon.is_empty]
    return Art(
        tuple(shown[index] for index in kept),
        tuple((int(red), int(green), int(blue)) for red, green, blue in areas.colors[kept]),
        areas.ground,
        kept.index(areas.enclosed) if areas.enclosed in kept else None,
        enclosed == "keep",
    )


def ground_note(picture: Art, *, is_base: bool) -> tuple[Note, ...]:
    """Say what shows enclosed ground, and where it is wide enough to have been meant as an opening.

    Parameters
    ----------
    picture : Art
    is_base : bool
        Whether the base shows it; else a part of its own does.
    """
    if picture.enclosed is None:
        return ()
    color = picture.colors[picture.enclosed]
    pieces = sorted(polygons_of(picture.polygons[picture.enclosed]), key=lambda piece: -piece.area)
    count = "An enclosed area is" if len(pieces) == 1 else f"{len(pieces)} enclosed areas are"
    what = "the base's top" if is_base else "a part of their own" if len(pieces) > 1 else "a part of its own"
    words = f"{count} {what}, in {color_phrase(color)}."
    wide = [piece for piece in pieces if 2 * inscribed(piece).radius >= WIDE_MM]
    if wide:
        places = ", ".join(f"({x + 0.0:.2f}, {y + 0.0:.2f})" for x, y in map(place_of, wide[:_MOST_PLACES]))
        more = f" and {len(wide) - _MOST_PLACES} more places" if len(wide) > _MOST_PLACES else ""
        words += f" A mark of kind open makes an opening at {places} mm{more};"
        words += ' background.enclosed = "remove" opens all.'
    first = (wide or pieces)[0]
    return (note("ground-shown", words, place_of(first), round(2 * inscribed(first).radius, 2)),)
