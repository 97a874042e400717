"""What the eye would miss, on drawn pictures: whole pieces, lost rings, wrong paint, shifts and turns."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.colorimetry.reference import reference
from reliefsmith.colorimetry.seen import Seen, seen

WHITE, NAVY, ORANGE, BLACK = (250, 250, 250), (20, 40, 110), (235, 120, 30), (20, 20, 20)
COLORS = np.array([WHITE, NAVY, ORANGE, BLACK], np.uint8)
SIDE = 120


def _disc(x: float, y: float, radius: float) -> np.ndarray:
    """Return the cells of a disc, in cells."""
    row, column = np.mgrid[:SIDE, :SIDE]
    return (column - x) ** 2 + (row - y) ** 2 <= radius**2


def _bar(angle: float, half: float, length: float) -> np.ndarray:
    """Return the cells of a bar through the middle, turned by an angle in degrees."""
    row, column = np.mgrid[:SIDE, :SIDE] - SIDE / 2 + 0.5
    cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    along, across = cosine * column + sine * row, -sine * column + cosine * row
    return (np.abs(across) <= half) & (np.abs(along) <= length)


def _picture(labels: np.ndarray) -> np.ndarray:
    """Return the colors of labels; label 0 is a white ground."""
    return np.concatenate([[WHITE], COLORS]).astype(np.uint8)[labels]


def _measured(picture: np.ndarray, piece: np.ndarray, colors: np.ndarray = COLORS, **options) -> Seen:
    """Compare a label map, of which 0 is ground outside, with a piece."""
    return seen(reference(_picture(picture), picture == 0, **options), piece, colors)


def _badge() -> np.ndarray:
    """Return a navy disc with a white ring on it and an orange middle."""
    labels = np.where(_disc(60, 60, 45), 2, 0)
    labels[_disc(60, 60, 34) & ~_disc(60, 60, 29)] = 1
    labels[_disc(60, 60, 15)] = 3
    return labels


def _with_border(labels: np.ndarray, label: int, cells: float = 5.0) -> np.ndarray:
    """Return a piece whose base, of a color of the art, reaches round it; the art by its own distance."""
    row, column = np.nonzero(labels)
    near = np.zeros(labels.shape, dtype=bool)
    reach = int(cells)
    for down in range(-reach, reach + 1):
        for across in range(-reach, reach + 1):
            if down**2 + across**2 <= cells**2:
                rows, columns = np.clip(row + down, 0, SIDE - 1), np.clip(column + across, 0, SIDE - 1)
                near[rows, columns] = True
    return np.where(labels > 0, labels, np.where(near, label, 0))


def test_a_piece_that_is_the_picture_loses_nothing() -> None:
    result = _measured(_badge(), _badge())
    assert (result.edges_kept, result.paint_right, result.lost) == (1.0, 1.0, ())


@pytest.mark.parametrize("angle", range(0, 180, 15))
def test_an_oblique_outline_with_a_border_of_its_own_color_is_kept(angle: float) -> None:
    labels = np.where(_bar(angle, 8, 40), 2, 0)
    result = _measured(labels, _with_border(labels, 2))
    assert (result.edges_kept, result.paint_right) == (1.0, 1.0)


def test_a_border_that_does_not_end_soon_loses_the_outline() -> None:
    labels = np.where(_bar(30, 8, 30), 2, 0)
    result = _measured(labels, np.full_like(labels, 2))
    assert result.edges_kept == 0.0
    assert result.paint_right == 1.0
    assert result.lost[0].colors == (WHITE, NAVY)


def test_a_lost_ring_is_found_with_its_place_size_and_colors() -> None:
    piece = np.where(_badge() == 1, 2, _badge())
    result = _measured(_badge(), piece)
    assert result.edges_kept < 0.6
    ring = next(item for item in result.lost if item.kind == "edge")
    assert ring.colors == (WHITE, NAVY)
    assert ring.size_mm == pytest.approx(68 * 0.2, abs=1.0)
    x, y = ring.at_mm
    assert np.hypot(x - 12.1, y - 12.1) == pytest.approx(31.5 * 0.2, abs=1.1)
    paint = next(item for item in result.lost if item.kind == "paint")
    assert paint.colors == (WHITE, NAVY)
    assert paint.cells == pytest.approx(np.pi * (34**2 - 29**2), rel=0.02)


def test_a_white_ear_shown_black_is_wrong_paint_with_its_edge_kept() -> None:
    labels = np.where(_disc(60, 60, 40), 3, 0)
    ear = _disc(60, 60, 12)
    picture, piece = np.where(ear, 1, labels), np.where(ear, 4, labels)
    result = _measured(picture, piece)
    assert result.edges_kept == 1.0
    assert result.paint_right == pytest.approx(1 - 11**2 / 40**2, abs=0.02)
    assert [item.colors for item in result.lost] == [(WHITE, BLACK)]


def test_an_opening_in_place_of_paint_is_seen_as_open_air() -> None:
    hole = _disc(60, 60, 12)
    picture = np.where(hole, 1, np.where(_disc(60, 60, 40), 3, 0))
    result = _measured(picture, np.where(hole, 0, picture))
    assert result.edges_kept == 1.0  # a color against open air
    assert [item.colors for item in result.lost] == [(WHITE, None)]


def test_a_transparent_opening_that_is_filled_is_a_lost_edge() -> None:
    hole = _disc(60, 60, 12)
    picture = np.where(hole, 0, np.where(_disc(60, 60, 40), 3, 0))
    clear = picture == 0
    whole = seen(reference(_picture(picture), clear, clear), picture, COLORS)
    filled = seen(reference(_picture(picture), clear, clear), np.where(hole, 3, picture), COLORS)
    assert (whole.edges_kept, whole.paint_right) == (1.0, 1.0)
    assert filled.edges_kept < 0.85
    assert filled.lost[0].colors == (ORANGE, None)


def test_the_end_of_the_picture_is_no_edge_of_its_ground() -> None:
    labels = np.where(_disc(60, 60, 40), 2, 0)
    beyond = np.ones_like(labels, dtype=bool)
    beyond[15:105, 15:105] = False
    result = seen(reference(_picture(labels), labels == 0, beyond), labels, COLORS)
    assert (result.edges_kept, result.paint_right) == (1.0, 1.0)


@pytest.mark.parametrize("shift", [(0, 1), (1, 0), (1, 1), (-1, 1)])
def test_a_shift_by_one_cell_is_no_loss(shift: tuple[int, int]) -> None:
    result = _measured(_badge(), np.roll(_badge(), shift, axis=(0, 1)))
    assert (result.edges_kept, result.paint_right) == (1.0, 1.0)


def test_a_shift_by_a_millimetre_is_a_loss() -> None:
    result = _measured(_badge(), np.roll(_badge(), 5, axis=1))
    assert result.edges_kept < 0.97
    assert result.paint_right < 0.95


@given(
    angle=st.floats(0, 180),
    half=st.floats(2, 10),
    x=st.floats(30, 90),
    y=st.floats(30, 90),
    seed=st.integers(0),
)
def test_turns_and_mirrors_change_nothing(angle: float, half: float, x: float, y: float, seed: int) -> None:
    picture = np.where(_bar(angle, half, 40), 2, 0)
    picture[_disc(x, y, 15)] = 3
    piece = _with_border(np.where(_disc(x, y, 6), 2, picture), 3)
    result = _measured(picture, piece)
    for other in (np.rot90, np.flipud, np.fliplr, np.transpose):
        same = _measured(other(picture), other(piece))
        assert same.edges_kept == pytest.approx(result.edges_kept, abs=1e-12)
        assert same.paint_right == pytest.approx(result.paint_right, abs=1e-12)


def test_mixtures_at_soft_edges_are_not_asked_for() -> None:
    fine = np.kron(_badge(), np.ones((3, 3), int))
    soft = _picture(fine[1:-2, 2:-1]).astype(float)  # cells that no edge of the piece meets squarely
    soft = soft.reshape(SIDE - 1, 3, SIDE - 1, 3, 3).mean(axis=(1, 3)).astype(np.uint8)
    piece = _badge()[:-1, :-1]
    result = seen(reference(soft, piece == 0), piece, COLORS)
    assert (result.edges_kept, result.paint_right) == (1.0, 1.0)


def test_colors_that_were_merged_are_lost() -> None:
    """The piece shows one red where the picture has a red and a darker one."""
    labels = np.where(_disc(60, 60, 40), 1, 0)
    picture = np.array([WHITE, (210, 40, 40), (90, 5, 15)], np.uint8)[np.where(_disc(60, 60, 20), 2, labels)]
    result = seen(reference(picture, labels == 0), labels, np.array([[210, 40, 40]], np.uint8))
    assert result.edges_kept < 0.75
    assert result.paint_right == pytest.approx(0.75, abs=0.01)


def test_larger_cells_count_their_own_places() -> None:
    piece = np.where(_badge() == 1, 2, _badge())
    small, large = _measured(_badge(), piece), _measured(_badge(), piece, cell_mm=0.5)
    assert large.edges_kept == small.edges_kept
    assert large.lost[0].size_mm == pytest.approx(small.lost[0].size_mm * 2.5)


def test_only_as_many_places_are_told_as_asked_for() -> None:
    labels = np.where(_disc(60, 60, 50), 2, 0)
    for x in range(30, 100, 20):
        for y in range(30, 100, 20):
            labels[_disc(x, y, 3)] = 1
    piece = np.where(labels == 1, 2, labels)
    wanted = reference(_picture(labels), labels == 0)
    assert len(seen(wanted, piece, COLORS, most_lost=3).lost) == 6
    shares = seen(wanted, piece, COLORS, most_lost=0)
    assert shares.lost == ()
    assert shares.edges_kept == seen(wanted, piece, COLORS).edges_kept < 0.7
