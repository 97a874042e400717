"""Longest extent and least width of outlines with known answers; what surely cannot fit the cylinder."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from reliefsmith.checks.smallparts import CYLINDER_DIAGONAL_MM, CYLINDER_WIDTH_MM, cannot_fit, extents

sides = st.floats(5, 80)
turns = st.floats(0, 180)


@given(sides, sides, turns)
def test_extents_of_a_rectangle_in_any_turn(width: float, depth: float, turn: float) -> None:
    longest, least = extents(affinity.rotate(shapely.box(0, 0, width, depth), turn))
    assert longest == pytest.approx(math.hypot(width, depth), rel=1e-9)
    assert least == pytest.approx(min(width, depth), rel=1e-9)


@given(st.lists(st.tuples(st.floats(-40, 40), st.floats(-40, 40)), min_size=4, max_size=12), turns)
@settings(max_examples=40)
def test_extents_agree_with_trying_all_directions(points: list[tuple[float, float]], turn: float) -> None:
    hull = shapely.MultiPoint(points).convex_hull
    if hull.geom_type != "Polygon" or hull.area < 1:
        return
    longest, least = extents(affinity.rotate(hull, turn))
    angles = np.linspace(0, math.pi, 721)
    across = np.array(points) @ np.array([np.cos(angles), np.sin(angles)])
    spans = np.ptp(across, axis=0)
    assert spans.max() <= longest + 1e-9
    assert spans.max() == pytest.approx(longest, rel=1e-4)
    assert least <= spans.min() + 1e-9
    # Between two directions half a quarter degree apart a width grows by at most that turn times the extent.
    assert spans.min() <= least + longest * math.radians(0.25)


@given(st.floats(1, 30), st.floats(1, 30))
def test_what_can_be_laid_in_the_cylinder_is_never_said_not_to_fit(width: float, depth: float) -> None:
    """A plate of 30 x 25 mm stands upright in the cylinder, which is 31.75 wide and 25.4 deep."""
    assert not cannot_fit(shapely.box(0, 0, min(width, 25.0), depth))


def test_an_outline_of_many_corners_is_compared_in_parts() -> None:
    """A disc of 1,024 corners: as wide as long; a half disc is half as wide."""
    disc = shapely.Point(3, 4).buffer(20, quad_segs=256)
    assert extents(disc) == pytest.approx((40.0, 40.0), rel=1e-4)
    half = shapely.intersection(disc, shapely.box(-30, 4, 30, 30))
    assert extents(half) == pytest.approx((40.0, 20.0), rel=1e-4)


@pytest.mark.parametrize(
    ("width", "depth", "out"),
    [
        (CYLINDER_WIDTH_MM, 40.0, False),
        (CYLINDER_WIDTH_MM + 0.01, 40.0, True),
        (math.sqrt(CYLINDER_DIAGONAL_MM**2 - 1), 0.99, False),
        (CYLINDER_DIAGONAL_MM, 1.0, True),
    ],
)
def test_the_limits_are_those_of_the_cylinder(width: float, depth: float, out: bool) -> None:
    assert cannot_fit(shapely.box(0, 0, width, depth)) is out
