"""The set of sheets: a page for each child, no name outside it, and names as large as their line takes."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from reliefsmith.classes.sheetset import PAGE, REPORT, write_sheets
from reliefsmith.errors import OutputError, RecipeError
from reliefsmith.formats.claims import Claim

LINE_MM = 100.0
LARGEST_MM, SMALLEST_MM = 6.0, 3.2


def _sizes(folder: Path, *names: str) -> list[float]:
    write_sheets(enumerate(names, 1), str(folder), Claim())
    page = (folder / PAGE).read_text(encoding="utf-8")
    return [
        float(re.search(rf'<text[^>]*font-size="([\d.]+)"[^>]*>{name}</text>', page).group(1))
        for name in names
    ]


def _ems(name: str) -> float:
    """How long a name is in sizes of its letters, by the font's own table of advances, without kerning."""
    font = TTFont(str(files("reliefsmith_data") / "fonts" / "Lato-Bold.ttf"))
    cmap, widths = font.getBestCmap(), font["hmtx"].metrics
    return sum(widths[cmap[ord(char)]][0] for char in name) / font["head"].unitsPerEm


def test_the_report_holds_numbers_and_no_names(tmp_path: Path) -> None:
    report = write_sheets([(3, "Mirabel"), (7, "Tobin")], str(tmp_path / "out"), Claim())
    text = (tmp_path / "out" / REPORT).read_text(encoding="utf-8")
    assert json.loads(text)["rows"] == report["rows"] == [3, 7]
    assert "Mirabel" not in text
    page = (tmp_path / "out" / PAGE).read_text(encoding="utf-8")
    assert re.findall(r'aria-label="Sheet (\d+)"', page) == ["3", "7"]
    assert page.index("Mirabel") < page.index("Tobin")


def test_a_long_name_is_set_smaller_and_fits_its_line_with_room_to_spare(tmp_path: Path) -> None:
    short, long = "Mo", "Mirabel Larkwater Reed of Kitefield"
    small, shrunk = _sizes(tmp_path / "out", short, long)
    assert small == LARGEST_MM
    assert SMALLEST_MM <= shrunk < LARGEST_MM
    assert LINE_MM * 0.8 < shrunk * _ems(long) < LINE_MM * 0.92


def test_a_name_too_long_for_its_line_is_refused_unquoted_and_nothing_is_written(tmp_path: Path) -> None:
    names = [(1, "Mo"), (4, "W" * 40)]
    assert _ems("W" * 40) * SMALLEST_MM > LINE_MM
    with pytest.raises(RecipeError, match=r"^row 4: .*100 mm") as caught:
        write_sheets(names, str(tmp_path / "out"), Claim())
    assert "WW" not in str(caught.value)
    assert not (tmp_path / "out").exists()


def test_a_child_without_a_name_has_a_sheet(tmp_path: Path) -> None:
    write_sheets([(1, "")], str(tmp_path / "out"), Claim())
    assert 'aria-label="Sheet 1"' in (tmp_path / "out" / PAGE).read_text(encoding="utf-8")


def test_files_of_others_are_replaced_only_where_that_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / PAGE).write_text("mine")
    with pytest.raises(OutputError):
        write_sheets([(1, "Mo")], str(tmp_path), Claim())
    assert (tmp_path / PAGE).read_text() == "mine"
    write_sheets([(1, "Mo")], str(tmp_path), Claim(replace=True))
    assert "Mo" in (tmp_path / PAGE).read_text(encoding="utf-8")
