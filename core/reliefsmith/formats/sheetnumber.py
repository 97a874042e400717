"""The number of a class's sheet as dark and light cells: 12 bits of number and 12 check bits.

These are the words of the extended binary Golay code (M. J. E. Golay, "Notes on digital coding", Proceedings
of the IRE 37 (1949) 657; from memory): any two differ in eight cells or more, so up to seven misread ones are
found out; nothing is ever corrected. A column of dark cells and one of light ones stand at the ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

__all__ = ["COLUMNS", "MOST_DOUBTS", "MOST_NUMBER", "ROWS", "cells_of", "number_of"]

ROWS, COLUMNS = 2, 14
"""Of cells, the ends included."""
MOST_NUMBER = 2**12 - 2
"""Neither all cells light nor all dark is a number: those are blank paper, and a shadow or a thumb."""
MOST_DOUBTS = 3
"""Cells in doubt: words differ in eight, so the others still differ in five."""
_BITS = 12  # of the number, and as many to check it
_GENERATOR = 0b110001110101
"""x^11 + x^10 + x^6 + x^5 + x^4 + x^2 + 1, which divides x^23 + 1."""


def cells_of(number: int) -> tuple[tuple[bool, ...], ...]:
    """Return which cells are dark, by rows, for a number of 1 to `MOST_NUMBER`.

    Examples
    --------
    >>> for row in cells_of(3):
    ...     print("".join("#" if dark else "-" for dark in row))
    #-----#--#----
    #-----#-#####-
    """
    if not 1 <= number <= MOST_NUMBER:
        raise ValueError(f"a sheet's number is 1 to {MOST_NUMBER}, got {number}")
    word = _word(number)
    bits = [bool(word >> (2 * _BITS - 1 - at) & 1) for at in range(2 * _BITS)]
    return tuple((True, *bits[row::ROWS], False) for row in range(ROWS))


def number_of(cells: Sequence[Sequence[bool | None]]) -> int | None:
    """Return the number of cells, by rows; None where they are none.

    Up to `MOST_DOUBTS` of them may be in doubt (None): the others still differ in five cells or more from
    those of any other number, so four that are misread are found out.

    Examples
    --------
    >>> number_of(cells_of(3)), number_of([[False] * COLUMNS] * ROWS)
    (3, None)
    >>> number_of([[None, *cells_of(3)[0][1:]], cells_of(3)[1]])
    3
    """
    places = product(range(ROWS), range(COLUMNS))
    doubts = [(row, column) for row, column in places if cells[row][column] is None]
    if len(doubts) > MOST_DOUBTS:
        return None
    for filled in product((False, True), repeat=len(doubts)):  # at most one of these can be a number
        whole = [[bool(cell) for cell in row] for row in cells]
        for (row, column), dark in zip(doubts, filled, strict=True):
            whole[row][column] = dark
        if (number := _number(whole)) is not None:
            return number
    return None


def _number(cells: Sequence[Sequence[bool]]) -> int | None:
    if not all(row[0] and not row[-1] for row in cells):
        return None
    bits = [cells[at % ROWS][1 + at // ROWS] for at in range(2 * _BITS)]
    number = int("".join("1" if bit else "0" for bit in bits[:_BITS]), 2)
    known = 1 <= number <= MOST_NUMBER and tuple(map(tuple, cells)) == cells_of(number)
    return number if known else None


def _word(number: int) -> int:
    """Return the number, the rest of its division by the generator, and the parity of both."""
    rest = number << 11
    for at in range(22, 10, -1):
        if rest >> at & 1:
            rest ^= _GENERATOR << (at - 11)
    word = number << 11 | rest
    return word << 1 | word.bit_count() & 1
