"""How much of each pixel shapes cover, against the areas of their intersections with pixels."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from reliefsmith.documents.paint import paint
from reliefsmith.polygons.cover import View, coverage, coverages

FLOAT32 = 1e-6


def pixel_areas(shape: shapely.Geometry, view: View) -> np.ndarray:
    """Return the share of every pixel by intersection, the slow way."""
    width, height = view.size_px
    step = 1 / view.px_per_mm
    columns, rows = np.meshgrid(np.arange(width), np.arange(height))
    left, top = view.left_mm + columns * step, view.top_mm - rows * step
    return (
        shapely.area(shapely.intersection(shapely.box(left, top - step, left + step, top), shape)) / step**2
    )


@st.composite
def shapes(draw) -> shapely.Geometry:
    """Discs with openings, stars and bars somewhere round a window, some of them over its edge."""
    number = st.floats(-6, 6, allow_nan=False).map(lambda value: round(value, 3))
    parts = []
    for _ in range(draw(st.integers(1, 3))):
        x, y, radius = draw(number), draw(number), draw(st.floats(0.05, 5))
        turns = draw(st.lists(st.floats(0, 2 * np.pi), min_size=3, max_size=9, unique=True))
        reach = [radius * (0.4 + 0.6 * (n % 2)) for n in range(len(turns))]
        star = [
            (x + r * np.cos(turn), y + r * np.sin(turn)) for r, turn in zip(reach, sorted(turns), strict=True)
        ]
        parts.append(shapely.make_valid(shapely.Polygon(star)))
        parts.append(shapely.Point(y, x).buffer(radius) - shapely.Point(y, x).buffer(radius / 2))
    return shapely.union_all(parts)


@settings(max_examples=60)
@given(shapes(), st.floats(0.7, 4.0))
def test_coverage_is_the_area_inside_each_pixel(shape, px_per_mm):
    view = View(-4.3, 5.1, px_per_mm, (13, 17))
    assert coverage(shape, view) == pytest.approx(pixel_areas(shape, view), abs=FLOAT32)


def test_edges_on_pixel_lines_cover_whole_pixels():
    view = View(0.0, 4.0, 1.0, (4, 4))
    frame = shapely.box(0, 0, 4, 4) - shapely.box(1, 1, 3, 3)
    expected = np.ones((4, 4))
    expected[1:3, 1:3] = 0
    assert coverage(frame, view).tolist() == expected.tolist()
    assert coverage(shapely.reverse(frame), view).tolist() == expected.tolist()


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Polygon(),
        shapely.MultiPolygon(),
        shapely.box(10, 0, 12, 4),
        shapely.box(-3, 0, -1, 4),
        shapely.box(0, 9, 4, 12),
        shapely.box(0, -9, 4, -1),
    ],
)
def test_nothing_and_what_lies_outside_covers_nothing(shape):
    assert not coverage(shape, View(0.0, 4.0, 1.0, (4, 4))).any()


def test_a_shape_over_the_whole_window_covers_it():
    assert (coverage(shapely.Point(1, 1).buffer(50), View(0.0, 4.0, 2.0, (9, 9))) == 1).all()


def test_planes_of_neighbors_and_ground_add_up_to_one():
    disc = shapely.Point(0, 0).buffer(5.0)
    half = disc & shapely.box(-6, -6, 0.31, 6)
    view = View.around(disc.bounds, 20.0, pad_mm=1.0)
    covers = coverages([half, disc - half], view)
    assert covers.sum(axis=0) == pytest.approx(np.ones(covers.shape[1:]), abs=FLOAT32)
    assert covers[0].sum(dtype=float) / 400 == pytest.approx(view.size_px[0] ** 2 / 400 - disc.area, abs=1e-3)
    # No ground shows through where neighbors meet.
    assert covers[0][coverage(disc.buffer(-0.1), view) == 1].max() <= FLOAT32


def test_paint_lies_where_the_shape_is_with_smooth_edges():
    shape = shapely.Point(1.3, 2.1).buffer(1.7) - shapely.Point(1.3, 2.1).buffer(0.6)
    view = View(-1.0, 5.0, 7.0, (50, 40))
    picture = Image.new("L", view.size_px, 40)
    paint(picture, shape, view, (240,))
    expected = 40 + 200 * coverage(shape, view)
    assert np.asarray(picture) == pytest.approx(expected, abs=2.0)  # the mask's and the mixture's rounding
    before = picture.copy()
    paint(picture, shapely.box(90, 90, 91, 91), view, (0,))
    assert picture == before
