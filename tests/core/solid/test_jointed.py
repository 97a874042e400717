"""Keys below the face: tabs and sockets on whole layers, a free layer between them, a roof above."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.model import Division, Slab
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.solid.jointed import LEAST_TAB_MM, ROOF_MM, jointed
from reliefsmith.solid.layergrid import LayerGrid
from reliefsmith.solid.levels import Levels

GRID = LayerGrid(200_000, 200_000)
WHOLE = shapely.box(-20, 0, 20, 10)
OWN, OTHER = shapely.box(-20, 0, 0, 10), shapely.box(0.2, 0, 20, 10)
SOCKET, TAB = shapely.box(0.2, 3, 5, 7), shapely.box(0, 3.2, 4.8, 6.8)
DIVISION = Division(WHOLE, (), 0.2, 1, as_multi(TAB), as_multi(SOCKET))
GREY, RED = (90, 90, 90), (200, 30, 40)


def levels(base_mm: float, *more: Slab) -> Levels:
    plate = Slab("base", "base", GREY, as_multi([OWN, OTHER]), 0.0, base_mm)
    return Levels((plate, *more), round(base_mm / 0.2), (), True)


def sections(made: Levels, part: str = "base") -> list[tuple[float, float, float]]:
    return [
        (slab.bottom_mm, slab.top, round(slab.polygon.area, 6)) for slab in made.slabs if slab.part == part
    ]


def test_below_a_roof_lies_a_free_layer_and_below_that_the_tab() -> None:
    made = jointed(levels(2.0), DIVISION, GRID, HeightSettings())
    plain, without = OWN.area + OTHER.area, OWN.area + OTHER.difference(SOCKET).area
    with_tab = shapely.union_all([OWN, OTHER.difference(SOCKET), TAB]).area
    assert sections(made) == [(0.0, 1.2, with_tab), (1.2, 1.4, without), (1.4, 2.0, plain)]
    assert ROOF_MM == 0.6


def test_a_base_too_low_for_tab_free_layer_and_roof_is_refused_with_the_height_that_does() -> None:
    heights = HeightSettings(base_mm=1.2)
    with pytest.raises(GeometryError, match=r"set heights\.base_mm to 1\.4 mm"):
        jointed(levels(1.2), DIVISION, GRID, heights)
    least = jointed(levels(1.4), DIVISION, GRID, HeightSettings(base_mm=1.4))
    assert sections(least)[0][1] == pytest.approx(LEAST_TAB_MM)


def test_what_is_sunk_over_a_socket_lowers_its_roof() -> None:
    """A motif that begins at 1.6 mm over the socket; another one beside it changes nothing."""
    sunk = Slab("red", "motif", RED, shapely.box(1, 4, 3, 6), 1.6, 2.0)
    hole = as_multi(WHOLE.difference(sunk.polygon).intersection(as_multi([OWN, OTHER])))
    whole = levels(2.0)
    cut = (
        replace(whole.slabs[0], top=1.6),
        replace(whole.slabs[0], polygon=hole, bottom_mm=1.6),
        sunk,
    )
    made = jointed(replace(whole, slabs=cut), DIVISION, GRID, HeightSettings())
    assert [row[:2] for row in sections(made)] == [(0.0, 0.8), (0.8, 1.0), (1.0, 1.6), (1.6, 2.0)]
    assert sections(made, "red") == [(1.6, 2.0, 4.0)]
    beside = replace(sunk, polygon=shapely.box(10, 4, 12, 6), bottom_mm=2.0, top=2.6)
    assert [row[:2] for row in sections(jointed(levels(2.0, beside), DIVISION, GRID, HeightSettings()))] == [
        (0.0, 1.2),
        (1.2, 1.4),
        (1.4, 2.0),
    ]


def test_what_lies_in_the_back_beside_a_key_gets_no_tab() -> None:
    inlay = Slab("red", "motif", RED, shapely.box(10, 4, 12, 6), 0.0, 0.4)
    made = jointed(levels(2.0, inlay), DIVISION, GRID, HeightSettings())
    assert sections(made, "red") == [(0.0, 0.4, 4.0)]


def test_pieces_that_are_whole_or_cut_through_stay_as_they_are() -> None:
    plain = levels(2.0)
    assert jointed(plain, None, GRID, HeightSettings()) is plain
    through = replace(DIVISION, tabs=shapely.MultiPolygon(), sockets=shapely.MultiPolygon())
    assert jointed(plain, through, GRID, HeightSettings()) is plain
