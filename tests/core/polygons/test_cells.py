"""Outlines in cells of a bed: drawn large enough, turned as shapely turns them, transformed to correlate."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import affinity

from reliefsmith.errors import RecipeError
from reliefsmith.polygons.cells import Raster, Turned

from .shapes import stars

WEDGE = shapely.Polygon([(3, -2), (14, -2), (14, 3), (6, 8)])


def drawn(one: Turned, raster: Raster) -> np.ndarray:
    """Return the cells of a mask as squares in the frame of the outline, turned."""
    rows, columns = np.nonzero(one.mask)
    left, low = columns * raster.cell_mm - one.origin_mm[0], rows * raster.cell_mm - one.origin_mm[1]
    return shapely.box(left, low, left + raster.cell_mm, low + raster.cell_mm)


@pytest.mark.parametrize("turns", [4, 8])
def test_at_every_turn_the_cells_hold_the_outline_with_its_share_of_the_spacing(turns: int) -> None:
    """Not a cell is missing, and none is farther off than half the spacing (by shapely's own turns)."""
    raster = Raster.of((60, 50), spacing_mm=3, cell_mm=0.7)
    shape = raster.shape(0, WEDGE, turns)
    assert [one.turn_deg for one in shape.masks] == [0, 90, 180, 270, 45, 135, 225, 315][:turns]
    for one in shape.masks:
        turned = affinity.rotate(WEDGE, one.turn_deg, origin=(0, 0))
        cells = drawn(one, raster)
        assert shapely.distance(cells, turned).max() <= 1.5 + 1e-9
        around = shapely.union_all(cells).buffer(1e-6)
        assert shapely.covers(around, turned.buffer(1.5 - 1e-6, quad_segs=32))


@settings(max_examples=10)
@given(stars())
def test_a_spectrum_is_that_of_the_correlation_with_the_mask(star: shapely.Polygon) -> None:
    """Correlation theorem: the product with a bed's spectrum counts cells that lie on each other."""
    raster = Raster.of((64, 80), spacing_mm=2, cell_mm=2)
    bed = np.random.default_rng(5).random(raster.cells) < 0.3
    one = raster.shape(0, star, 4).masks[-1]
    found = np.fft.irfft2(np.fft.rfft2(bed, raster.grid) * one.spectrum, raster.grid)
    rows, columns = one.mask.shape
    windows = np.lib.stride_tricks.sliding_window_view(bed, one.mask.shape)
    free = found[: bed.shape[0] - rows + 1, : bed.shape[1] - columns + 1]
    assert np.allclose(free, (windows & one.mask).sum(axis=(2, 3)), atol=1e-6)


def test_symmetric_outlines_have_fewer_turns() -> None:
    raster = Raster.of((60, 50), spacing_mm=2, cell_mm=1)
    square, bar = shapely.box(0, 0, 8, 8), shapely.box(0, 0, 20, 4)
    shapes = [raster.shape(key, outline, 4) for key, outline in enumerate((square, bar))]
    assert [shape.key for shape in shapes] == [0, 1]
    assert [[one.turn_deg for one in shape.masks] for shape in shapes] == [[0], [0, 90]]
    assert [(shape.area, shape.sides) for shape in shapes] == [(64, (8, 8)), (80, (20, 4))]


def test_turns_at_which_an_outline_is_too_large_are_left_out() -> None:
    raster = Raster.of((60, 10), spacing_mm=2, cell_mm=1)
    long = raster.shape(0, shapely.box(0, 0, 4, 40), 4)
    huge = raster.shape(1, shapely.box(0, 0, 40, 40), 4)
    assert [one.turn_deg for one in long.masks] == [90]
    assert huge.masks == ()


@pytest.mark.parametrize(("size", "fits"), [((9.5, 4), True), ((9.6, 4), False), ((4, 9.5), True)])
def test_what_the_bed_has_room_for_lies_on_it_though_its_cells_do_not(
    size: tuple[float, float], fits: bool
) -> None:
    """Of a bed of 9.5 mm and 1 mm of spacing the last half cell is cut off, but not from the piece."""
    raster = Raster.of((9.5, 6), spacing_mm=1, cell_mm=1)
    shape = raster.shape(0, shapely.box(0, 0, *size), 4)
    assert bool(shape.masks) is fits
    assert all(np.less_equal(one.mask.shape, raster.cells).all() for one in shape.masks)


@pytest.mark.parametrize(
    ("bed", "spacing", "cell", "cells"),
    [((200, 180), 5, 1, (185, 205)), ((10, 30), 0.7, 0.1, (307, 107)), ((10, 20), 1, 3, (7, 3))],
)
def test_cells_fill_the_bed_and_half_the_spacing_around_it(
    bed: tuple[float, float], spacing: float, cell: float, cells: tuple[int, int]
) -> None:
    """Whole cells only; 10.7 mm are 107 cells of 0.1, though 10.7 / 0.1 is a little less in floats."""
    raster = Raster.of(bed, spacing, cell)
    assert raster.cells == cells
    assert raster.half_mm == spacing / 2


def test_transforms_have_the_next_size_of_small_factors() -> None:
    """5-smooth numbers (OEIS A051037): 1, 2, 3, 4, 5, 6, 8, 9, 10, 12, 15, 16, 18, 20, 24, 25, 27, 30, ..."""
    smooth = {n: Raster.of((n, 1), 0, 1).grid[1] for n in (1, 7, 11, 13, 17, 21, 26, 31, 32, 49, 121)}
    assert smooth == {1: 1, 7: 8, 11: 12, 13: 15, 17: 18, 21: 24, 26: 27, 31: 32, 32: 32, 49: 50, 121: 125}


def test_far_too_many_cells_are_refused_in_words_of_the_recipe() -> None:
    assert Raster.of((2048, 2048), 0, 1).cells == (2048, 2048)
    with pytest.raises(RecipeError, match=r"beds\.cell_mm of 1 makes 2049 x 2048 cells"):
        Raster.of((2049, 2048), 0, 1)
