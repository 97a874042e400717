"""Findings and changes: listed, marked at their places, the largest of a kind with letters, more counted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.found import MOST_CHANGES, MOST_FINDINGS, found_section, letter
from reliefsmith.documents.views import front_face
from reliefsmith.findings import CODES, finding, note
from reliefsmith.model import Inspection
from reliefsmith.model.areas import NumberedArea
from reliefsmith.model.fidelity import Fidelity, Missed

from ..pages import Page


def _page(job, *, notes=(), findings=(), **more) -> Page:
    plan = replace(job.plan, notes=tuple(notes), findings=())
    inspection = Inspection(tuple(findings), job.inspection.estimate)
    result = replace(job, plan=plan, inspection=inspection, **more)
    return Page(found_section(result, front_face(job.stack), legend(job)).encode())


def _marks(page: Page) -> list[str]:
    return [data for tag, data in page.texts if tag == "text"]


def test_letters_count_on_after_z() -> None:
    names = [letter(order) for order in range(26 + 26 * 26 + 1)]
    assert len(set(names)) == len(names)
    assert (names[25], names[26], names[26 + 26 * 26 - 1], names[-1]) == ("z", "aa", "zz", "aaa")
    assert [len(name) for name in names] == sorted(len(name) for name in names)


def test_findings_have_numbers_and_changes_letters_where_they_have_places(job) -> None:
    findings = [finding("sharp-tip", "A <tip>.", (1.0, 2.0, 0.0)), finding("hole-missing", "None.")]
    notes = [note("gap-closed", "A gap.", (3.0, 4.0), 0.5), note("link-added", "A link.")]
    page = _page(job, notes=notes, findings=findings)
    assert _marks(page) == ["1", "a"]
    text = page.text()
    assert "A <tip>. at 1.0, 2.0 mm" in text
    assert "A gap. at 3.0, 4.0 mm" in text
    assert "2 changes made to the drawing" in text
    assert not page.all("details")  # each is told already
    assert "Round marks with numbers are findings. Square marks with letters are changes." in text


def test_of_a_kind_the_largest_have_letters_and_the_others_dots(job) -> None:
    notes = [note("gap-closed", f"gap {n}", (float(n), 0.0), 0.1 * n) for n in range(1, 8)]
    page = _page(job, notes=notes)
    assert _marks(page) == ["a"] * 3
    assert len(page.all("circle")) == 7  # a place for each letter, and four dots
    text = page.text()
    assert f"{CODES['gap-closed'].meaning} 7 places, the largest 0.70 mm" in text
    assert "Dots are smaller changes" in text
    items = [data.strip() for tag, data in page.texts if tag == "li" and data.startswith("gap")]
    assert items == [f"gap {n}" for n in range(7, 0, -1)]
    assert "All 7 changes, one by one" in text


@pytest.mark.parametrize("more", [0, 1, 9])
def test_what_is_too_much_is_counted(job, more: int) -> None:
    findings = [finding("sharp-tip", f"Tip {n}.") for n in range(MOST_FINDINGS + more)]
    notes = [note("gap-closed", f"gap {n}", None, 0.1) for n in range(MOST_CHANGES + more)]
    text = _page(job, findings=findings).text()
    assert ("more in the report" in text) == (more > 0)
    assert text.count("Tip ") == MOST_FINDINGS
    changes = _page(job, notes=notes).text()
    assert (f"{more} more in the report." in changes) == (more > 0)


def test_without_either_that_is_said(job) -> None:
    text = _page(job).text()
    for words in (
        "Nothing found that stands against printing.",
        "printed as it came.",
        "The piece as it will be",
    ):
        assert words in text


def test_what_of_the_picture_shows_is_told_with_what_is_lost(job) -> None:
    lost = (Missed("a white line", (1.0, -2.0), 3.25, "Take another base."), Missed("a dot", (0.0, 0.0), 1.0))
    text = _page(job, fidelity=Fidelity(0.9876, 1.0, lost)).text()
    assert "98.8 % of its edges show, and 100.0 % of its area" in text
    assert "a white line, 3.2 mm at 1.0, -2.0 mm . Take another base." in text
    assert "What does not show" not in _page(job, fidelity=Fidelity(1.0, 1.0)).text()
    assert "The picture on the piece" not in _page(job).text()


def test_areas_by_number_are_there_to_open(job) -> None:
    areas = replace(job.areas, numbered=(NumberedArea((211, 32, 32), (0.0, 0.0), 3.0, 50.0),))
    page = _page(job, areas=areas)
    assert "The artwork by number: 1 area" in page.text()
    assert len(page.all("details")) == 1
    assert not _page(job).all("details")
