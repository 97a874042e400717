"""Walls, lid and frame of faces of many shapes: closed solids, a notch through the wall, room inside."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from reliefsmith.errors import GeometryError
from reliefsmith.polygons import snapped
from reliefsmith.recipe.sections import HeightSettings, HousingSettings
from reliefsmith.solid.housing import frame_of, housing_of
from reliefsmith.solid.stacking import stack
from sound import assert_closed

from .plans import PRINTER, heights_of, plan_of


def _made(shape: shapely.Geometry, **values: float):
    plan = plan_of(shapely.transform(shape, snapped))
    kind = "frame" if "frame" in values else "walls"
    values.pop("frame", None)
    housing = HousingSettings(kind=kind, **values)
    stacked = stack(plan, heights=heights_of(1.2, 0.6), printer=PRINTER)
    if kind == "frame":
        return (frame_of(plan, stacked, housing, HeightSettings(), PRINTER),)
    return housing_of(plan, stacked, housing, HeightSettings(), PRINTER)


def _ellipse(width: float, depth: float, turn: float) -> shapely.Polygon:
    disc = shapely.Point(0, 0).buffer(10, quad_segs=32)
    return affinity.rotate(affinity.scale(disc, width / 20, depth / 20), turn)


@given(
    st.integers(40, 120), st.integers(40, 120), st.sampled_from([0, 15, 45, 70]), st.sampled_from([5.0, 12.0])
)
@settings(max_examples=15)
def test_walls_and_lid_of_any_ellipse_are_closed(width: int, depth: int, turn: int, cable: float) -> None:
    """The corner where the notch leaves the wall was cut twice, a micrometre apart."""
    for item in _made(_ellipse(width, depth, turn), cable_mm=cable):
        for part in item.parts:
            assert_closed(part)


def test_the_corner_of_a_notch_in_two_sections_is_one() -> None:
    walls, lid = _made(_ellipse(60, 100, 45), cable_mm=12.0, depth_mm=60.0)
    assert_closed(walls.parts[0])
    assert_closed(lid.parts[0])


@pytest.mark.parametrize("turn", [0, 30, 45])
def test_the_notch_passes_the_wall_over_its_whole_width(turn: int) -> None:
    """Also where the wall rises to one side: nothing is left of it between inside and outside."""
    shape = affinity.rotate(shapely.box(-50, -30, 50, 30), turn)
    walls, _ = _made(shape, cable_mm=12.0)
    x0, y0, x1, _ = shape.bounds
    open_ = walls.stack.slabs[-1].polygon
    middle = -(x0 + x1) / 2  # printed front down: seen from behind
    for x in (middle - 5.9, middle, middle + 5.9):
        line = shapely.LineString([(x, y0 - 10), (x, 0)])
        assert shapely.intersection(open_, line).length == 0


def test_a_face_lies_in_its_walls_with_the_gap_round_it_and_the_lip_before_it() -> None:
    walls, lid = _made(shapely.box(-30, -20, 30, 20), cable_mm=0.0, clearance_mm=0.2, lip_mm=2.0, wall_mm=1.6)
    front, ring = (slab.polygon for slab in walls.stack.slabs)
    assert [shapely.Polygon(hole).bounds for hole in front.interiors] == [(-28.0, -18.0, 28.0, 18.0)]
    assert [shapely.Polygon(hole).bounds for hole in ring.interiors] == [(-30.2, -20.2, 30.2, 20.2)]
    assert ring.bounds == (-31.8, -21.8, 31.8, 21.8)
    plate, rim = (slab.polygon for slab in lid.stack.slabs)
    assert plate.bounds == ring.bounds
    assert rim.bounds == (-30.0, -20.0, 30.0, 20.0)


def test_a_frame_may_be_wider_than_what_it_frames() -> None:
    (frame,) = _made(shapely.box(-15, -15, 15, 15), frame=1.0, wall_mm=20.0, lip_mm=2.0)
    assert frame.stack.slabs[0].polygon.bounds == (-35.2, -35.2, 35.2, 35.2)
    assert_closed(frame.parts[0])


@pytest.mark.parametrize(
    "shape",
    [
        shapely.box(0, 0, 40, 6.5),
        shapely.MultiPolygon([shapely.box(0, 0, 30, 30), shapely.box(40, 0, 70, 30)]),
    ],
)
def test_what_is_narrow_or_in_pieces_is_refused_with_what_to_do(shape: shapely.Geometry) -> None:
    with pytest.raises(GeometryError, match=r"one piece, wider than 7\.2 mm; choose another base\.shape"):
        _made(shape, lip_mm=2.0, wall_mm=1.6)
