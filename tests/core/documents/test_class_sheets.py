"""Sheets to draw on: their marks, cells and ruler in millimetres, as readers of them measure."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely

from reliefsmith.documents.class_sheets import NAME_SIZES_MM, Child, sheet_svg, sheets_html
from reliefsmith.formats import classlayout as layout
from reliefsmith.formats.sheetnumber import MOST_NUMBER, number_of

from .pages import Page


def _rects(number: int = 7) -> list[tuple[shapely.Polygon, dict[str, str | None]]]:
    page = Page(sheet_svg(Child(number)).encode())
    found = []
    for item in page.all("rect"):
        x, y, wide, high = (float(item[key] or "") for key in ("x", "y", "width", "height"))
        found.append((shapely.box(x, y, x + wide, y + high), item))
    return found


@pytest.mark.parametrize("corner", layout.MARKS)
def test_a_line_across_a_mark_meets_dark_and_light_as_1_2_2_2_1(corner: tuple[float, float]) -> None:
    """Drawn in order, each over the one before; sampled every tenth of a millimetre."""
    y, rects = corner[1] + layout.MARK_MM / 2, _rects()
    shades = []
    for step in range(round(layout.MARK_MM * 10)):
        at = shapely.Point(corner[0] + step / 10 + 0.05, y)
        fills = [item["fill"] for shape, item in rects if shape.contains(at) and item["fill"] != "none"]
        shades.append(fills[-1] == "#000000")
    lengths, start = [], 0
    for at in range(1, len(shades) + 1):
        if at == len(shades) or shades[at] != shades[start]:
            lengths.append((at - start) / 10)
            start = at
    unit = layout.MARK_MM / 8
    assert lengths == pytest.approx([unit, 2 * unit, 2 * unit, 2 * unit, unit])


@pytest.mark.parametrize("number", [1, 77, 2048, MOST_NUMBER])
def test_the_cells_say_the_number(number: int) -> None:
    cells, rects = [[False] * 14 for _ in range(2)], _rects(number)
    for row in range(2):
        for column in range(14):
            x, y = layout.cell_at(row, column)
            middle = shapely.Point(x + layout.CELL_MM / 2, y + layout.CELL_MM / 2)
            (fill,) = [item["fill"] for shape, item in rects if shape.contains(middle)]
            cells[row][column] = fill != "none"
    assert number_of(cells) == number


def test_the_ruler_is_ten_times_ten_millimetres() -> None:
    lines = Page(sheet_svg(Child(1)).encode()).all("line")
    ends = [tuple(float(item[key] or "") for key in ("x1", "y1", "x2", "y2")) for item in lines]
    ticks = sorted(x1 for x1, y1, x2, y2 in ends if x1 == x2 and y2 == layout.RULER[1])
    assert [b - a for a, b in pairwise(ticks)] == pytest.approx([10.0] * 10)
    assert ticks[-1] - ticks[0] == 100


def test_nothing_but_the_line_lies_in_the_field() -> None:
    left, top, right, low = layout.FIELD
    inside = shapely.box(left + 1, top + 1, right - 1, low - 1)
    outside = [shape for shape, _ in _rects() if not shape.contains(inside)]
    assert len(_rects()) == len(outside) + 1
    assert not any(shape.intersects(inside) for shape in outside)


@pytest.mark.parametrize(("size", "is_held"), [(NAME_SIZES_MM[0], False), (4.0, True)])
def test_a_name_that_was_made_smaller_is_held_to_its_line(size: float, is_held: bool) -> None:
    page = Page(sheet_svg(Child(3, "Mirabel <Tobin>", size)).encode())
    assert "Mirabel <Tobin>" in page.text()
    held = [item for item in page.all("text") if "textlength" in item]
    assert len(held) == is_held
    assert all(float(item["textlength"] or "") < layout.NAME_MM for item in held)


def test_digits_keep_off_the_mark_however_many_there_are() -> None:
    for number in (7, 77, 777, MOST_NUMBER):
        digits = next(
            item for item in Page(sheet_svg(Child(number)).encode()).all("text") if item["x"] == "138"
        )
        wide = (
            0.62 * float(digits["font-size"] or "") * len(str(number))
        )  # of the widest digits of bold faces
        assert 138 + wide < layout.MARKS[2][0]


def test_each_child_has_a_page() -> None:
    page = Page(sheets_html([Child(1, "Mo"), Child(4094)]))
    assert [item["aria-label"] for item in page.all("svg")] == ["Sheet 1", "Sheet 4094"]
    assert "2 sheets to draw on" in page.text()
