from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from exactart import COLORS, picture_of
from reliefsmith.areas import trace
from reliefsmith.model import Artwork, Separation
from reliefsmith.recipe.sections import AreasSettings

HALVES = [shapely.box(5, 5, 30.4, 60), shapely.box(30.4, 5, 60, 60)]


def with_strip(color: tuple[int, int, int], *, drawn: bool) -> tuple[Artwork, Separation]:
    """Two halves whose mixed column is labelled as a third color; or is that color, where drawn."""
    artwork, separation = picture_of(HALVES, 64)
    labels, rgb = separation.labels.copy(), artwork.rgb.copy()
    labels[6:59, 30] = 3
    if drawn:
        rgb[6:59, 30] = color
    palette = np.vstack((separation.colors, np.array([color], dtype=np.uint8)))
    return replace(artwork, rgb=rgb), replace(
        separation, labels=labels, colors=palette, shares=np.ones(3) / 3
    )


def test_a_strip_that_is_a_mix_of_its_neighbors_is_given_to_them() -> None:
    middle = tuple((np.array(COLORS[0]) + np.array(COLORS[1])) // 2 + 9)
    areas = trace(*with_strip(middle, drawn=False), AreasSettings())
    assert areas.polygons[2].is_empty
    assert areas.polygons[0].area == pytest.approx(HALVES[0].area, abs=3)
    assert areas.polygons[1].area == pytest.approx(HALVES[1].area, abs=3)


@pytest.mark.parametrize("color", [(20, 20, 20), (115, 75, 115)])
def test_a_drawn_line_stays_however_thin(color: tuple[int, int, int]) -> None:
    areas = trace(*with_strip(color, drawn=True), AreasSettings())
    assert not areas.polygons[2].is_empty
    left, low, right, high = areas.polygons[2].bounds
    assert high - low > 45
    assert 29.5 < left < right < 31.5


def test_a_strip_of_three_paints_over_each_other_is_given_to_its_neighbors() -> None:
    artwork, separation = with_strip((20, 250, 250), drawn=False)
    rgb = artwork.rgb.copy()
    rgb[6:59, 30] = 0.85 * rgb[6:59, 30] + 0.15 * np.array((255, 255, 255))  # some paper shines through
    areas = trace(replace(artwork, rgb=rgb), separation, AreasSettings())
    assert areas.polygons[2].is_empty


def with_line(halves: list[shapely.Geometry], rows: slice, columns: slice) -> tuple[Artwork, Separation]:
    """Draw a line in a mix of the first two colors, that is a bit off the paint that it is named after."""
    artwork, separation = picture_of(halves, 64)
    labels, rgb = separation.labels.copy(), artwork.rgb.copy()
    line = (np.array(COLORS[0]) + np.array(COLORS[1])) // 2
    labels[rows, columns], rgb[rows, columns] = len(halves) + 1, line
    palette = np.vstack((separation.colors, np.add(line, (12, 12, -12))[None])).astype(np.uint8)
    shares = np.full(len(palette), 1 / len(palette))
    return replace(artwork, rgb=rgb), replace(separation, labels=labels, colors=palette, shares=shares)


def test_a_line_that_ends_at_a_second_color_does_not_lie_between_the_two() -> None:
    """A twentieth of its boundary is the second color's; of a fringe each neighbor has a quarter."""
    areas = trace(*with_line(HALVES, slice(30, 31), slice(12, 30)), AreasSettings())
    assert areas.polygons[2].area > 10


def test_a_line_with_a_third_color_beside_it_is_no_mix_of_two() -> None:
    """Two neighbors have three quarters of its boundary; of a fringe they have four fifths."""
    three = [HALVES[0], shapely.box(30.4, 5, 60, 36), shapely.box(30.4, 36, 60, 60)]
    areas = trace(*with_line(three, slice(6, 59), slice(30, 31)), AreasSettings())
    assert areas.polygons[3].area > 30
    between = trace(*with_line(HALVES, slice(6, 59), slice(30, 31)), AreasSettings())
    assert between.polygons[2].is_empty


@pytest.mark.parametrize(
    ("lossy", "darker", "stays"), [(False, 4, True), (False, 6, False), (True, 6, True), (True, 8, False)]
)
def test_a_strip_near_its_own_color_is_drawn_and_compression_may_put_it_farther_off(
    lossy: bool, darker: int, stays: bool
) -> None:
    """8 levels, 12 in a lossy picture, over three channels; beyond, the mix of its neighbors explains it."""
    artwork, separation = with_line(HALVES, slice(6, 59), slice(30, 31))
    colors = separation.colors.copy()
    colors[2] = artwork.rgb[30, 30] - darker
    areas = trace(replace(artwork, lossy=lossy), replace(separation, colors=colors), AreasSettings())
    assert (not areas.polygons[2].is_empty) == stays
