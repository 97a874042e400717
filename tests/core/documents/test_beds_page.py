"""The page of beds: sums, rows and changes as a hand adds them from the report."""

from __future__ import annotations

from typing import Any

import pytest

from reliefsmith.documents.beds_page import WHAT, beds_html
from reliefsmith.findings import finding

from .pages import Page

MAPS = {"bed-01.png": b"one", "bed-02.png": b"two"}


def _bed(number: int, what: str, rows: str, **more: Any) -> dict[str, Any]:
    begins = [
        {"print": 1, "layer": 1, "z_mm": 0.0, "color": "#14213d"},
        {"print": 1, "layer": 11, "z_mm": 2.0, "color": "#d32020"},
    ]
    bed = {
        "number": number,
        "what": what,
        "file": f"bed-0{number}.3mf",
        "map": f"bed-0{number}.png",
        "pieces": [{"row": row} for row in rows.split()],
        "changes": 1,
        "between": 1,
        "begins": begins,
        "time_min": 50.0,
        "attended_min": 3.0,
        "mass_g": 12.25,
    }
    return bed | more


def _page(*beds: dict[str, Any], findings: tuple[str, ...] = (), cautions: tuple[str, ...] = ()) -> Page:
    report = {
        "beds": list(beds),
        "bed_mm": [200, 210.5],
        "spacing_mm": 5,
        "warm_up_min": 4.0,
        "findings": [{"code": "bed-too-small", "message": message} for message in findings],
        "cautions": list(cautions),
    }
    return Page(beds_html(report, MAPS))


def test_totals_are_the_sums_of_the_beds() -> None:
    """Two beds of 50 minutes and 4 to warm up: 1 h 48 min; 12.25 g each; 1 + 3 changes."""
    text = _page(_bed(1, "first", "1"), _bed(2, "rest", "1 1 2", changes=3, attended_min=9.0)).text()
    for words in (
        "4 pieces on 2 beds",
        "200 × 210.5 mm",
        "1 h 48 min",
        "12 min",
        "Color changes 4",
        "24.5 g",
    ):
        assert words in text


def test_rows_are_counted_and_cut_pieces_are_pieces_once() -> None:
    cut = _bed(1, "rest", "", pieces=[{"row": "1", "what": "part-1"}, {"row": "1", "what": "part-2"}])
    text = _page(cut, _bed(2, "again", "7 7 9")).text()
    assert "4 pieces on 2 beds" in text
    assert "1 part-1, 1 part-2" in text
    assert "7 (2 times), 9" in text


@pytest.mark.parametrize("what", WHAT)
def test_what_a_bed_is_for_is_said(what: str) -> None:
    text = _page(_bed(1, what, "1")).text()
    assert [words for words in WHAT.values() if words and words in text] == (
        [WHAT[what]] if WHAT[what] else []
    )


def test_filament_is_loaded_first_and_changed_at_layers() -> None:
    again = [{"print": 2, "layer": 3, "z_mm": 0.6, "color": "#d32020"}]
    page = _page(
        _bed(1, "rest", "1"), _bed(2, "rest", "2", begins=_bed(1, "rest", "1")["begins"][:1] + again)
    )
    text = page.text()
    assert "Layer 11 (2.00 mm): red" in text
    assert "Layer 3 (0.60 mm, print 2): red" in text
    assert text.count("before the start") == 2
    assert "within a layer" not in text
    assert "3 of 4 changes are within a layer" in _page(_bed(1, "rest", "1", changes=4)).text()


def test_each_bed_has_its_map_and_a_link_to_it() -> None:
    page = _page(_bed(1, "first", "1"), _bed(2, "rest", "2"))
    names = {item["id"] for _, item in page.elements if "id" in item}
    links = [item["href"] for item in page.all("a")]
    assert links == ["#bed-1", "#bed-2"]
    assert {link[1:] for link in links} <= names
    assert len({item["src"] for item in page.all("img")}) == 2


def test_what_was_not_laid_and_cautions_are_listed() -> None:
    left, mind = finding("bed-too-small", "Row 3 <is> large.").message, "Row 1: A tip is sharp."
    text = _page(_bed(1, "rest", "1"), findings=(left,), cautions=(mind,)).text()
    assert "Not laid" in text
    assert left in text
    assert mind in text
    assert "Not laid" not in _page(_bed(1, "rest", "1")).text()
    assert "0 pieces on 0 beds" in _page(findings=(left,)).text()


def test_the_example_of_making_again_names_a_row_that_is_there() -> None:
    assert "--again 17" in _page(_bed(1, "rest", "17 18")).text()
