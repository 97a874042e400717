"""Numbers of sheets as cells: any two differ in eight cells, and what is in doubt is never guessed."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.formats.classlayout import (
    CELL_MM,
    CELLS_AT,
    FIELD,
    FRAME_MM,
    MARK_MM,
    MARKS,
    RINGS_MM,
    cell_at,
)
from reliefsmith.formats.sheetnumber import COLUMNS, MOST_DOUBTS, MOST_NUMBER, ROWS, cells_of, number_of


def _words() -> np.ndarray:
    return np.array([np.array(cells_of(number)).ravel() for number in range(1, MOST_NUMBER + 1)])


def test_any_two_numbers_differ_in_eight_cells_and_so_does_blank_or_black_paper() -> None:
    """The least distance of the extended Golay code is 8 (from memory)."""
    words = _words()
    packed = np.packbits(words, axis=1)
    bits = np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1).sum(axis=1)
    least = min(int(bits[packed[at] ^ packed[at + 1 :]].sum(axis=1).min()) for at in range(len(packed) - 1))
    assert least == 8
    coded = words.reshape(-1, ROWS, COLUMNS)[:, :, 1:-1]
    assert coded.sum(axis=(1, 2)).min() >= 8
    assert (~coded).sum(axis=(1, 2)).min() >= 8


def test_every_number_comes_back_and_fewer_than_eight_misread_cells_are_found_out() -> None:
    lot = np.random.default_rng(5)
    for number in lot.choice(np.arange(1, MOST_NUMBER + 1), 300, replace=False):
        cells = np.array(cells_of(int(number)))
        assert number_of(cells.tolist()) == number
        for wrong in range(1, 8):
            at = lot.choice(cells.size, wrong, replace=False)
            misread = cells.copy()
            misread.ravel()[at] ^= True
            assert number_of(misread.tolist()) is None


@pytest.mark.parametrize("doubts", range(MOST_DOUBTS + 2))
def test_some_cells_may_be_in_doubt_and_four_others_misread_are_still_found_out(doubts: int) -> None:
    lot = np.random.default_rng(doubts)
    for number in lot.integers(1, MOST_NUMBER + 1, 60):
        cells = np.array(cells_of(int(number)), dtype=object)
        at = lot.choice(cells.size, doubts + 4, replace=False)
        cells.ravel()[at[:doubts]] = None
        assert number_of(cells.tolist()) == (number if doubts <= MOST_DOUBTS else None)
        cells.ravel()[at[doubts:]] = [not cell for cell in cells.ravel()[at[doubts:]]]
        assert number_of(cells.tolist()) is None


@pytest.mark.parametrize("number", [0, -1, MOST_NUMBER + 1])
def test_what_is_no_number_has_no_cells(number: int) -> None:
    with pytest.raises(ValueError, match=f"1 to {MOST_NUMBER}"):
        cells_of(number)


def test_nothing_of_the_sheet_overlaps_and_all_of_it_fits_on_both_papers() -> None:
    """A4 is 210 x 297 mm (ISO 216), letter 215.9 x 279.4 mm (ANSI/ASME Y14.1 A)."""
    width, height = FRAME_MM
    assert width + 28 <= 210
    assert height + 28 <= 279.4
    boxes = [(x, y, x + MARK_MM, y + MARK_MM) for x, y in MARKS]
    boxes += [
        (*cell_at(row, column), *(side + CELL_MM for side in cell_at(row, column)))
        for row in range(ROWS)
        for column in range(COLUMNS)
    ]
    boxes.append(FIELD)
    for one, (left, top, right, low) in enumerate(boxes):
        assert 0 <= left < right <= width
        assert 0 <= top < low <= height
        for other_left, other_top, other_right, other_low in boxes[one + 1 :]:
            apart = max(other_left - right, left - other_right, other_top - low, top - other_low)
            assert apart >= 2
    assert cell_at(0, 0) == CELLS_AT


def test_a_line_across_a_mark_has_the_ratio_of_no_code() -> None:
    """Finders have 1 : 1 : 3 : 1 : 1 (ISO/IEC 18004) or all alike (ISO/IEC 24778); both from memory."""
    ring, gap = RINGS_MM[1] - RINGS_MM[0], RINGS_MM[2] - RINGS_MM[1]
    widths = np.array([ring, gap, MARK_MM - 2 * (ring + gap), gap, ring])
    assert (widths / ring).tolist() == [1, 2, 2, 2, 1]
