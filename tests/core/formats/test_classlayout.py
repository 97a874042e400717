"""The layout of a class's sheet: all of it fits on both papers, and nothing overlaps."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.formats.classlayout import (
    CELL_MM,
    CELLS_AT,
    CROP_MM,
    FIELD,
    FRAME_MM,
    LINE_MM,
    MARK_MM,
    MARKS,
    NAME_MM,
    RINGS_MM,
    RULER,
    cell_at,
)
from reliefsmith.formats.sheetnumber import COLUMNS, ROWS


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


def test_marks_stand_in_the_corners_clockwise_and_a_turned_sheet_has_them_there_too() -> None:
    """Turned by half a turn every mark lies on another one, so the number tells which way is up."""
    assert MARKS[0] == (0, 0)
    middles = np.array(MARKS) + MARK_MM / 2 - np.array(FRAME_MM) / 2
    assert np.array_equal(-middles, np.roll(middles, 2, axis=0))
    x, y = middles.T
    assert (x * np.roll(y, -1) - y * np.roll(x, -1) > 0).all()  # clockwise, as y points down


def test_the_field_and_the_ruler_are_in_the_middle_and_the_ruler_is_100_mm_long() -> None:
    assert FIELD[0] + FIELD[2] == RULER[0] + RULER[2] == FRAME_MM[0]
    assert RULER[2] - RULER[0] == 100
    assert FIELD[3] < RULER[1] < CELLS_AT[1]
    assert FRAME_MM[0] - 2 * MARK_MM > NAME_MM


def test_a_drawing_is_cut_out_within_its_line() -> None:
    """The line reaches 0.3 mm inwards of its middle; a fold or a blur of 0.56 mm more is still left out."""
    assert LINE_MM / 2 + 0.56 < CROP_MM


@pytest.mark.parametrize(("row", "column"), [(-1, 0), (ROWS, 0), (0, -1), (0, COLUMNS)])
def test_there_is_no_cell_beside_the_number(row: int, column: int) -> None:
    assert cell_at(ROWS - 1, COLUMNS - 1) > cell_at(0, 0)
    with pytest.raises(ValueError, match=f"no cell in row {row}, column {column}"):
        cell_at(row, column)


def test_the_number_stands_between_the_lower_marks_as_high_as_they_are() -> None:
    assert cell_at(0, 0)[1] == MARKS[2][1]
    assert cell_at(ROWS - 1, 0)[1] + CELL_MM == MARKS[2][1] + MARK_MM
    assert cell_at(0, 0)[0] > MARK_MM
    assert cell_at(0, COLUMNS - 1)[0] + CELL_MM < MARKS[2][0]
