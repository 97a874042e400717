"""Other colors for the parts of a relief: the same solids, and everything that speaks of colors follows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import reliefsmith as rs
from reliefsmith.formats import read_parts
from reliefsmith.jobs.painted import painted

KITE = Path(__file__).parents[2] / "samples" / "kite.png"
WHITE = (250, 250, 250)


@pytest.fixture(scope="module")
def kite() -> rs.Relief:
    return rs.make(KITE)


def test_the_solids_stay_and_the_colors_are_written(kite: rs.Relief, tmp_path: Path) -> None:
    relief = painted(kite, {"teal": WHITE})
    assert [part.name for part in relief.parts] == [part.name for part in kite.parts]
    for one, other in zip(relief.parts, kite.parts, strict=True):
        assert np.array_equal(one.vertices, other.vertices)
        assert one.color == (WHITE if one.name == "teal" else other.color)
    report = relief.write(tmp_path)
    read = {part.name: part.color for part in read_parts(tmp_path / "kite.3mf")}
    assert read["teal"] == WHITE
    assert {row["name"]: row["color"] for row in report["parts"]}["teal"] == "#fafafa"
    assert "#fafafa" in [row["color"] for row in report["color_changes"]]
    match = relief.result.matching.of("teal")
    assert match.filament.name == "white"
    assert "#fafafa" in (tmp_path / "kite.svg").read_text()


def test_what_shows_through_is_found_anew(kite: rs.Relief) -> None:
    def said(relief: rs.Relief) -> str:
        return " ".join(item.message for item in relief.findings if item.code == "low-hiding")

    flush = rs.make(KITE, {"heights": {"style": "raised", "motif_mm": 0.4}})
    assert "teal shows base through" in said(painted(flush, {"teal": WHITE}))
    assert "teal shows base through" not in said(painted(flush, {"teal": (10, 10, 20)}))


def test_two_parts_of_one_color_need_no_change_between_them(kite: rs.Relief) -> None:
    top, below = kite.parts[-1], kite.parts[-2]
    relief = painted(kite, {top.name: below.color})
    assert len(relief.stack.color_changes) == len(kite.stack.color_changes) - 1
    assert relief.inspection.estimate.changes == kite.inspection.estimate.changes - 1


def test_nothing_painted_is_the_same_relief(kite: rs.Relief) -> None:
    same = painted(kite, {})
    assert same.findings == kite.findings
    assert same.stack.color_changes == kite.stack.color_changes
