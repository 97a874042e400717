"""A batch: sets as `make` writes them, what is done is kept, failures stand alone, nothing is torn."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from reliefsmith.batch import rowwork as work
from reliefsmith.batch.ledger import NAME, failed_rows
from reliefsmith.batch.rows import Row
from reliefsmith.batch.rowwork import make_row
from reliefsmith.command.cli import run
from reliefsmith.recipe import Recipe
from reliefsmith.walk.store import MemoryStore

from .runs import ROWS, files, ledger, whole


def test_one_process_and_two_write_the_same_bytes_with_each_row_once(
    table: Path, straight: Path, capsys: Any
) -> None:
    one, two = straight, table.parent / "two"
    assert run(["batch", str(table), "-o", str(two), "--jobs", "2"]) == 0
    assert files(one) == files(two)
    assert whole(one) == [f"{n:04d}" for n in range(1, ROWS + 1)]
    for folder in (one, two):
        assert sorted(entry["row"] for entry in ledger(folder)) == list(range(1, ROWS + 1))
    assert f"{ROWS} rows: {ROWS} made" in capsys.readouterr().err


def test_names_stand_in_recipes_only_and_files_are_those_of_make(table: Path, straight: Path) -> None:
    out = straight
    holding = [name for name, data in files(out).items() if b"Mirabel" in data or b"lamp" in data]
    assert sorted(holding) == [f"{n:04d}/{n:04d}-recipe.toml" for n in range(1, ROWS + 1)]
    assert "Mirabel" not in (out / NAME).read_text()
    words = ["--recipe", str(out / "0002" / "0002-recipe.toml"), "-o", str(table.parent / "alone"), "--quiet"]
    assert run(["make", str(table.parent / "lamp-1.png"), *words]) == 0
    alone, row = files(table.parent / "alone"), files(out / "0002")
    for end in (".stl", ".svg", ".glb"):
        of_make = sorted(data for name, data in alone.items() if name.endswith(end))
        assert of_make == sorted(data for name, data in row.items() if name.endswith(end))
    report = json.loads(row["0002-report.json"])
    assert report["picture"]["name"] == "0002"
    assert report["parts"] == json.loads(alone["lamp-1-report.json"])["parts"]
    assert not any(name.endswith((".png", ".html")) for name in row)


def test_proofs_are_drawn_where_they_are_asked_for(table: Path) -> None:
    out = table.parent / "out"
    table.write_text("picture,order.customer\nlamp-0.png,Mirabel\n")
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 0
    assert run(["batch", str(table), "-o", str(out), "--proofs", "--quiet"]) == 0
    assert {"0001/0001-proof.png", "0001/0001-sheet.html"} <= set(files(out))
    assert b"Mirabel" in files(out)["0001/0001-sheet.html"]


def test_what_is_done_is_kept_and_only_what_changed_is_made_again(
    table: Path, straight: Path, capsys: Any
) -> None:
    out = table.parent / "out"
    shutil.copytree(straight, out)
    words = ["batch", str(table), "-o", str(out), "--jobs", "1", "--json"]
    before = files(out)
    assert run(words) == 0
    assert [row["state"] for row in json.loads(capsys.readouterr().out)["rows"]] == ["kept"] * ROWS
    lines = table.read_text().splitlines()
    lines[3] = lines[3].replace(",1.5", ",2.5")
    table.write_text("\n".join(lines) + "\n")
    (out / "0005" / "0005.3mf").write_bytes(b"torn")
    (out / "0006" / "0006-report.json").unlink()
    assert run(words) == 0
    states = [row["state"] for row in json.loads(capsys.readouterr().out)["rows"]]
    assert states == ["kept", "kept", "made", "kept", "made", "made"]
    changed = {name for name, data in files(out).items() if before[name] != data}
    assert {name.partition("/")[0] for name in changed} == {"0003"}
    assert len(ledger(out)) == ROWS + 3


def test_a_row_that_fails_stands_alone(table: Path, capsys: Any) -> None:
    out = table.parent / "out"
    Image.new("RGB", (200, 200), "white").save(table.parent / "blank.png")
    table.write_text("picture\nlamp-0.png\nblank.png\nlamp-1.png\nblank.png\nblank.png\n")
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 3
    assert run(["make", str(table.parent / "blank.png"), "-o", str(table.parent / "alone")]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 2
    assert told[0].removeprefix("rows 2,4-5: ") == told[1].removeprefix("error: ")
    assert whole(out) == ["0001", "0003"]
    assert [entry["row"] for entry in ledger(out) if "error" in entry] == [2, 4, 5]
    for command in ("beds", "quote", "contact"):
        assert run([command, str(out), "-o", str(table.parent / command)]) == 0
        assert "rows 2,4-5 of " in capsys.readouterr().err
    with (out / NAME).open("a") as file:
        file.write('{"row": 4, "key": "made since"}\n["row", "key"]\n{"row": [], "key": 1, "error": ""}\n')
    assert failed_rows(out) == [2, 5]


def test_a_table_with_a_fault_writes_nothing(table: Path, capsys: Any) -> None:
    table.write_text(table.read_text() + "lamp-9.png,Tobin,1\n")
    assert run(["batch", str(table), "-o", str(table.parent / "out")]) == 2
    assert f"row {ROWS + 1} (line {ROWS + 2}), column picture" in capsys.readouterr().err
    assert not (table.parent / "out").exists()
    assert run(["batch", str(table), "-o", str(table.parent / "out"), "--jobs", "0"]) == 2


def test_a_file_of_the_users_in_a_rows_folder_fails_that_row_and_stays(table: Path, capsys: Any) -> None:
    out = table.parent / "out"
    (out / "0001").mkdir(parents=True)
    (out / "0001" / "0001.3mf").write_bytes(b"mine")
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 3
    assert (out / "0001" / "0001.3mf").read_bytes() == b"mine"
    assert whole(out) == [f"{n:04d}" for n in range(2, ROWS + 1)]


def test_a_torn_last_line_of_the_ledger_is_cut_off(table: Path) -> None:
    out = table.parent / "out"
    out.mkdir()
    (out / NAME).write_bytes(b'{"row": 9, "key": "ab", "error": "older"}\n{"row": 1, "ke')
    table.write_text("picture\nlamp-0.png\n")
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 0
    assert [entry["row"] for entry in ledger(out)] == [9, 1]


@pytest.mark.parametrize("data", [b"notes of mine", b'{"kite": 1}\n{"torn', b"[1]\n", b"\xff\n"])
def test_a_file_of_the_ledgers_name_that_is_none_is_left_alone(table: Path, data: bytes, capsys: Any) -> None:
    out = table.parent / "out"
    out.mkdir()
    (out / NAME).write_bytes(data)
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 2
    assert "is no ledger of a batch" in capsys.readouterr().err
    assert (out / NAME).read_bytes() == data
    assert [path.name for path in out.iterdir()] == [NAME]


def test_a_fault_of_ours_in_one_row_is_told_and_raises_nothing(
    table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*given: Any, **named: Any) -> Any:
        raise KeyError("kite")

    monkeypatch.setattr(work, "write_row_steps", faulty)
    row = Row(2, table.parent / "lamp-0.png", Recipe())
    outcome = make_row(row, table.parent / "out", MemoryStore(), drawn=False)
    assert outcome.error.startswith("a fault in reliefsmith itself (KeyError")


def test_rows_of_one_picture_share_what_is_known_of_it(table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store, ran = MemoryStore(), []
    put = store.put
    monkeypatch.setattr(store, "put", lambda stage, key, value: (ran.append(stage), put(stage, key, value)))
    picture = table.parent / "lamp-0.png"
    for number, wall in enumerate((2.0, 2.5, 3.0), 1):
        row = Row(number, picture, Recipe().with_values({"hang.wall_mm": wall}))
        assert make_row(row, table.parent / "out", store, drawn=False).error == ""
    assert ran.count("artwork") == ran.count("traced") == ran.count("mended") == 1
    assert ran.count("hung") == 3


def test_a_line_that_was_lost_is_added_once(table: Path, straight: Path) -> None:
    out = table.parent / "out"
    shutil.copytree(straight, out)
    words = ["batch", str(table), "-o", str(out), "--quiet"]
    lines = (out / NAME).read_bytes().splitlines(keepends=True)
    (out / NAME).write_bytes(b"".join(lines[:-2]) + lines[-2][:20])  # killed between a set and its line
    for _ in range(2):
        assert run(words) == 0
        assert sorted((out / NAME).read_bytes().splitlines(keepends=True)) == sorted(lines)


def test_a_proof_is_drawn_on_demand_for_a_row_and_stays(table: Path, capsys: Any) -> None:
    out = table.parent / "out"
    words = ["batch", str(table), "-o", str(out), "--jobs", "1"]
    assert run([*words, "--rows", "2,4"]) == 0
    assert whole(out) == ["0002", "0004"]
    assert "2 rows: 2 made" in capsys.readouterr().err
    before = files(out)
    assert run([*words, "--rows", "4", "--proofs"]) == 0
    drawn = files(out)
    assert set(drawn) - set(before) == {"0004/0004-proof.png", "0004/0004-sheet.html"}
    capsys.readouterr()
    assert run(words) == 0
    assert f"{ROWS} rows: {ROWS - 2} made, 2 kept" in capsys.readouterr().err
    assert {name: data for name, data in files(out).items() if name in drawn} == drawn
    assert run([*words, "--rows", "9"]) == 2


def test_what_a_text_says_stands_in_its_recipe_only(table: Path, capsys: Any) -> None:
    out = table.parent / "out"
    table.write_text(f"picture,lettering.1.text\nlamp-0.png,Wren\nlamp-1.png,Wren{'W' * 58}\n")
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 3
    holding = [name for name, data in files(out).items() if b"Wren" in data]
    assert holding == ["0001/0001-recipe.toml"]
    notes = json.loads(files(out)["0001/0001-report.json"])["notes"]
    assert any(note["message"].startswith("Text 1 was set") for note in notes)
    assert "Wren" not in (out / NAME).read_text()
    assert "row 2: " in (told := capsys.readouterr().err)
    assert "Wren" not in told
