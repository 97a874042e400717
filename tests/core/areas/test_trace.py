from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from shapely.affinity import rotate

from exactart import COLORS, assert_coverage, painted_over, picture_of, picture_of_labels, shared_area
from reliefsmith.areas import trace
from reliefsmith.areas.graph import build_graph
from reliefsmith.areas.shape import Restraint
from reliefsmith.areas.trace import _near
from reliefsmith.errors import GeometryError
from reliefsmith.model import TracedAreas
from reliefsmith.recipe.sections import AreasSettings

SMOOTHINGS = (0.0, 0.25, 0.5, 0.75, 1.0)


def traced(
    polygons: list[shapely.Geometry], size: int, smoothing: float = 0.5, *, alpha: bool = False
) -> TracedAreas:
    areas = trace(*picture_of(polygons, size, alpha=alpha), AreasSettings(smoothing=smoothing))
    assert_coverage(areas)
    return areas


def vertices(areas: TracedAreas) -> int:
    return sum(shapely.get_num_coordinates(polygon) for polygon in areas.polygons)


def star(points: int, outer: float, inner: float, center: tuple[float, float]) -> shapely.Polygon:
    angle = np.pi * np.arange(2 * points) / points
    radius = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return shapely.Polygon(
        np.stack((center[0] + radius * np.sin(angle), center[1] - radius * np.cos(angle)), 1)
    )


@pytest.mark.parametrize("alpha", [False, True])
@pytest.mark.parametrize("turn", [0, 8, 22, 45])
@pytest.mark.parametrize("side", [12.0, 60.0])
def test_a_square_stays_exactly_four_points(side: float, turn: float, alpha: bool) -> None:
    middle = 48.3
    square = rotate(
        shapely.box(middle - side / 2, middle - side / 2, middle + side / 2, middle + side / 2), turn
    )
    found = traced([square], 96, alpha=alpha).polygons[0]
    assert shapely.get_num_coordinates(found) == 5
    corners = shapely.get_coordinates(found)[:4]
    apart = np.hypot(*(corners[:, None] - shapely.get_coordinates(square)[None, :4]).transpose(2, 0, 1))
    # 0.1 pixel: a third of what the corner's own pixel loses to anti-aliasing.
    assert apart.min(axis=1).max() < 0.1


@pytest.mark.parametrize("radius", [12.0, 30.0, 100.0])
def test_a_circle_keeps_its_radius(radius: float) -> None:
    size = int(2 * radius + 12)
    middle = (size / 2 + 0.3, size / 2 - 0.2)
    found = traced([shapely.Point(middle).buffer(radius, 512)], size).polygons[0]
    ring = shapely.segmentize(found, 0.5)
    distance = np.hypot(*(shapely.get_coordinates(ring) - middle).T) - radius
    assert abs(distance.mean()) < 0.03
    assert np.abs(distance).max() < 0.15
    # A chord of sagitta 0.06 spans 2 sqrt(2 r 0.06); twice that number of vertices is still few.
    assert shapely.get_num_coordinates(found) < 2 * 2 * np.pi * radius / (2 * np.sqrt(2 * radius * 0.06)) + 8


@pytest.mark.parametrize("points", [5, 7])
def test_a_star_keeps_its_tips(points: int) -> None:
    drawing = star(points, 60, 27, (70.2, 69.7))
    found = traced([drawing], 140).polygons[0]
    tips = shapely.points(shapely.get_coordinates(drawing)[:-1])
    own = shapely.MultiPoint(shapely.get_coordinates(found))
    assert shapely.distance(tips, own).max() < 0.3
    assert shapely.get_num_coordinates(found) <= 2 * points + 1 + points
    assert shared_area(found, drawing) > 0.997


def test_four_areas_share_their_junction_exactly() -> None:
    middle, size = (50.4, 49.7), 100
    quarters = [
        shapely.Polygon([middle, (50.4, 10), (90, 10), (90, 49.7)]),
        shapely.Polygon([middle, (90, 49.7), (90, 90), (50.4, 90)]),
        shapely.Polygon([middle, (50.4, 90), (10, 90), (10, 49.7)]),
        shapely.Polygon([middle, (10, 49.7), (10, 10), (50.4, 10)]),
    ]
    areas = traced(quarters, size)
    points = [shapely.get_coordinates(polygon) for polygon in areas.polygons]
    near = [own[np.argmin(np.hypot(*(own - middle).T))] for own in points]
    for other in near[1:]:
        np.testing.assert_array_equal(near[0], other)
    assert np.hypot(*(near[0] - middle)) < 0.1


def test_three_areas_meet_in_one_point_on_a_fourth() -> None:
    disc = shapely.Point(60.3, 59.8).buffer(45, 256)
    wedges = [
        shapely.Polygon([(60.3, 59.8), *((60.3 + 90 * np.cos(a), 59.8 + 90 * np.sin(a)) for a in angles)])
        for angles in (
            np.linspace(0.2, 2.0, 30),
            np.linspace(2.0, 4.4, 30),
            np.linspace(4.4, 0.2 + 2 * np.pi, 30),
        )
    ]
    areas = traced([wedge.intersection(disc) for wedge in wedges], 120)
    shared = shapely.intersection_all(np.array(areas.polygons, dtype=object))
    assert shared.geom_type == "Point"
    assert shared.distance(shapely.Point(60.3, 59.8)) < 0.15
    whole = shapely.union_all(areas.polygons)
    assert whole.geom_type == "Polygon"
    assert not whole.interiors


@pytest.mark.parametrize("turn", [0.1, 0.5, 0.8, 1.1, 1.4])
@pytest.mark.parametrize("meeting", [(0.31, 0.66), (0.5, 0.75)])
def test_boundaries_stay_straight_up_to_where_three_areas_meet(
    monkeypatch: pytest.MonkeyPatch, meeting: tuple[float, float], turn: float
) -> None:
    """Pixels at the meeting mix three colors; of black, gray and white the mix passes for one of two."""
    monkeypatch.setattr("exactart.COLORS", ((0, 0, 0), (120, 120, 120), (250, 250, 250)))
    middle, sheet = (40.3, 39.8), shapely.box(10.2, 9.7, 70.4, 69.6)
    ends = turn + 2 * np.pi * np.array([0.0, *meeting, 1.0])
    arms = [np.linspace(first, last, 30) for first, last in pairwise(ends)]
    wedges = [
        shapely.Polygon([middle, *np.column_stack((np.cos(arm), np.sin(arm))) * 150 + middle]) & sheet
        for arm in arms
    ]
    for wedge, found in zip(wedges, traced(wedges, 80, smoothing=0.0).polygons, strict=True):
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(found.boundary, 0.25)))
        near = places[shapely.distance(places, shapely.Point(middle)) < 6]
        assert shapely.distance(near, wedge.boundary).max() < 0.12


def test_where_nothing_else_is_free_of_crossings_boundaries_are_the_middles_of_the_pixels_edges(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A search that finds a crossing in every round drives all boundaries to the last resort."""
    module = sys.modules[trace.__module__]
    labels = np.kron(np.array([[1, 2, 0], [2, 1, 3], [0, 3, 3]], np.uint8), np.ones((4, 4), np.uint8))
    monkeypatch.setattr(module, "find_crossings", lambda *_: np.array([[-50.0, -50.0]]))
    areas = trace(*picture_of_labels(labels), AreasSettings())
    assert_coverage(areas)
    places = np.vstack([shapely.get_coordinates(polygon) for polygon in areas.polygons])
    assert ((2 * places) % 1 == 0).all()
    halves = (places % 1 == 0.5).sum(axis=1)
    assert set(halves.tolist()) <= {0, 1}


def test_restraint_grows_by_one_level_in_reach_up_to_the_second() -> None:
    module = sys.modules[trace.__module__]
    graph = build_graph(np.kron(np.array([[0, 1, 2]], np.uint8), np.ones((12, 4), np.uint8)))
    place = graph.middle[5:6]  # half way along the first arc
    free = Restraint.none(graph)
    once = module._tightened(graph, free, place, 2.5, whole=False)
    twice = module._tightened(graph, once, place, 2.5, whole=False)
    again = module._tightened(graph, twice, place, 2.5, whole=False)
    near = np.hypot(*(graph.middle - place).T) <= 2.5
    for restraint, level in ((once, 1), (twice, 2), (again, 2)):
        np.testing.assert_array_equal(restraint.level, np.where(near, level, 0))
    whole = module._tightened(graph, free, place, 2.5, whole=True)
    np.testing.assert_array_equal(whole.level == 1, graph.arc_of == graph.arc_of[0])


def _noise(size: int, seed: int) -> np.ndarray:
    """Return noise that is alike over some pixels, as that of compression is."""
    noise = np.random.default_rng(seed).normal(0, 28, (size, size, 3))
    for axis in (0, 1):
        noise = (noise + np.roll(noise, 1, axis) + np.roll(noise, -1, axis)) / 3 * 1.4
    return noise


def test_what_compression_did_to_a_boundary_is_smoothed_more_than_a_clean_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The same noisy discs, smoothed as widely as clean ones, lie a twentieth farther off."""
    module = sys.modules[trace.__module__]
    middle = (60.3, 59.7)
    artwork, separation = picture_of([shapely.Point(middle).buffer(40, 128)], 120)

    def off() -> float:
        found = []
        for seed in range(4):
            rgb = np.clip(artwork.rgb + _noise(120, seed), 0, 255).astype(np.uint8)
            areas = trace(replace(artwork, rgb=rgb, lossy=True), separation, AreasSettings())
            places = shapely.get_coordinates(shapely.segmentize(areas.polygons[0], 0.5))
            found.append(np.mean((np.hypot(*(places - middle).T) - 40) ** 2))
        return float(np.sqrt(np.mean(found)))

    wide = off()
    monkeypatch.setattr(module, "LOSSY_RATIO", 1.0)
    assert wide < 0.95 * off()


def test_a_lossy_picture_that_was_enlarged_is_smoothed_over_as_many_of_its_own_pixels() -> None:
    module = sys.modules[trace.__module__]
    artwork, _ = picture_of_labels(np.ones((4, 4), np.uint8))
    sigma = {
        (lossy, scale): module._grade(
            AreasSettings(), replace(artwork, lossy=lossy, scale=scale)
        ).window.sigma
        for lossy in (True, False)
        for scale in (0.5, 1.0, 3.0)
    }
    assert sigma[True, 3.0] == pytest.approx(3 * sigma[True, 1.0])
    assert sigma[True, 0.5] == sigma[True, 1.0] > sigma[False, 1.0]
    assert sigma[False, 3.0] == sigma[False, 0.5] == sigma[False, 1.0]


def test_a_hole_stays_a_hole_and_an_island_in_it_an_island() -> None:
    ring = shapely.Point(50, 50).buffer(40).difference(shapely.Point(50, 50).buffer(25))
    island = shapely.Point(50, 50).buffer(10)
    areas = traced([ring, island], 100)
    assert len(areas.polygons[0].geoms) == 1
    assert len(areas.polygons[0].geoms[0].interiors) == 1
    assert areas.polygons[1].within(shapely.Polygon(areas.polygons[0].geoms[0].interiors[0]))


def test_art_over_the_whole_frame_keeps_the_frame() -> None:
    areas = traced([shapely.box(0, 0, 30.4, 64), shapely.box(30.4, 0, 64, 64)], 64)
    assert shapely.union_all(areas.polygons).equals(shapely.box(0, 0, 64, 64))
    assert areas.polygons[0].bounds == pytest.approx((0, 0, 30.4, 64), abs=0.02)
    assert vertices(areas) == 10


def test_boundaries_that_cross_like_a_chessboard_make_a_valid_coverage() -> None:
    board = np.kron(np.indices((6, 6)).sum(axis=0) % 2, np.ones((5, 5), dtype=int)).astype(np.uint8)
    areas = trace(*picture_of_labels(board), AreasSettings())
    assert_coverage(areas)
    assert areas.polygons[0].area == pytest.approx(board.sum(), rel=0.1)


def test_an_area_that_touches_itself_in_a_junction_stays_valid() -> None:
    labels = np.full((40, 40), 1, dtype=np.uint8)
    labels[10:20, 10:20] = 2
    labels[20:30, 20:30] = 3
    labels[10:20, 20:30] = 4
    areas = trace(*picture_of_labels(labels), AreasSettings())
    assert_coverage(areas)
    assert shapely.union_all(areas.polygons).area == pytest.approx(1600)


@pytest.mark.parametrize("alpha", [False, True])
def test_more_smoothing_gives_fewer_points_and_stays_near_the_picture(alpha: bool) -> None:
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    radius = 60 + 12 * np.sin(5 * angle) + 2 * np.sin(23 * angle)
    blob = shapely.Polygon(np.stack((80.2 + radius * np.cos(angle), 79.6 + radius * np.sin(angle)), axis=1))
    core = shapely.Point(80, 80).buffer(25)
    counts = []
    for smoothing in SMOOTHINGS:
        areas = traced([blob.difference(core), core], 160, smoothing, alpha=alpha)
        counts.append(vertices(areas))
        # A point stays within 1.2 px of its crack along each axis, and a chord within the tolerance of 0.21.
        assert shapely.hausdorff_distance(areas.polygons[0].boundary, blob.difference(core).boundary) < 2.0
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > 1.5 * counts[-1]


@settings(max_examples=25)
@given(
    labels=hnp.arrays(
        np.uint8,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=14),
        elements=st.integers(0, 4),
    ),
    grow=st.sampled_from([1, 2, 3, 5]),
    smoothing=st.sampled_from(SMOOTHINGS),
)
def test_any_label_map_gives_a_valid_coverage(labels: np.ndarray, grow: int, smoothing: float) -> None:
    labels = np.kron(labels, np.ones((grow, grow), dtype=np.uint8))
    if not labels.any():
        return
    areas = trace(*picture_of_labels(labels), AreasSettings(smoothing=smoothing))
    assert_coverage(areas)
    for index, polygon in enumerate(areas.polygons):
        # Every connected piece of pixels is in some part: no area of four pixels or more is lost.
        assert (np.count_nonzero(labels == index + 1) < 4) or not polygon.is_empty
    covered = shapely.union_all(areas.polygons).area
    assert covered == pytest.approx(sum(polygon.area for polygon in areas.polygons), abs=1e-6)


@settings(max_examples=15)
@given(labels=hnp.arrays(np.uint8, (9, 11), elements=st.integers(1, 3)))
def test_art_without_background_covers_its_frame_without_gaps(labels: np.ndarray) -> None:
    areas = trace(*picture_of_labels(np.kron(labels, np.ones((4, 4), np.uint8))), AreasSettings())
    assert_coverage(areas)
    assert shapely.union_all(areas.polygons).equals(shapely.box(0, 0, 44, 36))


def test_the_same_picture_gives_the_same_bytes() -> None:
    drawing = [star(5, 40, 18, (50, 50))]
    first, second = traced(drawing, 100), traced(drawing, 100)
    assert first.polygons[0].wkb == second.polygons[0].wkb


def test_nothing_but_background_is_one_plain_error() -> None:
    artwork, separation = picture_of_labels(np.zeros((20, 20), dtype=np.uint8))
    with pytest.raises(GeometryError, match="nothing but background"):
        trace(artwork, separation, AreasSettings())


def test_a_strip_of_no_width_keeps_no_other_boundary_from_its_place() -> None:
    """Two boundaries lie on each other all along a rim; the others stay where the picture has them."""
    sheet, over = shapely.box(20.3, 20.6, 380.7, 60.4), shapely.box(20.3, 20.7, 380.7, 40.3)
    artwork, separation = picture_of([over, sheet.difference(over)], 400, alpha=True)
    painted = painted_over([(sheet, COLORS[1]), (over, COLORS[0])], 400, alpha=True)
    labels = separation.labels.copy()
    labels[20, 21:380] = 2
    areas = trace(
        replace(artwork, rgb=painted.rgb, alpha=painted.alpha),
        replace(separation, labels=labels),
        AreasSettings(),
    )
    assert_coverage(areas)
    upper, lower = areas.polygons
    assert upper.bounds == pytest.approx((20.3, 20.7, 380.7, 40.3), abs=0.3)
    assert max(shapely.get_coordinates(lower)[:, 1]) == pytest.approx(60.4, abs=0.02)


@given(st.integers(0, 2**32 - 1), st.integers(0, 4), st.integers(0, 60))
def test_all_points_within_reach_of_any_place_are_found(seed: int, places: int, points: int) -> None:
    rng = np.random.default_rng(seed)
    some, all_ = rng.uniform(-10, 30, (places, 2)), rng.uniform(-10, 30, (points, 2))
    gaps = np.hypot(*(all_[:, None] - some[None]).transpose(2, 0, 1)).reshape(points, places)
    expected = np.flatnonzero((gaps <= 5.0).any(axis=1))
    assert sorted(_near(some, all_, 5.0).tolist()) == expected.tolist()
