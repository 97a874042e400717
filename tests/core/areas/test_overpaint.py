"""Rims and seams where paint lies over paint: the boundary is where both paints end."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from exactart import COLORS, painted_over, picture_of
from reliefsmith.areas import trace
from reliefsmith.areas.overpaint import LEAST_PIXELS, Rims, settle_rims
from reliefsmith.recipe.sections import AreasSettings

FARTHEST_PX = 0.04
"""Of a straight boundary; a mix of two colors would put it 0.15 to 0.25 px off."""


def bounds_of(visible: list[shapely.Geometry], layers: list, *, alpha: bool) -> np.ndarray:
    """Trace what is painted layer by layer, labelled by what is to be seen."""
    artwork, separation = picture_of(visible, 64, alpha=alpha)
    painted = painted_over(layers, 64, alpha=alpha)
    areas = trace(replace(artwork, rgb=painted.rgb, alpha=painted.alpha), separation, AreasSettings())
    return np.array([polygon.bounds for polygon in areas.polygons])


@pytest.mark.parametrize("alpha", [True, False])
@pytest.mark.parametrize("part", [0.2, 0.5, 0.7])
def test_a_rim_of_two_paints_lies_where_both_end(part: float, alpha: bool) -> None:
    sheet = shapely.box(10 - part, 10 - part, 54 + part, 54 + part)
    over = shapely.box(10 - part, 10 - part, 32, 54 + part)
    seen = [over, sheet.difference(over)]
    found = bounds_of(seen, [(sheet, COLORS[1]), (over, COLORS[0])], alpha=alpha)
    assert np.abs(found - [polygon.bounds for polygon in seen]).max() < FARTHEST_PX


@pytest.mark.parametrize("alpha", [True, False])
@pytest.mark.parametrize("part", [0.2, 0.5, 0.7])
def test_a_seam_that_the_ground_shines_through_lies_where_both_paints_end(part: float, alpha: bool) -> None:
    halves = [shapely.box(10, 10, 32 - part, 54), shapely.box(32 - part, 10, 54, 54)]
    found = bounds_of(halves, [(half, COLORS[at]) for at, half in enumerate(halves)], alpha=alpha)
    assert np.abs(found - [half.bounds for half in halves]).max() < FARTHEST_PX


@given(
    colors=st.permutations([(20, 20, 20), (230, 40, 60), (40, 200, 90), (250, 240, 200)]),
    parts=st.lists(st.floats(0.05, 0.95), min_size=LEAST_PIXELS, max_size=12),
    mirrored=st.booleans(),
)
def test_the_covered_part_is_found_again(
    colors: list[tuple[int, int, int]], parts: list[float], mirrored: bool
) -> None:
    palette = np.array(colors, dtype=float)
    c = np.array(parts)[:, None]
    values = np.rint(c * palette[0] + (1 - c) * c * palette[1] + (1 - c) ** 2 * palette[2])
    zeros = np.zeros(len(parts), dtype=np.int64)
    left, right = (zeros + 2, zeros) if mirrored else (zeros, zeros + 2)
    fraction, rest = settle_rims(Rims(values, right, left, zeros + 99.0, zeros), palette, clear=False)
    assert np.abs((1.0 - fraction if mirrored else fraction) - parts).max() < 0.02
    assert rest.max() < 1.0


def test_a_few_pixels_where_three_areas_meet_are_no_rim() -> None:
    palette = np.array(COLORS[:3], dtype=float)
    few = np.zeros(LEAST_PIXELS - 1, dtype=np.int64)
    values = np.tile(0.5 * palette[0] + 0.25 * palette[1] + 0.25 * palette[2], (len(few), 1))
    fraction, rest = settle_rims(Rims(values, few + 2, few, few + 50.0, few), palette, clear=False)
    assert np.isnan(fraction).all()
    assert (rest == 50.0).all()


@pytest.mark.parametrize(("away", "explained"), [(0.0, True), (4.0, True), (6.5, False)])
def test_paint_over_paint_explains_what_it_comes_within_five_levels_of(away: float, explained: bool) -> None:
    """All three paints lie in one plane; the pixels lie above it."""
    palette = np.array([(200.0, 30, 50), (30, 180, 50), (240, 240, 50)])
    c = np.linspace(0.2, 0.8, LEAST_PIXELS + 2)[:, None]
    values = c * palette[0] + (1 - c) * c * palette[1] + (1 - c) ** 2 * palette[2] + (0, 0, away)
    zeros = np.zeros(len(c), dtype=np.int64)
    fraction, rest = settle_rims(Rims(values, zeros + 2, zeros, zeros + 99.0, zeros), palette, clear=False)
    assert np.isnan(fraction).all() != explained
    if explained:
        np.testing.assert_allclose(rest, away, atol=0.1)
