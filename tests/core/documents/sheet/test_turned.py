"""Pieces that are printed otherwise than seen: which plate, which print, in which order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reliefsmith.documents.html import join
from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.turned import (
    jobs_block,
    joining_items,
    lying_rows,
    plate_entries,
    prints_words,
)
from reliefsmith.findings import finding

from ..pages import Page

BESIDE = {"back_at_mm": (60.0, 0.0), "jobs": (("base",), ("red", "yellow"))}
IN_TURN = {"jobs": (("red",), ("yellow",), ("base",))}


def _stacked(job, said: dict, **recipe):
    return replace(job, stack=replace(job.stack, **said), recipe=job.recipe.with_values(recipe))


def test_parts_of_the_last_print_are_the_back_plate(job) -> None:
    entries = legend(job)
    front, back = plate_entries(_stacked(job, BESIDE), entries)
    assert [entry.name for entry in front] == ["base"]
    assert [entry.name for entry in back] == ["red", "yellow"]
    assert plate_entries(job, entries) == (entries, ())
    assert plate_entries(_stacked(job, IN_TURN), entries) == (entries, ())


@pytest.mark.parametrize(
    ("said", "words"),
    [({}, ""), (IN_TURN, "3, one after another onto the same bed"), (BESIDE, "2, a front and a back plate")],
)
def test_prints_are_counted(job, said: dict, words: str) -> None:
    assert prints_words(_stacked(job, said)) == words


def test_how_it_lies_is_told_where_it_matters(job) -> None:
    assert lying_rows(job) == []
    (down,) = lying_rows(_stacked(job, {}, **{"heights.face": "down"}))
    assert down[:2] == ("Front", "down on the bed; the files are mirrored for it")
    (plate,) = lying_rows(_stacked(job, BESIDE, **{"heights.face": "down"}))
    assert plate[0] == "Front plate"
    (foot,) = lying_rows(_stacked(job, {}, **{"heights.foot_mm": 0.15}))
    assert "drawn in by 0.15 mm already" in str(foot[1])
    assert len(lying_rows(_stacked(job, {}, **{"heights.foot_mm": 0.15, "heights.face": "down"}))) == 2


def test_each_print_has_its_parts_and_only_the_last_watches_and_the_first_has_no_mat(job) -> None:
    result = _stacked(job, IN_TURN)
    page = Page(jobs_block(result, legend(job)).encode())
    titles = [data for tag, data in page.texts if tag == "strong"]
    assert titles == ["Print 1: red.", "Print 2: yellow.", "Print 3: base."]
    text = page.text()
    assert "3 prints onto the same bed" in text
    assert "Load navy; switch on only base. Print layers 1 to 10." in text
    assert text.count("No skirt, brim or mat") == 1
    assert text.index("No skirt") < text.index("Print 2")
    assert text.count("Leave it on the bed") == 2
    assert text.count("Watch its first layer") == 1
    assert text.index("Watch its first layer") > text.index("Print 3")
    assert "18 minutes in all, 3 at each change" in text


def test_parts_of_one_print_are_named_together_from_first_to_last_layer(job) -> None:
    text = Page(
        jobs_block(_stacked(job, {"jobs": (("red", "yellow"), ("base",))}), legend(job)).encode()
    ).text()
    assert "Print 1: red, yellow." in text
    assert "Load red; switch on only red, yellow. Print layers 11 to 13." in text


def test_plates_are_set_together_by_what_they_have(job) -> None:
    assert joining_items(job) == []
    pegs = joining_items(_stacked(job, BESIDE))
    assert any("pegs of the front plate go into the holes" in item for item in pegs)
    plates = _stacked(job, BESIDE)
    inspection = replace(plates.inspection, findings=(finding("pegs-missing", "None."),))
    floors = join(*joining_items(replace(plates, inspection=inspection)))
    assert "The floors go into their recesses" in floors
    assert "pegs" not in floors
