"""Words of the proof: nothing of an order is cut, findings are counted, what is signed has its place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.documents.canvas import HAIR
from reliefsmith.documents.legend import legend
from reliefsmith.documents.proof.beforeafter import repairs
from reliefsmith.documents.proof.lists import (
    CHIP_MM,
    CHIPS_A_ROW,
    draw_chips,
    draw_findings,
    draw_footer,
    draw_heading,
    draw_repairs,
    findings_mm,
)
from reliefsmith.documents.views import front_face
from reliefsmith.findings import finding
from reliefsmith.model import Approval, Inspection
from reliefsmith.model.inscribed import SetText

from ..jobs import order_recipe
from ..noted import Noted

WIDTH = 184.0


def _heading(job, **said: str) -> tuple[Noted, float]:
    page = Noted(210, 120)
    recipe = order_recipe(**{f"order.{key}": words for key, words in said.items()})
    return page, draw_heading(page, (13, 13), WIDTH, replace(job, recipe=recipe))


@pytest.mark.parametrize(
    "said",
    [
        {"title": "Lantern " * 14 + "walk", "customer": "W" * 120, "code": "M" * 40},
        {"spelling": "LARKWATER KITE DAY 2026 " * 12, "title": "x"},
    ],
)
def test_long_texts_of_the_order_are_wrapped_and_never_cut(job, said: dict[str, str]) -> None:
    page, end = _heading(job, **said)
    together = page.words.replace(" ", "")
    for text in said.values():
        assert text.replace(" ", "") in together
    assert all(item.left >= 13 - 0.1 and item.left + item.wide <= 13 + WIDTH + 0.1 for item in page.said)
    assert max(item.at[1] for item in page.said) <= end + 0.1


def test_what_is_not_said_takes_no_room(job) -> None:
    page, end = _heading(job, title="", customer="", code="")
    assert "kite" in [item.text for item in page.said]  # called by its file instead
    assert [item.text.lower() for item in page.said].count("for") == 0
    assert [item.text.lower() for item in _heading(job)[0].said].count("for") == 1
    assert "Spelled exactly" not in page.words
    spelled, lower = _heading(job, title="", customer="", code="", spelling="TOBIN 7")
    assert lower > end
    assert "TOBIN 7" in spelled.words


def test_a_code_gets_smaller_before_it_is_broken(job) -> None:
    page, _ = _heading(job, code="M" * 15)
    (item,) = [item for item in page.said if item.text == "M" * 15]
    assert 10.0 <= item.options["size"] < 15.0
    assert item.left + item.wide <= 13 + WIDTH + 0.1


def test_the_facts_are_those_of_the_job(job) -> None:
    page, _ = _heading(job)
    assert "12 pieces, for adults" in page.words
    assert "hole 5.0 mm" in page.words


def test_chips_stand_four_in_a_row_with_all_that_is_known(job) -> None:
    page, entries = Noted(210, 120), legend(job)
    draw_chips(page, (13.0, 20.0), WIDTH, [*entries, *entries])
    numbers = [item.at for item in page.said if item.options.get("anchor") == "mm"]
    columns = sorted({round(x, 3) for x, _ in numbers})
    rows = sorted({round(y, 3) for _, y in numbers})
    assert (len(columns), len(rows)) == (CHIPS_A_ROW, 2)
    assert np.diff(columns) == pytest.approx([WIDTH / CHIPS_A_ROW] * 3)
    assert np.diff(rows) == pytest.approx([CHIP_MM])
    for word in ("base (navy)", "#d32020, motif", "layers 11–13"):
        assert word in page.words


def _findings(job, *messages: str):
    found = tuple(finding("sharp-tip", message) for message in messages)
    return replace(
        job, inspection=Inspection(found, job.inspection.estimate), plan=replace(job.plan, findings=())
    )


def test_findings_are_all_written_in_the_height_that_is_asked_for_them(job) -> None:
    result = _findings(
        job, *(f"Tip {number} is sharp, at the upper left of the tail of it." for number in range(9))
    )
    page = Noted(210, 200)
    high = findings_mm(page, 90.0, result.findings)
    draw_findings(page, (0, 0), (90.0, high), result)
    assert all(f"Tip {number} " in page.words for number in range(9))
    assert "more on the job sheet" not in page.words
    assert max(item.at[1] for item in page.said) <= high


def test_findings_without_room_are_counted(job) -> None:
    result = _findings(job, *(f"Tip {number} is sharp." for number in range(30)))
    page = Noted(210, 200)
    draw_findings(page, (0, 0), (90.0, 40.0), result)
    shown = sum(item.text.endswith("is sharp.") for item in page.said)
    assert 0 < shown < 30
    assert f"{30 - shown} more on the job sheet" in page.words
    assert max(item.at[1] for item in page.said) <= 40.0
    assert "30 findings" in page.words


def test_without_findings_that_is_said(job) -> None:
    page = Noted(210, 60)
    draw_findings(page, (0, 0), (90.0, 40.0), _findings(job))
    assert "nothing found" in page.words


def test_changes_stand_in_pairs_with_their_words(job) -> None:
    page, face = Noted(210, 120), front_face(job.stack)
    chosen = repairs(job.notes, face, job.plan, most=2)
    draw_repairs(page, (10.0, 10.0), (90.0, 50.0), job, face=face, chosen=chosen)
    assert "2 changes, all on the job sheet" in page.words
    assert "ribbon thickened" in page.words
    pixels = np.asarray(page.image).astype(int)
    assert ((np.abs(pixels - HAIR) <= 1).all(axis=2)).sum() > 200  # frames of the pictures


def test_without_pictures_changes_are_counted_or_there_are_none(job) -> None:
    face = front_face(job.stack)
    for notes, words in ((job.plan.notes, "2 changes, listed on the job sheet"), ((), "printed as it came")):
        page = Noted(210, 120)
        plain = replace(job, plan=replace(job.plan, notes=notes))
        draw_repairs(page, (0, 0), (90.0, 50.0), plain, face=face, chosen=())
        assert words in page.words


def _footer(job, **more) -> Noted:
    page = Noted(210, 40)
    draw_footer(page, (13.0, 5.0), (WIDTH, 19.0), replace(job, **more))
    return page


def test_the_code_is_signed_and_the_lines_for_it_stand_beside_each_other(job) -> None:
    page = _footer(job, approval=Approval("ab" * 32, "AAAAA-BBBBB-C"))
    assert "AAAAA-BBBBB-C" in page.words
    signed = {item.text: item.at for item in page.said if item.text in ("Approved by", "Date")}
    assert signed["Approved by"][1] == signed["Date"][1]
    assert "Code of these files" not in _footer(job).words
    assert all(item.left + item.wide <= 13 + WIDTH + 0.1 for item in page.said)


def test_texts_of_the_piece_are_to_be_read_back(job) -> None:
    letters = shapely.MultiPolygon([shapely.box(0, 0, 1, 1)])
    text = SetText("MIRABEL 7", 1, letters, 5.0, (0.0, 0.0))
    page = _footer(job, plan=replace(job.plan, texts=(text,)))
    assert "MIRABEL 7" in page.words
    assert "before you approve." in _footer(job).words.replace("approve .", "approve.")


def test_letters_that_cannot_be_drawn_are_told(job) -> None:
    assert "A box stands for a letter" not in _footer(job).words
    foreign = order_recipe(**{"order.title": "\u674e\u660e"})
    assert "A box stands for a letter" in _footer(job, recipe=foreign).words
