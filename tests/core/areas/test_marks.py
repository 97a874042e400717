"""Marks act by place on scaled areas; frame, size and a valid coverage stay."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from oracles import coverage_faults
from reliefsmith.areas import mark
from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.findings import Severity
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.polygons import union_of_faces
from reliefsmith.recipe.tables import Mark

RED, BLUE, YELLOW = (210, 50, 45), (31, 111, 196), (255, 210, 63)
SPECK = shapely.box(6, -2, 8, 2)


def flat(*areas: tuple[tuple[int, int, int], shapely.Geometry]) -> FlatAreas:
    """Areas that are a coverage on the grid already."""
    polygons = tuple(shapely.MultiPolygon(list(shapely.get_parts(shape))) for _, shape in areas)
    colors = np.array([color for color, _ in areas], dtype=np.uint8)
    frame = Frame(0.1, (200.0, 100.0), 0.0, (400, 200))
    return FlatAreas(polygons, colors, frame, (40.0, 20.0))


def kite() -> FlatAreas:
    """A red field left and a blue one right, a yellow speck in the blue, a red dot apart on the right.

    Areas in mm2: red 200 + 1, blue 200 - 8, yellow 8.
    """
    left = shapely.Polygon([(-20, -5), (0, -5), (0, 5), (-20, 5)])
    right = shapely.box(0, -5, 20, 5) - SPECK
    dot = shapely.box(30, 0, 31, 1)
    return flat((RED, shapely.MultiPolygon([left, dot])), (BLUE, right), (YELLOW, SPECK))


def by_color(areas: FlatAreas) -> dict[tuple[int, ...], float]:
    return {
        tuple(color): polygon.area
        for color, polygon in zip(areas.colors.tolist(), areas.polygons, strict=True)
    }


def test_without_marks_nothing_changes() -> None:
    areas = kite()
    assert mark(areas, ()) is areas


def test_a_point_erases_one_area_of_a_color() -> None:
    done = mark(kite(), (Mark("erase", at_mm=(30.5, 0.5)),))
    assert by_color(done) == {RED: 200, BLUE: 192, YELLOW: 8}
    assert (done.frame, done.size_mm) == (kite().frame, kite().size_mm)
    (said,) = done.notes
    assert (said.code, said.at_mm) == ("mark-applied", (30.5, 0.5))
    assert "1.00 mm2 of red (#d2322d) became background" in said.message


def test_an_erased_color_leaves_the_list_and_a_hole() -> None:
    done = mark(kite(), (Mark("erase", at_mm=(7, 0)),))
    assert by_color(done) == {RED: 201, BLUE: 192}
    assert len(done.polygons[1].geoms[0].interiors) == 1


def test_a_polygon_erases_everything_inside() -> None:
    square = ((-5, -5), (5, -5), (5, 5), (-5, 5))
    done = mark(kite(), (Mark("erase", polygon_mm=square),))
    assert by_color(done) == {RED: 201 - 50, BLUE: 192 - 50, YELLOW: 8}
    assert not coverage_faults(done.polygons)


def test_a_point_recolors_to_a_new_color_or_to_one_of_the_picture() -> None:
    new = mark(kite(), (Mark("recolor", at_mm=(-10, 0), value="#123456"),))
    assert by_color(new) == {RED: 1, BLUE: 192, YELLOW: 8, (18, 52, 86): 200}
    own = mark(kite(), (Mark("recolor", at_mm=(-10, 0), value="#1f6fc4"),))
    assert by_color(own) == {RED: 1, BLUE: 392, YELLOW: 8}
    assert len(own.polygons[1].geoms) == 1
    assert not coverage_faults(own.polygons)


def test_a_polygon_recolors_areas_and_not_the_background() -> None:
    corners = ((-30, -20), (10, -20), (10, 0), (-30, 0))
    done = mark(kite(), (Mark("recolor", polygon_mm=corners, value="#123456"),))
    # Below y = 0: half of the red field, of the blue 10 x 5 without half of the speck, half of the speck.
    assert by_color(done) == {RED: 101, BLUE: 192 - 46, YELLOW: 4, (18, 52, 86): 100 + 46 + 4}
    assert not coverage_faults(done.polygons)


def test_merge_joins_the_neighbor_with_the_longest_boundary() -> None:
    done = mark(kite(), (Mark("merge", at_mm=(7, 0)),))
    assert by_color(done) == {RED: 201, BLUE: 200}
    assert len(done.polygons[1].geoms[0].interiors) == 0


def test_merge_with_a_color_joins_that_color() -> None:
    done = mark(kite(), (Mark("merge", at_mm=(7, 0), value="#d2322d"),))
    assert by_color(done) == {RED: 209, BLUE: 192}
    assert not coverage_faults(done.polygons)


def test_a_point_in_an_opening_fills_it_with_a_color_or_with_its_neighbor() -> None:
    holed = flat(
        (RED, shapely.box(-10, -10, 10, 10) - shapely.box(-3, -3, 3, 3)), (BLUE, shapely.box(-1, -1, 1, 1))
    )
    white = mark(holed, (Mark("recolor", at_mm=(2, 2), value="#ffffff"),))
    assert by_color(white) == {RED: 400 - 36, BLUE: 4, (255, 255, 255): 32}
    assert not coverage_faults(white.polygons)
    (said,) = white.notes
    assert "an opening of 32.00 mm2 became" in said.message
    assert said.size_mm == pytest.approx(72**0.5, abs=0.01)
    assert by_color(mark(holed, (Mark("merge", at_mm=(2, 2)),))) == {RED: 396, BLUE: 4}
    outside = mark(holed, (Mark("recolor", at_mm=(20, 2), value="#ffffff"),))
    assert [item.code for item in outside.findings] == ["mark-missed"]
    assert mark(holed, (Mark("erase", at_mm=(2, 2)),)).notes == ()


def test_marks_act_one_after_the_other() -> None:
    marks = (Mark("recolor", at_mm=(7, 0), value="#1f6fc4"), Mark("erase", at_mm=(7, 0)))
    assert by_color(mark(kite(), marks)) == {RED: 201}


@pytest.mark.parametrize(
    ("item", "says"),
    [
        (Mark("erase", at_mm=(-22, 0)), "nearest is red (#d2322d), 2.00 mm away"),
        (Mark("erase", polygon_mm=((40, 0), (41, 0), (41, 1))), "nearest is red (#d2322d), 9.00 mm away"),
        (Mark("merge", at_mm=(30.5, 0.5)), "without neighbors"),
        (Mark("merge", at_mm=(7, 0), value="#00ff00"), "names #00ff00, none of the picture's colors"),
    ],
)
def test_a_mark_that_cannot_be_applied_is_a_finding_and_changes_nothing(item: Mark, says: str) -> None:
    done = mark(kite(), (item,))
    assert by_color(done) == by_color(kite())
    (found,) = done.findings
    assert (found.code, found.severity) == ("mark-missed", Severity.WARN)
    assert says in found.message
    assert found.at_mm is not None
    assert done.notes == ()


def test_a_ninth_color_is_refused() -> None:
    strips = [((30 * n, 255 - 30 * n, 90), shapely.box(n, 0, n + 1, 2)) for n in range(8)]
    done = mark(flat(*strips), (Mark("recolor", polygon_mm=((0, 0), (1, 0), (0, 1)), value="#ffffff"),))
    assert len(done.polygons) == 8
    assert "more than 8 colors" in done.findings[0].message


def test_marks_that_erase_all_and_polygons_that_cross_are_errors() -> None:
    everything = Mark("erase", polygon_mm=((-50, -50), (50, -50), (50, 50), (-50, 50)))
    with pytest.raises(GeometryError, match="leave no area"):
        mark(kite(), (everything,))
    with pytest.raises(RecipeError, match=r"mark 1 .*crosses itself"):
        mark(kite(), (Mark("erase", polygon_mm=((0, 0), (2, 2), (2, 0), (0, 2))),))


COORDINATES = st.tuples(st.floats(-25, 35), st.floats(-12, 12))
CORNERS = st.lists(COORDINATES, min_size=3, max_size=8, unique=True)


def marks() -> st.SearchStrategy[Mark]:
    """Any mark round the kite; a polygon is the hull of its points, so that it does not cross itself."""
    colors = st.sampled_from(["#d2322d", "#1f6fc4", "#123456", "#0a8f3c"])
    hulls = CORNERS.map(lambda points: shapely.convex_hull(shapely.MultiPoint(points)))
    polygons = hulls.filter(lambda hull: hull.area > 0.1).map(lambda hull: hull.exterior.coords[:-1])
    return st.one_of(
        st.builds(lambda at: Mark("erase", at_mm=at), COORDINATES),
        st.builds(lambda points: Mark("erase", polygon_mm=tuple(points)), polygons),
        st.builds(lambda at, value: Mark("recolor", at_mm=at, value=value), COORDINATES, colors),
        st.builds(
            lambda points, value: Mark("recolor", polygon_mm=tuple(points), value=value), polygons, colors
        ),
        st.builds(lambda at: Mark("merge", at_mm=at), COORDINATES),
        st.builds(lambda at, value: Mark("merge", at_mm=at, value=value), COORDINATES, colors),
    )


@settings(max_examples=60)
@given(st.lists(marks(), min_size=1, max_size=4))
def test_any_marks_leave_a_valid_coverage_and_only_erase_takes_area(items: list[Mark]) -> None:
    before = kite()
    try:
        done = mark(before, tuple(items))
    except GeometryError:
        assert any(item.kind == "erase" for item in items)
        return
    assert not coverage_faults(done.polygons)
    assert len(done.notes) + len(done.findings) == len(items)
    old, new = union_of_faces(before.polygons), union_of_faces(done.polygons)
    # Noding moves a boundary by one step of the grid at most; boundaries and cuts are under 600 mm together.
    slack = 600 * 0.001
    assert new.area <= old.area + slack
    if all(item.kind != "erase" for item in items):
        assert new.area == pytest.approx(old.area, abs=slack)
        assert shapely.hausdorff_distance(new.boundary, old.boundary) < 0.002
