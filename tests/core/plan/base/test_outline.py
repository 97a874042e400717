from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.polygons import polygons_of, without_openings
from reliefsmith.recipe import Recipe

from ..arts import BLUE, RED, artworks, assert_in_register, flat, outlined

FRAME = shapely.box(-15, -15, 15, 15) - shapely.box(-5, -5, 5, 5)


def codes(plan):
    return [note.code for note in plan.notes]


@settings(max_examples=30)
@given(artworks())
def test_motifs_are_faces_of_the_base_with_the_margin_round_them(areas):
    plan = outlined(areas)
    assert_in_register(plan)
    for motif in plan.motifs:
        assert motif.polygon.distance(plan.base.boundary) >= 0.3 - 0.005


@pytest.mark.parametrize("shape", ["outline", "hull", "circle", "rectangle", "shield"])
@pytest.mark.parametrize("corners", ["round", "miter", "bevel"])
def test_every_shape_of_base_holds_the_art(shape, corners):
    areas = flat((RED, shapely.box(-10, -4, 10, 4)), (BLUE, shapely.Point(0, 6).buffer(3)))
    plan = outlined(areas, Recipe().with_values({"base.shape": shape, "base.corners": corners}))
    assert_in_register(plan)
    art = shapely.union_all(areas.polygons)
    assert art.difference(plan.base).area < 1e-6


def test_a_mitered_rectangle_is_the_box_grown_by_the_border():
    areas = flat((RED, shapely.Point(0, 0).buffer(10)), (BLUE, shapely.Point(0, 0).buffer(4)))
    recipe = Recipe().with_values({"base.shape": "rectangle", "base.corners": "miter", "base.border_mm": 2.0})
    plan = outlined(areas, recipe)
    assert plan.base.bounds == pytest.approx((-12, -12, 12, 12), abs=0.001)
    assert plan.base.area == pytest.approx(24 * 24, abs=0.05)


def test_a_circle_is_the_least_one_round_the_art_with_its_border():
    areas = flat((RED, shapely.box(-3, -4, 3, 4)), (BLUE, shapely.box(-1, -1, 1, 1)))
    plan = outlined(areas, Recipe().with_values({"base.shape": "circle"}))
    radii = shapely.distance(shapely.points(shapely.get_coordinates(plan.base)), shapely.Point(0, 0))
    assert radii.min() >= 5 + 1 - 0.005  # half the diagonal of 6 x 8 and the border
    assert radii.max() <= 5 + 1 + 0.01


def test_a_shield_is_symmetric_flat_on_top_and_pointed_below():
    areas = flat((RED, shapely.Point(3, 2).buffer(10)), (BLUE, shapely.Point(3, 2).buffer(4)))
    plan = outlined(areas, Recipe().with_values({"base.shape": "shield", "base.corners": "miter"}))
    left, low, right, high = plan.base.bounds
    assert (left + right) / 2 == pytest.approx(3, abs=0.01)
    assert high == pytest.approx(2 + 10 + 1, abs=0.01)
    mirrored = shapely.affinity.scale(plan.base, -1, 1, origin=(3, 0))
    assert plan.base.symmetric_difference(mirrored).area < 0.05
    lowest = shapely.get_coordinates(plan.base)
    assert np.abs(lowest[lowest[:, 1] < low + 0.01][:, 0] - 3).max() < 0.3


@pytest.mark.parametrize(("openings", "left"), [("keep", 1), ("fill", 0), ("small", 1)])
def test_openings_are_kept_or_filled(openings, left):
    plan = outlined(flat((RED, FRAME)), Recipe().with_values({"base.openings": openings}))
    assert len(polygons_of(plan.base)[0].interiors) == left
    assert codes(plan).count("opening-filled") == 1 - left


@settings(max_examples=40, deadline=None)
@given(
    artworks(),
    st.sampled_from(["hull", "circle", "rectangle", "shield"]),
    st.floats(0.5, 6.0),
    st.sampled_from(["keep", "small"]),
)
def test_a_plate_has_no_opening_that_the_picture_has_not(areas, shape, border, openings):
    values = {"base.shape": shape, "base.border_mm": border, "base.openings": openings}
    plan = outlined(areas, Recipe().with_values(values))
    art = shapely.union_all(areas.polygons)
    own = without_openings(art).difference(art).buffer(0.01)
    for piece in polygons_of(plan.base):
        assert without_openings(piece).difference(piece).difference(own).is_empty


@pytest.mark.parametrize("shape", ["hull", "circle", "rectangle", "shield"])
def test_a_gap_that_borders_close_off_is_an_opening_of_an_outline_and_none_of_a_plate(shape):
    ring = [shapely.Point(9 * np.cos(a), 9 * np.sin(a)).buffer(2) for a in np.arange(6) * np.pi / 3]
    areas = flat((RED, shapely.union_all(ring)))
    outline = outlined(areas, Recipe().with_values({"base.border_mm": 3.0}))
    assert len(polygons_of(outline.base)[0].interiors) == 1
    plate = outlined(areas, Recipe().with_values({"base.border_mm": 3.0, "base.shape": shape}))
    assert len(polygons_of(plate.base)[0].interiors) == 0
    assert "opening-filled" not in codes(plate)


@pytest.mark.parametrize("shape", ["outline", "hull", "rectangle", "circle", "shield"])
def test_every_shape_of_base_carries_the_field_for_texts(shape):
    areas = flat((RED, shapely.box(-20, -10, 20, 10)))
    plain = outlined(areas, Recipe().with_values({"base.shape": shape}))
    plan = outlined(areas, Recipe().with_values({"base.shape": shape, "base.field_mm": [60.0, 12.0]}))
    field = shapely.box(-30, -22, 30, -10)
    assert plan.base.covers(field.buffer(0.9))  # the border of 1 mm, chords of arcs
    assert not plain.base.covers(field)
    assert_in_register(plan)


@settings(max_examples=15)
@given(artworks(), st.floats(25, 90), st.floats(4, 10))  # a shorter one is pointed all along
def test_a_spike_is_as_long_and_wide_as_asked_and_rooted_in_the_base(areas, length, width):
    plain, values = outlined(areas), {"base.spike_mm": [length, width]}
    plan = outlined(areas, Recipe().with_values(values))
    low = plain.base.bounds[1]
    assert plan.base.bounds[1] == pytest.approx(low - length, abs=0.01)
    below = shapely.clip_by_rect(plan.base, -200, low - length, 200, low - 4.0)  # clear of its fillets
    left, _, right, _ = below.bounds
    assert right - left == pytest.approx(width, abs=0.02)
    assert len(polygons_of(plan.base)) <= len(polygons_of(plain.base))
    assert len(polygons_of(below)) == 1
    assert_in_register(plan)


def test_a_spike_below_two_pieces_goes_into_one_of_them():
    areas = flat((RED, shapely.box(-30, -10, -10, 10)), (RED, shapely.box(12, -8, 30, 10)))
    plan = outlined(areas, Recipe().with_values({"base.spike_mm": [40.0, 6.0]}))
    assert len(polygons_of(plan.base)) == 2
    assert plan.base.bounds[1] == pytest.approx(-11.0 - 40.0, abs=0.01)


def test_openings_below_the_given_size_are_filled():
    recipe = Recipe().with_values({"base.openings": "small", "base.small_opening_mm": 8.5})
    plan = outlined(flat((RED, FRAME)), recipe)  # 10 wide in the art, 8 wide after the border
    assert len(polygons_of(plan.base)[0].interiors) == 0


def test_an_island_in_a_kept_opening_stays():
    plan = outlined(flat((RED, FRAME), (BLUE, shapely.box(-1, -1, 1, 1))))
    assert len(polygons_of(plan.base)) == 2
    assert sum(motif.polygon.area for motif in plan.motifs) > 0
    assert_in_register(plan)


def test_with_no_border_the_base_grows_only_under_motifs_that_reach_its_edge():
    big, small = shapely.box(-20, -10, 20, 10), shapely.box(15, -3, 20, 3)
    plan = outlined(flat((RED, big), (BLUE, small)), Recipe().with_values({"base.border_mm": 0.0}))
    assert plan.base_color == RED
    assert plan.base.bounds[0] == -20  # nothing grows where the base color itself is the edge
    assert plan.base.bounds[2] == pytest.approx(20.3, abs=0.02)
    assert "base-grown" in codes(plan)
    assert_in_register(plan)


def test_no_areas_is_one_clear_sentence():
    empty = flat((RED, shapely.box(0, 0, 1, 1)))
    nothing = type(empty)((shapely.MultiPolygon(),), empty.colors, empty.frame, (0.0, 0.0))
    with pytest.raises(GeometryError, match="no areas to print"):
        outlined(nothing)
