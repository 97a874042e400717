"""Rooms for texts: areas of one color in front, the back without what is there already."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.errors import GeometryError
from reliefsmith.model import Plan, Pocket, SetText
from reliefsmith.plan.inscriptions.rooms import BACK_WALL_MM, FIELD_GAP_MM, back_room, front_room
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections import BaseSettings

from ..arts import BLUE, RED
from .texts import assert_sound, with_texts

BASE = BaseSettings(margin_mm=0.3)
LIMITS = Limits(0.6, 0.5, 1.0, 0.4)
PLATE, BLOCK, STRIP = shapely.box(0, 0, 60, 30), shapely.box(2, 2, 22, 28), shapely.box(40, 2, 42, 28)
PLAN = plan_of(PLATE, (RED, BLOCK), (BLUE, STRIP))
MAGNET = Pocket("magnet", shapely.Point(30, 15).buffer(4), 1.2, "back")
HEAD = Pocket("countersink", shapely.Point(30, 15).buffer(4) - shapely.Point(30, 15).buffer(2), 1.0, "front")


def text(shape: shapely.Geometry, side: str) -> SetText:
    return SetText("Bo", 1, as_multi(shape), 4.0, (0.0, 0.0), side)


def area_at(plan: Plan, at_mm: tuple[float, float]) -> float:
    return sum(room.area for room in front_room(plan, at_mm, BASE, LIMITS))


def test_an_area_of_one_color_is_drawn_in_by_the_gap() -> None:
    (room,) = front_room(PLAN, (12.0, 15.0), BASE, LIMITS)
    assert room.bounds == pytest.approx((2.5, 2.5, 21.5, 27.5))
    wide = front_room(PLAN, (12.0, 15.0), BaseSettings(margin_mm=2.0), LIMITS)[0]
    assert 4.0 <= wide.bounds[0] <= 4.02  # a margin that is wider than the gap counts


def test_without_a_point_rooms_come_by_the_widest_place_and_not_more_than_four() -> None:
    rooms = front_room(PLAN, None, BASE, LIMITS)
    assert shapely.covers(BLOCK, rooms[0])  # 20 mm wide, the bare base between block and strip 18
    assert rooms[1].intersects(shapely.Point(32, 15))
    blocks = shapely.MultiPolygon([shapely.box(9 * k, 2, 9 * k + 6, 28) for k in range(6)])
    many = plan_of(PLATE, (RED, blocks))
    assert len(front_room(many, None, BASE, LIMITS)) == 4


def test_a_point_in_no_area_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"there is no area for a text at \(99\.00, 0\.00\) mm"):
        front_room(PLAN, (99.0, 0.0), BASE, LIMITS)


def test_texts_and_pockets_of_the_front_are_left_free_and_those_of_the_back_are_not() -> None:
    alone = area_at(PLAN, (12.0, 15.0))
    taken = text(shapely.box(10, 10, 14, 12), "front")
    assert area_at(replace(PLAN, texts=(taken,)), (12.0, 20.0)) == pytest.approx(
        alone - taken.letters.buffer(0.5).area, rel=1e-3
    )
    behind = replace(PLAN, texts=(replace(taken, side="back"),), pockets=(MAGNET,))
    assert area_at(behind, (12.0, 15.0)) == pytest.approx(alone)
    (beside,) = front_room(replace(PLAN, pockets=(HEAD,)), (35.0, 15.0), BASE, LIMITS)
    assert not beside.intersects(HEAD.polygon.centroid)  # nor is where the screw is a room


def test_in_a_field_below_the_artwork_rooms_keep_off_the_artworks_box() -> None:
    """The artwork is the upper half of the plate; its box ends at y = 0."""
    plate = shapely.box(-30, -15, 30, 15)
    plan = replace(plan_of(plate), artwork_mm=(60.0, 0.0))
    (room,) = front_room(plan, None, BaseSettings(margin_mm=0.3, field_mm=(40.0, 12.0)), LIMITS)
    assert room.bounds == pytest.approx((-20, -12, 20, -FIELD_GAP_MM))
    (whole,) = front_room(plan, (0.0, -5.0), BaseSettings(margin_mm=0.3, field_mm=(40.0, 12.0)), LIMITS)
    assert whole.bounds[3] > 14


def test_the_back_may_be_cut_a_wall_away_from_all_that_is_there() -> None:
    room = back_room(PLAN, BASE, LIMITS)
    assert room.bounds == pytest.approx((BACK_WALL_MM, BACK_WALL_MM, 60 - BACK_WALL_MM, 30 - BACK_WALL_MM))
    letters, picture, kept = shapely.box(5, 5, 9, 8), shapely.box(50, 5, 54, 9), shapely.box(5, 20, 9, 24)
    full = replace(
        PLAN,
        pockets=(MAGNET,),
        texts=(text(letters, "back"), text(shapely.box(44, 20, 48, 24), "front")),
        inlays=(Pocket("picture", picture, 0.4, "back", BLUE),),
    )
    free = back_room(full, BASE, LIMITS, as_multi(kept))
    for shape in (MAGNET.polygon, letters, picture, kept):
        assert free.distance(shape) == pytest.approx(BACK_WALL_MM, abs=0.01)
    assert shapely.covers(free, shapely.box(44, 20, 48, 24))  # what stands in front
    assert back_room(PLAN, BaseSettings(margin_mm=2.0), LIMITS).bounds[0] == pytest.approx(2.0)


def test_texts_without_a_place_stand_in_the_field_of_the_base() -> None:
    plan = with_texts({"text": "Larkwater"}, **{"base.field_mm": [50.0, 12.0]})
    (text,) = plan.texts
    assert shapely.box(-25, -32, 25, -20 - 2.0).covers(text.letters)  # 2 mm stay free below the artwork
    (in_area,) = with_texts({"text": "Larkwater", "area_mm": [5, 0]}, **{"base.field_mm": [50.0, 12.0]}).texts
    assert in_area.letters.bounds[1] > -20


def test_a_text_keeps_off_the_head_of_a_screw() -> None:
    screw = {"hang.hardware": "screw", "hang.at_mm": [0.0, -28.0]}
    field = {"base.field_mm": [60.0, 16.0]}  # the text stands on the bare base beside it
    plan = with_texts({"text": "Kite"}, **screw, **field)
    sunk = shapely.union_all([shapely.Polygon(pocket.polygon.exterior) for pocket in plan.pockets])
    assert sunk.distance(plan.texts[0].letters) >= 0.5 - 0.005
    assert_sound(plan)


def test_a_text_on_a_magnets_place_is_refused_with_the_way_out() -> None:
    with pytest.raises(GeometryError, match=r"a hole or a pocket near .*; move it, make it smaller"):
        with_texts({"text": "Ada", "place": "back", "at_mm": [0, 0]}, **{"hang.hardware": "magnet"})


def test_a_later_text_keeps_clear_of_the_first() -> None:
    one, two = with_texts({"text": "Mirabel", "at_mm": [5, 10]}, {"text": "Tobin"}).texts
    assert isinstance(one, SetText)
    assert shapely.distance(one.letters, two.letters) >= 0.5
