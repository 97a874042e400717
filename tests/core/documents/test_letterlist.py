"""Lines of letters in report and sheet: marks that leave a line out, from which width it prints, no names."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.html import join
from reliefsmith.documents.letterlist import (
    back_pieces,
    leaving_out,
    lettering_mapping,
    lettering_pieces,
    texts_mapping,
    texts_pieces,
    texts_words,
)
from reliefsmith.findings import note
from reliefsmith.model import Lettering, LetterLine
from reliefsmith.model.inscribed import SetText
from reliefsmith.recipe import Recipe

from .pages import Page

WHITE, NAVY = (255, 255, 255), (20, 40, 110)
BOX = shapely.box(-2, 3, 6, 5)
FINE = LetterLine(4, WHITE, NAVY, (2.0, 4.0), ((0.0, 4.0), (4.0, 4.0)), BOX, 2.0, 0.3, 0.4, (0.6, 0.5))


def _with(job, *lines: LetterLine):
    return replace(job, lettering=Lettering(lines))


def test_a_line_is_left_out_by_what_lies_round_it() -> None:
    (mark,) = leaving_out(FINE)
    assert (mark.kind, mark.value) == ("recolor", "#14286e")
    assert shapely.Polygon(mark.polygon_mm).equals(BOX)
    (gone,) = leaving_out(replace(FINE, ground=None))
    assert (gone.kind, gone.value) == ("erase", None)
    cut_out = leaving_out(replace(FINE, color=None))
    assert [(mark.kind, mark.at_mm) for mark in cut_out] == [("recolor", (0, 4)), ("recolor", (4, 4))]
    assert leaving_out(replace(FINE, color=None, ground=None)) == ()


def test_the_width_from_which_it_prints_makes_strokes_and_gaps_as_wide_as_the_least(job) -> None:
    """Strokes of 0.3 mm want twice, gaps of 0.4 mm 1.25 times the artwork: twice it is."""
    (row,) = lettering_mapping(_with(job, FINE))
    assert row["prints"] is False
    assert row["prints_from_width_mm"] == pytest.approx(2 * job.plan.artwork_mm[0], abs=0.06)
    (gaps,) = lettering_mapping(_with(job, replace(FINE, stroke_mm=0.6)))
    assert gaps["prints_from_width_mm"] == pytest.approx(1.25 * job.plan.artwork_mm[0], abs=0.06)
    (good,) = lettering_mapping(_with(job, replace(FINE, stroke_mm=0.6, gap_mm=0.5)))
    assert good["prints"] is True
    assert lettering_mapping(_with(job, replace(FINE, shown=False)))[0]["prints_from_width_mm"] is None


def test_plain_values_say_colors_places_and_no_infinity(job) -> None:
    (row,) = lettering_mapping(_with(job, replace(FINE, gap_mm=math.inf, color=None)))
    assert (row["color"], row["ground"], row["gap_mm"], row["letters"]) == (None, "#14286e", None, 4)
    assert row["at_mm"] == [2.0, 4.0]
    assert [item["kind"] for item in row["without"]] == ["recolor", "recolor"]


def test_lines_that_would_not_print_have_recipe_lines_that_leave_them_out(job) -> None:
    page = Page(join(*lettering_pieces(_with(job, FINE, replace(FINE, stroke_mm=0.6, gap_mm=0.5)))).encode())
    text = page.text()
    assert "4 letters, white, 2.0 mm high at 2.0, 4.0 mm: strokes 0.30 mm, gaps 0.40 mm; prints from" in text
    assert "; prints." in text
    (lines,) = [data for tag, data in page.texts if tag == "pre"]
    assert [mark.kind for mark in Recipe.from_mapping(tomllib.loads(lines)).marks] == ["recolor"]
    assert lettering_pieces(job) == []
    for line in (replace(FINE, stroke_mm=0.6, gap_mm=0.5), replace(FINE, shown=False)):
        assert "<pre>" not in join(*lettering_pieces(_with(job, line)))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (replace(FINE, shown=False), "the base has the color round them and fills them"),
        (replace(FINE, color=None, gap_mm=math.inf), "4 letters, cut out, 2.0 mm high"),
    ],
)
def test_what_is_no_matter_of_width_is_said_otherwise(job, line: LetterLine, words: str) -> None:
    text = Page(join(*lettering_pieces(_with(job, line))).encode()).text()
    assert words in text
    assert ("gaps" in text) == math.isfinite(line.gap_mm)


def _text(**more: object) -> SetText:
    letters = shapely.MultiPolygon([shapely.box(0, 0, 2, 4), shapely.box(3, 0, 5, 4)])
    said = {
        "number": 1,
        "text": "MIRABEL",
        "side": "front",
        "color": NAVY,
        "at_mm": (0.0, 0.0),
        "letters": letters,
        "size_mm": 4.0,
    }
    return SetText(**{**said, "depth_mm": 0.0, **more})  # type: ignore[arg-type]


def test_texts_are_told_by_place_and_size_and_by_words_only_on_the_sheet(job) -> None:
    texts = (_text(), _text(number=2, side="back", color=None, depth_mm=0.4), _text(number=3, depth_mm=0.4))
    result = replace(job, plan=replace(job.plan, texts=texts))
    assert texts_words(result) == [
        "MIRABEL: front, raised, capitals 4.0 mm",
        "MIRABEL: back, sunk 0.4 mm, capitals 4.0 mm",
        "MIRABEL: front, laid in navy, 0.4 mm, capitals 4.0 mm",
    ]
    rows = texts_mapping(result)
    assert [row["color"] for row in rows] == ["#14286e", None, "#14286e"]
    assert rows[0]["at_mm"] == [2.5, 2.0]
    assert rows[0]["pieces"] == 2
    assert "MIRABEL" not in str(rows)
    assert "MIRABEL" in Page(join(*texts_pieces(result)).encode()).text()
    assert texts_pieces(job) == []


def test_a_second_picture_is_told_by_its_own_notes(job) -> None:
    notes = (*job.plan.notes, note("picture-laid", "A sun was laid into the back."))
    text = join(*back_pieces(replace(job, plan=replace(job.plan, notes=notes))))
    assert "A sun was laid into the back." in text
    assert "ribbon" not in text
    assert back_pieces(job) == []
