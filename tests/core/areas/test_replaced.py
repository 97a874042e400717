"""Lettering that a mark replaces: its ground, color, turn, and the box that the new text fills."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from reliefsmith.areas.replaced import ground_at, replacing
from reliefsmith.errors import GeometryError
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.tables import Mark

NAVY, WHITE, RED = (20, 33, 61), (255, 255, 255), (200, 30, 40)
PLATE = shapely.box(-40, -30, 40, 30)
WORD = shapely.union_all([shapely.box(x, 0, x + 1.5, 4) for x in range(0, 12, 3)])


def areas(letters: shapely.Geometry, more: shapely.Geometry | None = None) -> FlatAreas:
    dot = more if more is not None else shapely.Polygon()
    shapes = (PLATE.difference(letters.union(dot)), letters, dot)
    frame = Frame(0.1, (0.0, 0.0), 0.0, (800, 600))
    return FlatAreas(
        tuple(map(as_multi, shapes)), np.array([NAVY, WHITE, RED], np.uint8), frame, (80.0, 60.0)
    )


def mark(window: shapely.Polygon) -> Mark:
    corners = tuple(shapely.get_coordinates(window.exterior)[:-1].tolist())
    return Mark("replace", polygon_mm=tuple(map(tuple, corners)), words="Heron")


WINDOW = shapely.box(-1, -1, 12, 5)


def test_a_text_fills_the_box_of_the_polygon_in_the_color_of_what_was_there() -> None:
    (text,) = replacing([Mark("protect", at_mm=(0, 0)), mark(WINDOW)], areas(WORD))
    assert (text.text, text.color, text.turn_deg) == ("Heron", "#ffffff", 0.0)
    assert text.box_mm == (-1.0, -1.0, 13.0, 6.0)


@pytest.mark.parametrize("angle", [20.0, -35.0, 90.0])
def test_a_text_runs_along_what_was_there(angle: float) -> None:
    """In the polygon's own box along that way, turned about its middle."""
    word, window = (affinity.rotate(shape, angle, origin=(3, 2)) for shape in (WORD, WINDOW))
    (text,) = replacing([mark(window)], areas(word))
    assert text.turn_deg == pytest.approx(angle if angle < 90 else -90.0, abs=0.01)
    left, low, wide, high = text.box_mm
    assert (wide, high) == pytest.approx((13.0, 6.0), abs=0.01)
    middle = shapely.get_coordinates(window.centroid)[0]
    assert (left + wide / 2, low + high / 2) == pytest.approx(tuple(middle), abs=0.01)


def test_a_polygon_that_is_no_box_is_filled_round_its_own_middle() -> None:
    """Of a triangle the middle of the box is not the centroid."""
    window = shapely.Polygon([(-1, -1), (14, -1), (14, 9)])
    (text,) = replacing([mark(window)], areas(WORD))
    assert text.box_mm == (-1.0, -1.0, 15.0, 10.0)


def test_lettering_as_high_as_it_is_long_stands_level() -> None:
    block = affinity.rotate(shapely.box(0, 0, 6, 5), 25, origin=(3, 2.5))
    assert replacing([mark(shapely.box(-3, -3, 9, 9))], areas(block))[0].turn_deg == 0.0
    line = affinity.rotate(shapely.box(0, 0, 7, 5), 25, origin=(3, 2.5))
    assert replacing([mark(shapely.box(-3, -3, 9, 9))], areas(line))[0].turn_deg == pytest.approx(
        25, abs=0.01
    )


def test_of_two_colors_in_the_polygon_the_larger_is_taken() -> None:
    dot = shapely.Point(11, 3).buffer(0.5)
    assert replacing([mark(WINDOW)], areas(WORD, dot))[0].color == "#ffffff"
    assert replacing([mark(WINDOW)], areas(shapely.box(0, 0, 0.5, 1), dot))[0].color == "#c81e28"


def test_a_polygon_without_lettering_is_refused() -> None:
    with pytest.raises(GeometryError, match="finds no lettering"):
        replacing([mark(shapely.box(20, 20, 25, 25))], areas(WORD))


def test_the_ground_lies_along_most_of_the_edge_or_is_none_where_that_is_background() -> None:
    half = as_multi(shapely.box(0, 0, 10, 10))
    assert ground_at([half], shapely.box(1, 1, 9, 9)) == 0
    assert ground_at([half], shapely.box(4, 1, 14, 9)) == 0
    assert ground_at([half], shapely.box(8, 1, 18, 9)) is None
    assert ground_at([], shapely.box(0, 0, 1, 1)) is None
