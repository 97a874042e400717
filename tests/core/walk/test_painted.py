"""Parts printed in other colors than the picture's: the same solids; what speaks of colors follows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import reliefsmith as rs
from reliefsmith.colorimetry import to_hex
from reliefsmith.errors import RecipeError
from reliefsmith.formats import read_parts
from reliefsmith.walk.kept import remake
from reliefsmith.walk.store import FolderStore

KITE = Path(__file__).parents[3] / "samples" / "kite.png"
WHITE = (250, 250, 250)


def printed(**colors: str) -> dict[str, object]:
    """The setting that gives parts, by their names, the colors that they are printed in."""
    return {"filaments.parts": [{"part": name, "color": color} for name, color in colors.items()]}


@pytest.fixture(scope="module")
def kite() -> rs.Relief:
    return rs.make(KITE)


def test_the_solids_stay_and_the_colors_are_written(kite: rs.Relief, tmp_path: Path) -> None:
    relief = rs.make(KITE, rs.Recipe().with_values(printed(teal="#fafafa")))
    assert [part.name for part in relief.parts] == [part.name for part in kite.parts]
    for one, other in zip(relief.parts, kite.parts, strict=True):
        assert np.array_equal(one.vertices, other.vertices)
        assert one.color == (WHITE if one.name == "teal" else other.color)
        assert relief.result.drawn[one.name] == other.color
    report = relief.write(tmp_path)
    read = {part.name: part.color for part in read_parts(tmp_path / "kite.3mf")}
    assert read["teal"] == WHITE
    assert {row["name"]: row["color"] for row in report["parts"]}["teal"] == "#fafafa"
    assert "#fafafa" in [row["color"] for row in report["color_changes"]]
    match = relief.result.matching.of("teal")
    assert match.filament.name == "white"
    assert "#fafafa" in (tmp_path / "kite.svg").read_text()


def test_the_written_recipe_and_the_kept_plan_make_the_same_set_again(tmp_path: Path) -> None:
    recipe = rs.Recipe().with_values(printed(base="#102030", teal="#fafafa"))
    kept = tmp_path / "stages"
    report = rs.make(KITE, recipe, store=FolderStore(kept)).write(tmp_path / "first")
    again = rs.make(KITE, tmp_path / "first" / "kite-recipe.toml").write(tmp_path / "again")
    assert again["files"] == report["files"]
    (plan,) = kept.glob("hung-*.npz")
    old = remake(plan, tmp_path / "first" / "kite-recipe.toml")
    assert {part.name: part.color for part in old.parts}["base"] == (16, 32, 48)


def test_what_shows_through_is_found_anew() -> None:
    def said(color: str) -> str:
        relief = rs.make(KITE, flush.with_values(printed(teal=color)))
        return " ".join(item.message for item in relief.findings if item.code == "low-hiding")

    flush = rs.Recipe().with_values({"heights.style": "raised", "heights.motif_mm": 0.4})
    assert "teal shows base through" in said("#fafafa")
    assert "teal shows base through" not in said("#0a0a14")


def test_two_parts_of_one_color_need_no_change_between_them(kite: rs.Relief) -> None:
    top, below = kite.parts[-1], kite.parts[-2]
    relief = rs.make(KITE, rs.Recipe().with_values(printed(**{top.name: to_hex(below.color)})))
    assert len(relief.stack.color_changes) == len(kite.stack.color_changes) - 1
    assert relief.inspection.estimate.changes == kite.inspection.estimate.changes - 1


def test_a_part_that_is_not_there_is_told_and_changes_nothing(kite: rs.Relief) -> None:
    relief = rs.make(KITE, rs.Recipe().with_values(printed(teel="#fafafa")))
    (said,) = [item.message for item in relief.findings if item.code == "color-unmatched"]
    assert said == "filaments.parts names 'teel', which is no part here, did you mean teal?."
    assert [part.color for part in relief.parts] == [part.color for part in kite.parts]
    with pytest.raises(RecipeError, match="names 'teal' twice"):
        rs.Recipe().with_values({"filaments.parts": 2 * [{"part": "teal", "color": "#fafafa"}]})
    with pytest.raises(RecipeError, match="needs color"):
        rs.Recipe().with_values({"filaments.parts": [{"part": "teal"}]})
