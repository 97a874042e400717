"""Numbers of sheets as cells: any two differ in eight cells, and what is in doubt is never guessed."""

from __future__ import annotations

import numpy as np
import pytest

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
