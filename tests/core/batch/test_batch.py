"""A batch: sets as `make` writes them, what is done is kept, failures stand alone, nothing is torn."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from lamps import draw_lamp
from reliefsmith.batch import rowwork as work
from reliefsmith.batch.ledger import NAME
from reliefsmith.batch.rows import Row
from reliefsmith.batch.rowwork import make_row
from reliefsmith.command.cli import run
from reliefsmith.formats.sets import read_set
from reliefsmith.recipe import Recipe
from reliefsmith.walk.store import MemoryStore

ROWS = 6


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Rows of two small lamps with borders of their own, and names of those they are for."""
    for number, color in enumerate(((30, 90, 200), (180, 40, 60))):
        draw_lamp(tmp_path / f"lamp-{number}.png", color=color)
    lines = [f"lamp-{n % 2}.png,Mirabel {n},{1 + n / 4}" for n in range(ROWS)]
    path = tmp_path / "day.csv"
    path.write_text("\n".join(["picture,order.customer,base.border_mm", *lines]) + "\n")
    return path


def ledger(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / NAME).read_text().splitlines()]


def files(folder: Path) -> dict[str, bytes]:
    paths = [path for path in folder.rglob("*") if path.is_file() and path.name != NAME]
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def whole(folder: Path) -> list[str]:
    """The rows whose folder holds a whole set; anything beside sets and the ledger would be a torn one."""
    rows = sorted(path for path in folder.iterdir() if path.is_dir())
    return [path.name for path in rows if any(path.iterdir()) and read_set(path).is_set]


def test_one_process_and_two_write_the_same_bytes_with_each_row_once(table: Path, capsys: Any) -> None:
    one, two = table.parent / "one", table.parent / "two"
    assert run(["batch", str(table), "-o", str(one), "--jobs", "1"]) == 0
    assert run(["batch", str(table), "-o", str(two), "--jobs", "2"]) == 0
    assert files(one) == files(two)
    assert whole(one) == [f"{n:04d}" for n in range(1, ROWS + 1)]
    for folder in (one, two):
        assert sorted(entry["row"] for entry in ledger(folder)) == list(range(1, ROWS + 1))
    assert f"{ROWS} rows: {ROWS} made" in capsys.readouterr().err


def test_names_stand_in_recipes_only_and_files_are_those_of_make(table: Path) -> None:
    out = table.parent / "out"
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 0
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


def test_what_is_done_is_kept_and_only_what_changed_is_made_again(table: Path, capsys: Any) -> None:
    out = table.parent / "out"
    words = ["batch", str(table), "-o", str(out), "--jobs", "1", "--json"]
    assert run(words) == 0
    before = files(out)
    capsys.readouterr()
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
    table.write_text("picture\nlamp-0.png\nblank.png\nlamp-1.png\n")
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 3
    assert run(["make", str(table.parent / "blank.png"), "-o", str(table.parent / "alone")]) == 2
    told = capsys.readouterr().err.splitlines()
    assert told[0].removeprefix("row 2: ") == told[1].removeprefix("error: ")
    assert whole(out) == ["0001", "0003"]
    assert [entry["row"] for entry in ledger(out) if "error" in entry] == [2]


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


def test_a_fault_of_ours_in_one_row_stands_alone_too(
    table: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    made = work.write_row_steps

    def faulty(result: Any, *given: Any, **named: Any) -> Any:
        if result.stem == "0002":
            raise KeyError("kite")
        return made(result, *given, **named)

    monkeypatch.setattr(work, "write_row_steps", faulty)
    out = table.parent / "out"
    assert run(["batch", str(table), "-o", str(out), "--jobs", "1", "--quiet"]) == 3
    assert "row 2: a fault in reliefsmith itself (KeyError" in capsys.readouterr().err
    assert len(whole(out)) == ROWS - 1


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


def _begun(table: Path, out: Path, jobs: int = 2) -> subprocess.Popen[str]:
    words = [sys.executable, "-m", "reliefsmith", "batch", str(table), "-o", str(out), "--jobs", str(jobs)]
    return subprocess.Popen(words, stderr=subprocess.PIPE, text=True, start_new_session=True)


def _children(pid: int) -> list[int]:
    found = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    )
    return [int(word) for word in found.stdout.split()]


def _wait_for_rows(process: subprocess.Popen[str], out: Path, rows: int) -> None:
    while process.poll() is None and not (
        (out / NAME).exists() and len((out / NAME).read_text().splitlines()) >= rows
    ):
        time.sleep(0.02)


def _finished(table: Path, out: Path) -> None:
    """Go on, and check that every row stands once, whole, as a run in one go makes it."""
    assert run(["batch", str(table), "-o", str(out), "--quiet"]) == 0
    straight = table.parent / "straight"
    assert run(["batch", str(table), "-o", str(straight), "--quiet"]) == 0
    assert files(out) == files(straight)
    made = [entry["row"] for entry in ledger(out)]
    assert sorted(set(made)) == list(range(1, ROWS + 1))


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
def test_an_interrupt_leaves_whole_sets_and_the_same_command_goes_on(table: Path) -> None:
    out = table.parent / "out"
    process = _begun(table, out)
    _wait_for_rows(process, out, 1)
    os.killpg(process.pid, signal.SIGINT)  # a terminal sends it to all of them
    _, told = process.communicate(timeout=120)
    assert process.returncode == 130
    assert told.count("\n") == 1
    assert "the same command goes on" in told
    done = [entry["row"] for entry in ledger(out)]
    assert whole(out) == [f"{row:04d}" for row in sorted(done)]
    _finished(table, out)
    assert sorted(entry["row"] for entry in ledger(out)) == list(range(1, ROWS + 1))


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
def test_a_worker_that_is_killed_takes_no_row_down(table: Path) -> None:
    out = table.parent / "out"
    process = _begun(table, out)
    _wait_for_rows(process, out, 1)
    for child in _children(process.pid)[-1:]:
        os.kill(child, signal.SIGKILL)
    process.communicate(timeout=240)
    assert process.returncode == 0
    assert sorted(entry["row"] for entry in ledger(out)) == list(range(1, ROWS + 1))
    assert len(whole(out)) == ROWS


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(100))
def test_killed_at_any_time_nothing_is_lost_torn_or_twice(table: Path, seed: int) -> None:
    chance, out = random.Random(seed), table.parent / "out"
    process = _begun(table, out)
    time.sleep(chance.uniform(0.2, 6.0))
    for pid in [process.pid] if seed % 2 else _children(process.pid)[-1:]:
        os.kill(pid, signal.SIGKILL)
    process.communicate(timeout=240)
    _finished(table, out)
