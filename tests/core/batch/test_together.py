"""One palette and one set of heights over all rows: the same each time, kept for the next run."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from lamps import draw_lamp
from reliefsmith.batch.done import Look
from reliefsmith.batch.together import NAME, common, merges
from reliefsmith.command.cli import run

from .runs import files

RED, OTHER_RED, NAVY, TEAL, SUN = "#c82828", "#c42a2c", "#1e2a78", "#14827d", "#f0c828"
WHITE = "#fafafa"


def test_colors_fold_until_the_filaments_do_and_none_count_as_one() -> None:
    looks = {
        1: Look(WHITE, ((RED, 0.7), (NAVY, 0.3))),
        2: Look(WHITE, ((OTHER_RED, 0.6), (SUN, 0.4))),
        3: Look("#f8faf9", ((TEAL, 0.2), (NAVY, 0.8))),
    }
    found = common(looks, 9)
    assert found.base == WHITE
    assert found.steps == (RED, NAVY, SUN, TEAL)
    assert found.of_row == {
        1: {RED: RED, NAVY: NAVY},
        2: {OTHER_RED: RED, SUN: SUN},
        3: {TEAL: TEAL, NAVY: NAVY},
    }
    fewer = common(looks, 4)
    assert fewer.steps == (NAVY, RED, SUN)  # navy took teal in, and covers most now
    assert fewer.of_row[3] == {TEAL: NAVY, NAVY: NAVY}
    assert len(common(looks, 2).steps) == 1
    assert all(
        set(row.values()) <= {WHITE, *common(looks, 2).steps} for row in common(looks, 2).of_row.values()
    )
    assert common(dict(reversed(looks.items())), 4) == fewer


def test_a_row_in_the_bases_color_alone_keeps_the_nearest_step() -> None:
    looks = {1: Look(WHITE, (("#f6f6f0", 1.0),)), 2: Look(WHITE, ((NAVY, 0.6), (SUN, 0.4)))}
    assert common(looks, 3).of_row[1] == {"#f6f6f0": SUN}


@pytest.fixture
def table(tmp_path: Path) -> Path:
    for name, color in {"a": (200, 40, 40), "b": (30, 42, 120), "c": (196, 42, 44)}.items():
        draw_lamp(tmp_path / f"{name}.png", color=color)
    path = tmp_path / "day.csv"
    path.write_text("picture\na.png\nb.png\nc.png\n")
    return path


def _reports(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(path.read_bytes()) for path in sorted(folder.glob("*/*-report.json"))]


def test_rows_share_base_colors_and_bands_so_a_bed_takes_the_changes_of_a_piece(
    table: Path, capsys: Any
) -> None:
    out, beds = table.parent / "out", table.parent / "beds"
    assert (
        run(["batch", str(table), "-o", str(out), "--palette", "4", "--set", "printer.bed_mm=[250,250]"]) == 0
    )
    told = json.loads((out / NAME).read_bytes())
    assert f"all rows: base {told['base']}, then {' '.join(told['steps'])}" in capsys.readouterr().err
    changes = []
    for report in _reports(out):
        assert report["parts"][0]["color"] == told["base"]
        assert {part["color"] for part in report["parts"]} <= {told["base"], *told["steps"]}
        changes.append([(one["layer"], one["color"]) for one in report["color_changes"]])
    longest = max(changes, key=len)
    assert all(one == longest[: len(one)] for one in changes)
    words = ["--set", "beds.first_alone=false", "--quiet"]
    assert run(["beds", str(out), "-o", str(beds), *words]) == 0
    report = json.loads((beds / "beds-report.json").read_bytes())
    assert [bed["changes"] for bed in report["beds"]] == [len(longest)]


def test_single_rows_and_later_runs_get_the_same_and_only_changed_rows_are_seen_again(
    table: Path, capsys: Any, monkeypatch: Any
) -> None:
    whole, part = table.parent / "whole", table.parent / "part"
    words = ["batch", str(table), "--palette", "4", "--jobs", "1", "--json"]
    assert run([*words, "-o", str(whole)]) == 0
    assert run([*words, "-o", str(part), "--rows", "2"]) == 0
    capsys.readouterr()
    assert run([*words, "-o", str(part)]) == 0
    assert [row["state"] for row in json.loads(capsys.readouterr().out)["rows"]] == ["made", "kept", "made"]
    assert files(part) == files(whole)
    seen = []
    monkeypatch.setattr("reliefsmith.batch.engine.Engine._task", lambda *_, **how: seen.append(how))
    assert run([*words, "-o", str(whole)]) == 0
    assert seen == []


def test_a_row_that_cannot_be_seen_fails_alone(table: Path, capsys: Any) -> None:
    (table.parent / "b.png").write_bytes(b"none")
    out = table.parent / "out"
    assert run(["batch", str(table), "-o", str(out), "--palette", "4"]) == 3
    assert "row 2: " in capsys.readouterr().err
    assert len(_reports(out)) == 2
    assert sorted(json.loads((out / NAME).read_bytes())["rows"]) == ["1", "3"]


@pytest.mark.parametrize(
    ("column", "most", "words"),
    [
        ("", "1", "--palette must be between 2 and 9, got 1"),
        ("", "10", "--palette must be between 2 and 9, got 10"),
        ('colors.omit\n"[""#f0c828""]"', "4", "row 1: colors.merge and colors.omit do not go with --palette"),
    ],
)
def test_what_does_not_go_together_is_refused(
    table: Path, capsys: Any, column: str, most: str, words: str
) -> None:
    if column:
        name, cell = column.split("\n")
        table.write_text(f"picture,{name}\na.png,{cell}\n")
    assert run(["batch", str(table), "-o", str(table.parent / "out"), "--palette", most]) == 2
    assert words in capsys.readouterr().err
    assert not (table.parent / "out").exists()


def test_what_becomes_one_color_is_renamed_once_and_takes_the_others() -> None:
    """A palette in place of merges would leave pale yellow beside orange to the ground."""
    became = {"#411f4d": "#411f4d", "#e97b21": "#efb630", "#f9d34e": "#efb630", "#f0ede5": WHITE}
    assert merges(became) == [("#f9d34e", "#efb630"), ("#e97b21", "#f9d34e"), ("#f0ede5", WHITE)]


def test_rows_have_sizes_of_their_own_in_one_palette(table: Path, tmp_path: Path) -> None:
    table.write_text("picture,size.width_mm\na.png,30\nb.png,42\n")
    assert run(["batch", str(table), "-o", str(tmp_path / "out"), "--palette", "3", "-q", "--jobs", "1"]) == 0
    found = _reports(tmp_path / "out")
    assert [report["artwork_mm"][0] for report in found] == [30.0, 42.0]
    assert found[0]["color_changes"] == found[1]["color_changes"]
