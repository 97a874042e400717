from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.polygons import ARC_MM, arc_segments, closed, disc, grow, opened, shrink
from reliefsmith.polygons import offset as offset_module

from .shapes import stars

SLACK_MM = 0.006
"""Chords of the arcs (ARC_MM twice, out and in) on the shape that an opening rolls round."""


@settings(max_examples=60)
@given(stars(), st.floats(0.05, 5), st.sampled_from(["round", "miter", "bevel"]))
def test_a_grown_shape_is_valid_and_holds_the_shape(shape, distance, corners):
    grown = grow(shape, distance, corners)
    assert grown.is_valid
    assert shape.difference(grown).area < 1e-9


@settings(max_examples=60)
@given(stars(), st.floats(0.05, 2.5))
def test_points_of_a_shrunk_shape_keep_their_distance_from_the_boundary(shape, distance):
    inner = shrink(shape, distance)
    if not inner.is_empty:
        assert inner.distance(shape.exterior) >= 0.95 * distance


@settings(max_examples=40)
@given(stars(), st.floats(0.1, 2))
def test_opening_is_inside_the_shape_and_doing_it_twice_changes_nothing(shape, radius):
    once = opened(shape, radius)
    assert once.difference(shape.buffer(SLACK_MM + 0.02 * radius)).area < 1e-6
    again = opened(once, radius)
    # The engine simplifies its input by 1 % of the distance, so rims move by about that.
    assert once.symmetric_difference(again).area <= (0.02 * radius + SLACK_MM) * shape.length


@settings(max_examples=40)
@given(stars(), st.floats(0.1, 2))
def test_closing_holds_the_shape(shape, radius):
    assert shape.difference(closed(shape, radius).buffer(SLACK_MM + 0.02 * radius)).area < 1e-6


@settings(max_examples=60)
@given(stars(), st.floats(0.05, 5))
def test_steiner_bounds_the_area_of_any_simply_connected_growth(shape, distance):
    """A(r) <= A + P r + pi r^2, equality for convex shapes (Minkowski-Steiner)."""
    bound = shape.area + shape.length * distance + math.pi * distance**2
    # The engine may fill shallow dents of its input up to 1 % of the distance deep.
    assert grow(shape, distance).area <= bound + 0.01 * distance * shape.length


@pytest.mark.parametrize("radius", [0.05, 0.3, 1.0, 2.5, 10.0])
def test_chords_of_an_arc_stay_within_their_tolerance(radius):
    count = 4 * arc_segments(radius)
    assert radius * (1 - math.cos(math.pi / count)) <= ARC_MM
    assert disc(1, 2, radius).area == pytest.approx(count / 2 * radius**2 * math.sin(2 * math.pi / count))


def test_shrinking_past_the_middle_gives_an_empty_shape():
    assert shrink(shapely.box(0, 0, 2, 9), 1.01).is_empty


def test_an_opened_dumbbell_loses_its_bar():
    dumbbell = shapely.union_all(
        [shapely.box(0, 0, 4, 4), shapely.box(8, 0, 12, 4), shapely.box(3, 1.9, 9, 2.1)]
    )
    assert len(opened(dumbbell, 0.3).geoms) == 2


def test_when_every_rung_fails_the_error_says_where_and_what_to_do(monkeypatch):
    monkeypatch.setattr(offset_module, "_offset", lambda *_: None)
    with pytest.raises(GeometryError, match=r"near \(1\.\d, .*change the width"):
        grow(shapely.box(0, 0, 3, 3), 1)


def test_an_invalid_answer_of_the_engine_is_mended(monkeypatch):
    bow = shapely.Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])
    monkeypatch.setattr(shapely.Polygon, "buffer", lambda *_args, **_kwargs: bow)
    mended = grow(shapely.box(0, 0, 3, 3), 1)
    assert mended.is_valid
    assert not mended.is_empty
