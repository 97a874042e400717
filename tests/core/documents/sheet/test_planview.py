"""The plan as a drawing: paths that are the shapes, marks that cover neither each other nor their places."""

from __future__ import annotations

import re
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.planview import (
    Mark,
    _spread,
    hatch_definitions,
    marked_plan,
    path_of,
    swatch,
)
from reliefsmith.documents.views import front_face

from ..pages import Page

RING = shapely.Point(3, 4).buffer(5, quad_segs=32).difference(shapely.box(1, 2, 4, 6))


def _read(path: str) -> shapely.Geometry:
    """The shape of path data, even-odd, y up again."""
    found = shapely.Polygon()
    for ring in path.split("M")[1:]:
        points = [tuple(map(float, pair.split())) for pair in ring.rstrip("Z").split("L")]
        found = found.symmetric_difference(shapely.Polygon([(x, -y) for x, y in points]))
    return found


@pytest.mark.parametrize(
    "shape", [RING, shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(2, -3, 5, 1)])]
)
def test_a_path_is_the_shape_within_a_hairline(shape: shapely.Geometry) -> None:
    path = path_of(shape)
    assert _read(path).symmetric_difference(shape).area < 0.005 * shape.area
    assert shapely.hausdorff_distance(_read(path).boundary, shape.boundary) < 0.03
    assert re.fullmatch(r"(M[-\d. ]+(L[-\d. ]+)+Z)+", path)
    assert "-0 " not in path.replace("-0.", "")


def test_needless_points_are_left_out_and_nothing_is_nothing() -> None:
    fine = shapely.Point(0, 0).buffer(20, quad_segs=400)
    assert path_of(fine).count("L") < 200
    assert path_of(shapely.Polygon()) == ""


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.floats(-20, 20), st.floats(-20, 20)), min_size=1, max_size=9, unique=True))
def test_marks_cover_no_other_mark_and_stay_near(places: list[tuple[float, float]]) -> None:
    spots = _spread(places, 1.0)
    assert len(spots) == len(places)
    for spot, place in zip(spots, places, strict=True):
        assert 1.9 < np.hypot(spot[0] - place[0], spot[1] - place[1]) < 5.1
    for one, other in combinations(spots, 2):
        assert np.hypot(one[0] - other[0], one[1] - other[1]) > 2.0


def _plan(job, *marks: Mark, dots=()) -> Page:
    return Page(marked_plan(front_face(job.stack), legend(job), marks, dots=dots, title="A <plan>").encode())


def test_findings_are_round_changes_square_each_with_a_line_from_its_place(job) -> None:
    page = _plan(job, Mark("1", (5.0, 8.0), round=True), Mark("a", (-6.0, -3.0), round=False))
    assert [data for tag, data in page.texts if tag == "text"] == ["1", "a"]
    starts = {(float(item["x1"]), -float(item["y1"])) for item in page.all("line")}
    assert starts == {(5.0, 8.0), (-6.0, -3.0)}
    (square,) = page.all("rect")
    letter = page.all("text")[1]
    assert float(square["x"]) + float(square["width"]) / 2 == pytest.approx(float(letter["x"]), abs=0.01)
    radii = {item["r"] for item in page.all("circle")}
    assert len(page.all("circle")) == 3  # two places, one mark
    assert len(radii) == 2
    assert ("title", "A <plan>") in page.texts


def test_dots_lie_at_their_places(job) -> None:
    page = _plan(job, dots=[(1.0, 2.0), (-3.5, 4.0)])
    assert [(float(item["cx"]), -float(item["cy"])) for item in page.all("circle")] == [
        (1.0, 2.0),
        (-3.5, 4.0),
    ]
    left, top, wide, high = (float(value) for value in page.all("svg")[0]["viewbox"].split())
    piece = shapely.box(*front_face(job.stack).bounds)
    assert shapely.box(left, -top - high, left + wide, -top).contains(piece)


def test_each_part_is_drawn_in_its_color_and_its_hatch(job) -> None:
    paths = _plan(job).all("path")
    assert [item["fill"] for item in paths] == [
        *("#14213d", "url(#hatch-on-1)", "#d32020", "url(#hatch-on-2)", "#f7c923", "url(#hatch-on-3)"),
    ]
    names = {item["id"] for item in Page(hatch_definitions(legend(job)).encode()).all("pattern")}
    assert names == {f"hatch-{on}{number}" for on in ("", "on-") for number in (1, 2, 3)}
    assert Page(swatch(legend(job)[1]).encode()).all("rect")[0]["fill"] == "#d32020"
