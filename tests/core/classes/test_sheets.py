"""Sheets to draw on: a page for each child, true to size, names on it only; bad lists are one sentence."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from classphotos import printed_page
from reliefsmith.command.cli import run
from reliefsmith.formats.classlayout import FRAME_MM, MARK_MM, RULER
from sheetphotos import PAGES_MM

MIRABEL = "Mirabel Tobin"


def _written(folder: Path, *words: str) -> str:
    assert run(["class", *words, "-o", str(folder / "sheets"), "--quiet"]) == 0
    return (folder / "sheets" / "sheets.html").read_text(encoding="utf-8")


def test_each_child_has_a_page_with_name_and_number(tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "names.csv").write_text("name,copies\nMirabel Tobin,2\n,1\nZoë & <b>\n", encoding="utf-8")
    page = _written(tmp_path, str(tmp_path / "names.csv"))
    assert page.count("<svg ") == 3
    assert "Sheet 3" in page
    assert MIRABEL in page
    assert "Zoë &amp; &lt;b&gt;" in page
    assert MIRABEL not in (tmp_path / "sheets" / "sheets-report.json").read_text()
    assert not any(MIRABEL.split(maxsplit=1)[0] in path.name for path in tmp_path.rglob("*"))
    assert MIRABEL not in "".join(capsys.readouterr())


def test_a_number_in_place_of_a_list_gives_so_many_sheets(tmp_path: Path) -> None:
    page = _written(tmp_path, "12")
    assert re.findall(r'aria-label="Sheet (\d+)"', page) == [str(number) for number in range(1, 13)]


def test_pages_are_drawn_in_millimetres(tmp_path: Path) -> None:
    page = _written(tmp_path, "1")
    assert f'width="{FRAME_MM[0]:g}mm"' in page
    assert f'height="{FRAME_MM[1]:g}mm"' in page
    assert f'viewBox="0 0 {FRAME_MM[0]:g} {FRAME_MM[1]:g}"' in page
    assert "@page { margin: 14mm; }" in page
    assert RULER[2] - RULER[0] == 100
    assert f"{MARK_MM:g}" in page


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name\n", "has a header and no rows"),
        ("", "has no column name"),
        ("Mirabel\nTobi\n", "has no column name; write the names of the columns above its rows"),
        ("name\n" + "Ada\n" * 10_000, "row 4095 (line 4096): a sheet's number is at most 4094; make two"),
        ("name\nMira\x07bel\n", "row 1 (line 2), column name: it holds a control character; type"),
        ("name\n" + "Mirabel " * 12 + "\n", "row 1: the name is too long for its line of 100 mm; shorten it"),
        ("name,copies\nAda,0\n", "row 1 (line 2), column copies: order.quantity must be between 1"),
        ("name,row\nAda,2\nBo,2\n", "column row: another row has the number 2; give each its own"),
    ],
    ids=range(8),
)  # fmt: skip
def test_a_bad_list_is_one_sentence(tmp_path: Path, capsys: Any, text: str, words: str) -> None:
    (tmp_path / "names.csv").write_text(text, encoding="utf-8")
    assert run(["class", str(tmp_path / "names.csv"), "-o", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert words in told
    assert told.count("\n") == 1
    assert "Mira" not in told
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("count", "words"), [("0", "1 to 4094 sheets"), ("9999", "1 to 4094"), ("x", "no list at")]
)
def test_a_count_that_is_none_is_refused(tmp_path: Path, capsys: Any, count: str, words: str) -> None:
    assert run(["class", count, "-o", str(tmp_path / "out")]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("number", [1, 2048, 4094])
def test_code_readers_take_nothing_on_the_sheet_for_their_own(number: int) -> None:
    page = cv2.cvtColor(np.asarray(printed_page(PAGES_MM["A4"], number)), cv2.COLOR_RGB2GRAY)
    for scale in (1.0, 0.5):
        small = cv2.resize(page, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        assert cv2.QRCodeDetector().detectAndDecodeMulti(small)[1] in ((), ("",))
        assert not any(cv2.barcode.BarcodeDetector().detectAndDecodeMulti(small)[1])
        for name in (
            "DICT_4X4_1000",
            "DICT_5X5_1000",
            "DICT_6X6_1000",
            "DICT_7X7_1000",
            "DICT_APRILTAG_36H11",
        ):
            known = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, name))
            assert cv2.aruco.ArucoDetector(known).detectMarkers(small)[1] is None
