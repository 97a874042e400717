from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from oracles import coverage_faults
from reliefsmith.areas import scale
from reliefsmith.errors import GeometryError
from reliefsmith.model import FlatAreas, TracedAreas
from reliefsmith.recipe.sections import SizeSettings


def areas_of(*polygons: shapely.Polygon, turn_deg: float = 0.0) -> TracedAreas:
    colors = np.arange(3 * len(polygons), dtype=np.uint8).reshape(-1, 3)
    return TracedAreas(tuple(shapely.MultiPolygon([p]) for p in polygons), colors, (400, 300), turn_deg)


def back_in_pixels(flat: FlatAreas) -> list[shapely.Geometry]:
    """The formula of the frame, written out once more."""
    frame = flat.frame
    c, s = np.cos(np.radians(frame.turn_deg)), np.sin(np.radians(frame.turn_deg))

    def back(points: np.ndarray) -> np.ndarray:
        x, y = points[:, 0] / frame.mm_per_px, -points[:, 1] / frame.mm_per_px
        return np.stack((frame.origin_px[0] + c * x - s * y, frame.origin_px[1] + s * x + c * y), axis=1)

    return [shapely.transform(polygon, back) for polygon in flat.polygons]


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        (SizeSettings(width_mm=68.001), (68.001, None)),
        (SizeSettings(width_mm=5), (5, None)),
        (SizeSettings(height_mm=33.333), (None, 33.333)),
        (SizeSettings(), (68, None)),
        (SizeSettings(longest_mm=40), (40, None)),
    ],
)
def test_the_size_is_exactly_as_asked(
    size: SizeSettings, expected: tuple[float | None, float | None]
) -> None:
    flat = scale(areas_of(shapely.box(13.37, 20.1, 313.71, 190.9), shapely.box(313.71, 30, 350.2, 99)), size)
    left, low, right, high = shapely.total_bounds(np.array(flat.polygons, dtype=object))
    for asked, got, own in zip(expected, (right - left, high - low), flat.size_mm, strict=True):
        assert own == pytest.approx(got, abs=1e-9)
        if asked is not None:
            assert got == pytest.approx(asked, abs=1e-9)
    assert abs(left + right) <= 0.001 + 1e-9
    assert abs(low + high) <= 0.001 + 1e-9
    assert not coverage_faults(flat.polygons)


def test_y_is_up_and_the_frame_leads_back_to_the_picture() -> None:
    upper, lower = shapely.box(100, 50, 200, 80), shapely.box(100, 80, 200, 220)
    flat = scale(areas_of(upper, lower), SizeSettings())
    assert flat.polygons[0].centroid.y > flat.polygons[1].centroid.y
    for own, drawn in zip(back_in_pixels(flat), (upper, lower), strict=True):
        # Half a grid step is 0.0005 mm; at 0.4 mm a pixel that is 0.00125 pixel a coordinate.
        assert own.hausdorff_distance(drawn) < 0.002
    assert flat.frame.image_px == (400, 300)


@pytest.mark.parametrize("turn", [-3.0, 2.5])
def test_turned_art_is_straightened_and_the_frame_says_how(turn: float) -> None:
    straight = shapely.box(100, 60, 300, 160)
    # Positive angles of the geometry library turn x toward y: clockwise as seen where y is down.
    drawn = rotate(straight, turn, origin=(150, 150))
    flat = scale(areas_of(drawn, turn_deg=turn), SizeSettings(width_mm=50))
    assert flat.size_mm == pytest.approx((50, 25), abs=0.002)
    assert flat.polygons[0].equals(shapely.box(-25, -12.5, 25, 12.5))
    assert back_in_pixels(flat)[0].hausdorff_distance(drawn) < 0.005


def test_neighbors_still_share_every_vertex() -> None:
    left = shapely.Polygon([(0, 0), (33.3337, 0), (35.123, 17.77), (31.9, 40), (0, 40)])
    right = shapely.Polygon([(33.3337, 0), (80, 0), (80, 40), (31.9, 40), (35.123, 17.77)])
    flat = scale(areas_of(left, right), SizeSettings(width_mm=12.345))
    assert shapely.union_all(flat.polygons).area == pytest.approx(
        sum(p.area for p in flat.polygons), abs=1e-12
    )
    assert not coverage_faults(flat.polygons)


@settings(max_examples=20)
@given(seed=st.integers(0, 2**32 - 1), width=st.sampled_from([5.0, 7.123, 68.0]))
def test_needles_thinner_than_the_grid_leave_a_valid_coverage(seed: int, width: float) -> None:
    random = np.random.default_rng(seed)
    points = np.sort(random.uniform(0, 2000, 12))
    needles = [
        shapely.Polygon([(x, 0), (x + 0.2, 1000), (x + 0.21, 1000), (x + random.uniform(0.01, 0.5), 0)])
        for x in points[::3] * 3
    ]
    needles = [
        needle for i, needle in enumerate(needles) if all(not needle.intersects(o) for o in needles[:i])
    ]
    plate = shapely.difference(shapely.box(-50, -50, 6100, 1100), shapely.union_all(needles))
    flat = scale(areas_of(plate, *needles), SizeSettings(width_mm=width))
    assert not coverage_faults(flat.polygons)
    assert flat.size_mm[0] == pytest.approx(width, abs=1e-9)
    assert len(flat.polygons) == len(flat.colors)


def test_a_speck_smaller_than_the_grid_vanishes_with_the_hole_it_filled() -> None:
    speck = shapely.box(500.0, 500.0, 500.001, 500.001)  # 0.04 um at this width
    plate = shapely.box(0, 0, 1700, 1000).difference(speck)
    flat = scale(areas_of(plate, speck), SizeSettings(width_mm=68))
    assert len(flat.polygons) == 1
    assert shapely.equals(flat.polygons[0], shapely.box(-34, -20, 34, 20))


def test_no_areas_at_all_is_one_plain_error() -> None:
    empty = TracedAreas((shapely.MultiPolygon(),), np.zeros((1, 3), np.uint8), (10, 10))
    with pytest.raises(GeometryError, match="no areas"):
        scale(empty, SizeSettings())


def test_moving_the_art_in_the_picture_changes_nothing_but_the_origin() -> None:
    art = shapely.Point(100, 90).buffer(40, 16)
    here, there = (
        scale(areas_of(art), SizeSettings()),
        scale(areas_of(translate(art, 64, -32)), SizeSettings()),
    )
    assert here.polygons[0].equals_exact(there.polygons[0], 0.0011)
    moved = np.subtract(there.frame.origin_px, here.frame.origin_px)
    np.testing.assert_allclose(moved, (64, -32), atol=1e-6)
