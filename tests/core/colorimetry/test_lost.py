"""Lost places: which cells belong together (by scipy's labels), where they are and what is missed there."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from reliefsmith.colorimetry.lost import Lost, lost_edges, lost_paint
from reliefsmith.colorimetry.reference import Reference, reference

WHITE, RED, BLUE = (250, 250, 250), (200, 30, 30), (20, 40, 160)
COLORS = np.array([WHITE, RED, BLUE], np.uint8)


def plain(
    labels: np.ndarray, outside: np.ndarray | None = None, clear: np.ndarray | None = None
) -> Reference:
    """Return the reference of a picture in whole cells of 0.5 mm."""
    outside = np.zeros(labels.shape, bool) if outside is None else outside
    return reference(COLORS[labels], outside, clear, cell_mm=0.5)


def paint(missed: np.ndarray, most: int = 99) -> list[Lost]:
    """Return the lost places of a red picture on a piece that is blue."""
    wanted = plain(np.ones(missed.shape, int))
    return lost_paint(wanted, missed, np.full(missed.shape, 3), COLORS, most)


@given(st.integers(0, 2**32 - 1), st.integers(1, 24), st.integers(1, 24), st.sampled_from([0.02, 0.1, 0.3]))
def test_cells_that_are_at_most_two_apart_are_one_place(
    seed: int, height: int, width: int, share: float
) -> None:
    """Widened by one all round they touch, by a side or a corner: scipy counts and sizes the same places."""
    missed = np.random.default_rng(seed).random((height, width)) < share
    around = np.ones((3, 3), bool)
    group, count = ndimage.label(ndimage.binary_dilation(missed, around), around)
    sizes = [int((missed & (group == one)).sum()) for one in range(1, count + 1)]
    found = paint(missed)
    assert [one.cells for one in found] == sorted(sizes, reverse=True)
    boxes = ndimage.find_objects(np.where(missed, group, 0))
    sides = [max(side.stop - side.start for side in box) * 0.5 for box in boxes]
    assert sorted((one.cells, one.size_mm) for one in found) == sorted(zip(sizes, sides, strict=True))
    for one in found:
        x, y = (round(at / 0.5 - 0.5) for at in one.at_mm)
        assert missed[y, x]


def test_a_place_is_told_by_its_cell_nearest_to_the_middle() -> None:
    """An L: the mean of its columns is 72 / 11, of its rows 49 / 11; (7, 5) is the nearest of its cells."""
    missed = np.zeros((12, 20), bool)
    missed[5, 4:12] = missed[2:5, 4] = True
    (place,) = paint(missed)
    assert place == Lost("paint", ((7 + 0.5) * 0.5, (5 + 0.5) * 0.5), 8 * 0.5, 11, (RED, BLUE))


def test_only_the_largest_are_told_largest_first() -> None:
    missed = np.zeros((20, 40), bool)
    for number, side in enumerate((1, 4, 2, 3)):
        missed[2 : 2 + side, 10 * number : 10 * number + side] = True
    assert [one.cells for one in paint(missed)] == [16, 9, 4, 1]
    assert [one.cells for one in paint(missed, most=2)] == [16, 9]
    assert paint(np.zeros((5, 5), bool)) == []


def test_paint_is_told_by_a_color_of_the_picture_and_what_most_of_the_place_shows() -> None:
    """Seven cells of red and two of white shown as white, blue and open air, by one count more each."""
    labels = np.ones((9, 9), int)
    labels[3, 3] = labels[3, 4] = 0
    missed = np.zeros((9, 9), bool)
    missed[3:6, 3:6] = True
    shown = np.ones((9, 9), int)
    shown[3:6, 3:6] = [[3, 3, 3], [3, 1, 1], [0, 0, 1]]
    wanted = plain(labels)
    assert [one.colors for one in lost_paint(wanted, missed, shown, COLORS, 9)] == [(RED, BLUE)]
    shown[3:6, 3:6] = [[0, 0, 0], [0, 1, 1], [3, 3, 1]]
    assert [one.colors for one in lost_paint(wanted, missed, shown, COLORS, 9)] == [(RED, None)]


@pytest.mark.parametrize("dark_first", [False, True])
def test_an_edge_is_told_by_the_lighter_side_first_and_its_length(dark_first: bool) -> None:
    """An upright edge 30 cells long: four pairs straddle it in each row, with middles on both sides."""
    labels = np.zeros((30, 20), int)
    labels[:, 10:] = 2
    wanted = plain(labels[:, ::-1] if dark_first else labels)
    (place,) = lost_edges(wanted, np.ones(len(wanted.first), bool), 9)
    assert (place.kind, place.cells, place.colors) == ("edge", 4 * 30, (WHITE, BLUE))
    assert place.size_mm == (30 - 4) * 0.5
    assert place.at_mm[0] == pytest.approx(10 * 0.5, abs=1)
    assert place.at_mm[1] == pytest.approx(15 * 0.5, abs=0.5)


def test_an_edge_is_told_by_colors_that_most_of_it_has() -> None:
    """Of thirty rows three have a red in place of the white."""
    labels = np.zeros((30, 20), int)
    labels[:3, :10] = 1
    labels[:, 10:] = 2
    wanted = plain(labels)
    across = wanted.second - wanted.first == 4
    (place,) = lost_edges(wanted, across, 9)
    assert place.colors == (WHITE, BLUE)


def test_pairs_that_are_kept_are_no_lost_edge_and_a_short_one_has_a_size() -> None:
    labels = np.zeros((30, 20), int)
    labels[:, 10:] = 2
    wanted = plain(labels)
    assert lost_edges(wanted, np.zeros(len(wanted.first), bool), 9) == []
    (one,) = lost_edges(wanted, np.arange(len(wanted.first)) == 5, 9)
    assert (one.cells, one.size_mm) == (1, 0.5)


def test_a_clear_ground_has_no_color_and_is_the_second_side() -> None:
    """Even where what is painted is the darker one, and whichever way the pairs run."""
    labels = np.full((12, 30), 2)
    clear = np.zeros((12, 30), bool)
    clear[:, :8] = clear[:, 22:] = True
    wanted = plain(labels, clear, clear)
    lost = lost_edges(wanted, np.ones(len(wanted.first), bool), 9)
    assert [one.colors for one in lost] == [(BLUE, None)] * 2
