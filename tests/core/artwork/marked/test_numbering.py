"""Numbers of sheets drawn flat: read whatever the light, and not where cells or marks are in doubt."""

from __future__ import annotations

import numpy as np
import pytest

from classphotos import rough_photo
from reliefsmith.artwork.marked.numbering import marks_seen, read_number
from reliefsmith.formats.classlayout import CELL_MM, MARK_MM, MARKS, cell_at
from reliefsmith.formats.sheetnumber import MOST_DOUBTS

from .flat import MARGIN_MM, drawn, lying, true

SHEET = drawn()


def test_a_wrong_number_is_never_read_of_a_bad_photograph() -> None:
    """`tests/deep/test_class_photographs.py` does the same 10,000 times."""
    right = 0
    for seed in range(100):
        grey, place, number = rough_photo(np.random.default_rng([3, seed]))
        ink = marks_seen(grey, place)
        if ink is not None:
            found, why = read_number(grey, place, ink)
            assert found in (number, None)
            assert bool(why) == (found is None)
            right += found == number
    assert right > 20


def painted(grey: np.ndarray, box: tuple[float, float, float, float], level: int) -> np.ndarray:
    """Return a sheet with a box in mm of one brightness."""
    (left, top), (right, low) = (np.rint(true(np.array(end))).astype(int) for end in (box[:2], box[2:]))
    changed = grey.copy()
    changed[top:low, left:right] = level
    return changed


@pytest.mark.parametrize(("ink", "paper"), [(40, 240), (0, 255), (20, 120), (120, 220)])
@pytest.mark.parametrize("number", [1, 300, 1023])
def test_a_flat_sheet_is_read_whatever_its_ink_and_paper(ink: int, paper: int, number: int) -> None:
    grey = drawn(number, ink=ink, paper=paper)
    seen = marks_seen(grey, lying(grey))
    assert seen == pytest.approx(ink / paper, abs=0.01)
    assert read_number(grey, lying(grey), seen) == (number, "")


def test_light_that_falls_off_over_the_cells_changes_nothing() -> None:
    """From bright to a third, and over the height: each cell is held against the paper above and below it."""
    rows, columns = (np.linspace(0, 1, side) for side in SHEET.shape)
    grey = (SHEET * (1 - 0.5 * columns) * (1 - 0.3 * rows[:, None])).astype(np.uint8)
    assert read_number(grey, lying(grey), 40 / 240) == (77, "")


@pytest.mark.parametrize(("hidden", "seen"), [(0, True), (1, True), (2, False)])
def test_one_of_the_marks_may_be_hidden(hidden: int, seen: bool) -> None:
    grey = SHEET
    for x, y in MARKS[:hidden]:
        grey = painted(grey, (x, y, x + MARK_MM, y + MARK_MM), 200)
    assert (marks_seen(grey, lying(grey)) is not None) is seen


def test_ink_that_is_nearly_as_bright_as_paper_is_none_and_neither_is_dark() -> None:
    for ink, seen in ((150, True), (162, False)):  # .65 of 240 is 156
        grey = drawn(ink=ink)
        assert (marks_seen(grey, lying(grey)) is not None) is seen
    black = np.zeros_like(SHEET)
    assert marks_seen(black, lying(black)) is None


def test_a_shadow_that_grows_over_the_cells_changes_nothing() -> None:
    """8 % darker with every millimetre down: by the paper above alone, paper between would be in doubt."""
    y = np.arange(len(SHEET)) / 3 - MARGIN_MM
    grey = (SHEET * np.exp(-0.08 * np.maximum(y - 231, 0))[:, None]).astype(np.uint8)
    assert read_number(grey, lying(grey), 40 / 240) == (77, "")


@pytest.mark.parametrize(("wide", "seen"), [(1.5, True), (8.0, False)])
def test_a_stroke_may_cross_a_mark_but_not_hide_its_light_ring(wide: float, seen: bool) -> None:
    """Across two marks: it hides a twelfth of the light ring's places, or half of them."""
    grey = SHEET
    for x, y in MARKS[:2]:
        grey = painted(grey, (x, y + 8 - wide / 2, x + MARK_MM, y + 8 + wide / 2), 40)
    assert (marks_seen(grey, lying(grey)) is not None) is seen


def test_cells_in_doubt_are_let_pass_to_a_limit_and_misread_ones_are_found_out() -> None:
    grey = SHEET
    for number in range(MOST_DOUBTS + 1):
        x, y = cell_at(0, number)
        grey = painted(grey, (x, y, x + CELL_MM, y + CELL_MM), 140)  # half way from ink to paper
        found, why = read_number(grey, lying(grey), 40 / 240)
        assert found == (77 if number < MOST_DOUBTS else None)
    assert why == "too many cells of its number are neither dark nor light"
    x, y = cell_at(1, 5)
    bright = SHEET[tuple(np.rint(true(np.array([x + 3, y + 3]))).astype(int)[::-1])] > 100
    wrong = painted(SHEET, (x, y, x + CELL_MM, y + CELL_MM), 40 if bright else 240)
    assert read_number(wrong, lying(wrong), 40 / 240) == (
        None, "the cells of its number do not agree with each other"
    )  # fmt: skip


@pytest.mark.parametrize(("darkness", "number"), [(0.34, 77), (0.38, None), (0.62, None), (0.66, 77)])
def test_a_cell_is_dark_or_light_by_two_lines_and_between_them_neither(
    darkness: float, number: int | None
) -> None:
    """All light cells a little darker, or all dark ones a little lighter: more than may be in doubt."""
    level = round(240 - darkness * 200)
    grey = SHEET.copy()
    cells = np.s_[round(true(np.array(cell_at(0, 0)))[1]) - 2 :]
    part = grey[cells]
    if darkness > 0.5:
        part[part < 100] = level
    else:
        for row in range(2):
            for column in range(14):
                x, y = cell_at(row, column)
                inner = painted(grey, (x, y, x + CELL_MM, y + CELL_MM), level)
                place = true(np.array([x + 3, y + 3])).astype(int)
                if grey[place[1], place[0]] > 100:
                    grey = inner
    assert read_number(grey, lying(grey), 40 / 240)[0] == number
