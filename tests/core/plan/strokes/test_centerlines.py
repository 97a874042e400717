from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import Voronoi

from reliefsmith.plan.strokes.centerlines import strokes_steps, thickened
from reliefsmith.plan.strokes.voronoi import ridges_within
from reliefsmith.polygons import as_multi, opened
from reliefsmith.progress import drain

WIDTH, REACH = 0.6, 0.45


@pytest.mark.parametrize("degrees", [10, 20, 30])
def test_the_tip_of_a_wedge_stays_where_it_is(degrees):
    half = 5 * math.tan(math.radians(degrees / 2))
    wedge = shapely.Polygon([(0, 0), (5, -half), (5, half)])
    grown = wedge.union(thickened(wedge, WIDTH))
    assert grown.bounds[0] >= -0.01
    assert grown.area > wedge.area


@pytest.mark.parametrize("corners", [3, 4, 6, 12])
def test_corners_of_regular_polygons_are_left_alone(corners):
    angles = [2 * math.pi * index / corners for index in range(corners)]
    polygon = shapely.Polygon([(5 * math.cos(a), 5 * math.sin(a)) for a in angles])
    assert thickened(polygon, WIDTH).is_empty


def test_a_stroke_as_wide_as_asked_is_left_alone():
    bar = shapely.box(0, 0, 10, WIDTH)
    assert thickened(bar, WIDTH).difference(bar.buffer(0.002)).is_empty


@pytest.mark.parametrize("turn", [0, 17, 45, 90])
def test_a_thin_bar_is_thickened_whichever_way_it_lies(turn):
    bar = shapely.affinity.rotate(shapely.box(-5, -0.1, 5, 0.1), turn, origin=(0, 0))
    grown = bar.union(thickened(bar, WIDTH))
    across = shapely.affinity.rotate(shapely.LineString([(0, -2), (0, 2)]), turn, origin=(0, 0))
    assert across.intersection(grown).length == pytest.approx(WIDTH, abs=0.01)
    assert grown.area - opened(grown, WIDTH / 2 - 0.01).area < 0.01 * grown.area


@pytest.mark.parametrize("thick", [0.085, 0.12, 0.15, 0.2, 0.4])
def test_a_thin_line_is_thickened_all_along_wherever_its_vertices_lie(thick):
    lot = np.random.default_rng(2)

    def circle(radius):
        turns = np.sort(lot.uniform(0, 2 * math.pi, 700))
        return radius * np.column_stack([np.cos(turns), np.sin(turns)])

    line = shapely.Polygon(circle(20 + thick / 2), [circle(20 - thick / 2)])
    grown = as_multi(thickened(line, WIDTH))
    assert len(grown.geoms) == 1
    assert grown.area == pytest.approx(2 * math.pi * 20 * WIDTH, rel=0.01)


def test_a_pointed_end_gets_no_drop_wider_than_a_tip_and_a_stroke_that_narrows_slowly_is_a_stroke():
    """Half angles of 15 and 3 degrees lie on both sides of 7.2: a tip of 0.4 mm, a stroke of 0.6 mm."""
    for degrees, widest in ((30, 0.5), (6, 0.6)):
        half = 6 * math.tan(math.radians(degrees / 2))
        wedge = shapely.Polygon([(0, 0), (6, -half), (6, half)])
        grown = wedge.union(drain(strokes_steps(wedge, WIDTH, tip=0.4)).discs)
        at = 0.2 / math.sin(math.radians(degrees / 2))  # where the wedge is about 0.4 mm wide
        across = shapely.LineString([(at, -2), (at, 2)]).intersection(grown).length
        assert across == pytest.approx(widest, abs=0.1)
        assert across == pytest.approx(0.6, abs=0.01) if degrees == 6 else across < 0.45


def test_strokes_tell_how_wide_they_are_along_their_center_line():
    found = drain(strokes_steps(shapely.box(0, 0, 10, 0.4), WIDTH))
    assert float(np.median(found.widths)) == pytest.approx(0.4, abs=0.01)
    assert np.abs(found.points[:, 1] - 0.2).max() < 0.02


def test_only_places_in_the_zone_are_thickened():
    bars = shapely.MultiPolygon([shapely.box(0, 0, 10, 0.3), shapely.box(0, 5, 10, 5.3)])
    discs = thickened(bars, WIDTH, zone=shapely.box(0, 4, 10, 6))
    assert discs.bounds[1] > 4


def test_nothing_is_asked_of_an_empty_area_or_a_width_of_zero():
    assert thickened(shapely.Polygon(), WIDTH).is_empty
    assert thickened(shapely.box(0, 0, 9, 0.1), 0.0).is_empty


def _bars(turn: float, lines: list[tuple[int, int, int, int, int]]) -> shapely.MultiPolygon:
    """Return bars between points on a grid of a millimetre, 0.1 to 0.8 mm wide, turned."""
    bars = [
        shapely.LineString([(x, y), (x + right, y + up)]).buffer(0.05 * wide, cap_style="square")
        for x, y, right, up, wide in lines
    ]
    turned = shapely.affinity.rotate(shapely.union_all(bars), turn, origin=(0, 0))
    return as_multi(shapely.set_precision(turned, 0.001))


_LINE = st.tuples(*[st.integers(-8, 8)] * 2, st.integers(1, 8), st.integers(-6, 6), st.integers(1, 8))


def _ridges(sites: np.ndarray, reach: float) -> dict[frozenset[int], float]:
    """Return the pairs of sites that have a ridge, with its length."""
    number = {tuple(site): index for index, site in enumerate(sites)}
    found = ridges_within(sites, reach)
    lengths = np.hypot(*(found.ends[:, 0] - found.ends[:, 1]).T)
    keys = [frozenset((number[tuple(one)], number[tuple(other)])) for one, other in found.sites]
    assert len(keys) == len(set(keys))
    return dict(zip(keys, lengths.tolist(), strict=True))


@given(turn=st.sampled_from([0, 90, 7.3, 45]), lines=st.lists(_LINE, min_size=1, max_size=8))
def test_ridges_are_those_of_an_independent_diagram(turn, lines):
    """Qhull, through scipy, gives the same ridges, but for those of no length: which of them is chance."""
    points = shapely.get_coordinates(shapely.segmentize(shapely.boundary(_bars(turn, lines)), 0.04)).round(6)
    sites = np.unique(points, axis=0)
    theirs = Voronoi(sites)
    wanted = {}
    for (one, other), (start, end) in zip(theirs.ridge_points, theirs.ridge_vertices, strict=True):
        ends = theirs.vertices[[start, end]]
        if start >= 0 and np.hypot(*(ends - sites[one]).T).max() < REACH:
            wanted[frozenset((int(one), int(other)))] = math.dist(*ends)
    found = _ridges(sites, REACH)
    assert {key for key, length in found.items() if length > 1e-4} == {
        key for key, length in wanted.items() if length > 1e-4
    }
