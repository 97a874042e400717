"""Texts with a place of their own: what base they need, and what is kept for them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.recipe import Recipe

from .texts import assert_sound, inscribed_on, with_texts

BASE = shapely.box(-40, -20, 40, 20)


def test_a_text_amid_the_base_needs_no_ground_of_its_own_and_one_over_the_edge_does() -> None:
    for at_mm, grows in (([0, 0], False), ([0, 19], True)):
        found = inscribed_on({"text": "Mira", "at_mm": at_mm, "size_mm": 5}, shapely.box(-40, -20, 40, 20))
        assert found.ground.is_empty is not grows
        assert shapely.covers(found.reserved, found.texts[0].letters)


@pytest.mark.parametrize("arc_mm", [20.0, -20.0])
def test_a_text_on_an_arc_stands_at_that_distance_from_its_point(arc_mm: float) -> None:
    text = {"text": "MINE", "at_mm": [3, -4], "arc_mm": arc_mm, "size_mm": 4}
    made = inscribed_on(text, shapely.box(-40, -40, 40, 40))
    away = np.hypot(*(shapely.get_coordinates(made.texts[0].letters) - (3, -4)).T)
    inner, outer = (20.0, 24.0) if arc_mm > 0 else (16.0, 20.0)
    assert (away.min(), away.max()) == pytest.approx((inner, outer), abs=0.5)


def test_of_a_text_in_a_box_all_of_the_box_is_kept_with_the_border_round_it() -> None:
    found = inscribed_on({"text": "Bo", "box_mm": [-15, -5, 30, 8], "turn_deg": 20}, BASE)
    box = shapely.affinity.rotate(shapely.box(-15, -5, 15, 3), 20)
    border = Recipe().base.border_mm
    assert found.reserved.area == pytest.approx(box.buffer(border).area, rel=0.01)
    assert shapely.covers(found.reserved, box.buffer(border - 0.01))
    assert found.ground.is_empty  # the base carries it already
    assert shapely.covers(box.buffer(0.002), found.texts[0].letters)


def test_a_box_over_the_edge_is_carried_whole_however_short_its_name() -> None:
    """All of it, where a text at a point only needs what its letters do."""
    box = {"box_mm": [-15, -26, 30, 8]}
    one, other = (inscribed_on({"text": text, **box}, BASE).ground for text in ("Bo", "Mirabel"))
    assert one.equals(other)
    assert one.bounds[1] == pytest.approx(-27, abs=0.01)


def test_a_slit_beside_the_ground_narrower_than_a_text_is_high_is_filled() -> None:
    """Its box ends 1.5 mm below the base; nobody wants a slit there, 40 mm apart it is one of two pieces."""
    near, far = (
        inscribed_on({"text": "Bo", "box_mm": [-15, low, 30, 8], "size_mm": 4.0}, BASE).ground
        for low in (-30.5, -60.0)
    )
    assert shapely.union(near, BASE).geom_type == "Polygon"
    assert near.area > far.area + 25 * 1.4
    assert shapely.union(far, BASE).geom_type == "MultiPolygon"


def test_texts_of_the_back_and_those_without_a_place_are_not_set_yet() -> None:
    found = inscribed_on({"text": "Bo", "place": "back", "box_mm": [-15, -5, 30, 8]}, BASE)
    assert found.texts == ()
    assert found.ground.is_empty
    assert found.behind.equals(shapely.MultiPolygon([shapely.box(-15, -5, 15, 3)]))
    at_point = inscribed_on({"text": "LF", "place": "back", "at_mm": [0, 0], "size_mm": 6}, BASE).behind
    assert at_point.bounds[3] - at_point.bounds[1] == pytest.approx(6.0, abs=0.1)
    free = inscribed_on({"text": "Bo"}, BASE)
    assert (free.texts, free.reserved.is_empty, free.behind.is_empty) == ((), True, True)


def test_base_grows_under_a_text_beside_the_artwork_alike_for_all_names_of_a_box() -> None:
    plain = with_texts()
    one = with_texts({"text": "Mirabel", "box_mm": [-15, -32, 30, 8]})
    other = with_texts({"text": "Bo", "box_mm": [-15, -32, 30, 8]})
    assert one.base.equals(other.base)
    assert one.base.area > plain.base.area + 200
    assert one.base.geom_type == "Polygon"
    for plan in (one, other):
        rim = shapely.boundary(plan.base)
        assert shapely.distance(rim, plan.texts[0].letters) >= 0.3
        assert_sound(plan)
