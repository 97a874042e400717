"""Names stand in lists, recipes, sheets and proofs only; a row that is forgotten is in no file any more."""

from __future__ import annotations

import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from lamps import draw_lamp
from reliefsmith.command.cli import run

from .conftest import NAMES

PLANTED = ("Mirabel", "Lanternwright", "Tobin")
SPEAKING = ("-recipe.toml", "-sheet.html")
"""Ends of the names of files that say for whom a piece is."""


def contents(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Each file, and each file in those that are packed, by its name."""
    for path in folder.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            yield str(path.relative_to(folder)), data
            if zipfile.is_zipfile(io.BytesIO(data)):
                with zipfile.ZipFile(io.BytesIO(data)) as packed:
                    for name in packed.namelist():
                        yield f"{path.name}/{name}", packed.read(name)


def _holding(folder: Path, words: tuple[str, ...] = PLANTED) -> list[str]:
    """Names of files that hold one of the words, or are called by it."""
    forms = [
        form for word in words for form in (word.encode(), word.lower().encode(), word.encode("utf-16-le"))
    ]
    return sorted(
        name
        for name, data in contents(folder)
        if any(form in data or form.decode(errors="ignore") in name for form in forms)
    )


@pytest.fixture
def failing(tmp_path: Path) -> Path:
    """A table of rows that fail in several ways, all of them called and for somebody."""
    draw_lamp(tmp_path / "Mirabel Tobin.png")
    (tmp_path / "Lanternwright.png").write_bytes((tmp_path / "Mirabel Tobin.png").read_bytes()[:200])
    Image.new("RGBA", (60, 60)).save(tmp_path / "tobin.png")
    lines = [
        "Mirabel Tobin.png,Mirabel Tobin,Mirabel,60",
        "Lanternwright.png,Zoë Lanternwright,,60",
        "tobin.png,Tobin,,60",
        "Mirabel Tobin.png,Mirabel,\u6f22Mirabel,60",
        "Mirabel Tobin.png,Mirabel,Mirabel Tobin Lanternwright,7",
    ]
    path = tmp_path / "day.csv"
    path.write_text("\n".join(["picture,order.customer,lettering.1.text,size.longest_mm", *lines]) + "\n")
    return path


def test_names_are_in_no_file_name_ledger_message_or_3mf(failing: Path, capsys: Any) -> None:
    out = failing.parent / "out"
    assert run(["batch", str(failing), "-o", str(out), "--proofs", "--jobs", "1", "--json"]) == 3
    told = capsys.readouterr()
    states = [row["state"] for row in json.loads(told.out)["rows"]]
    assert states[0] == "made"
    assert states.count("failed") >= 3
    assert "row 2: its picture is damaged" in told.err
    assert not any(word.lower() in (told.out + told.err).lower() for word in PLANTED)
    held = _holding(out)
    assert held
    assert [name for name in held if not name.endswith(SPEAKING)] == []
    assert run(["batch", str(failing), "-o", str(out), "--jobs", "1", "--names", "--quiet"]) == 3
    assert "Lanternwright.png" in capsys.readouterr().err


def test_other_pages_hold_no_names_unless_asked(failing: Path) -> None:
    failing.write_text("\n".join(failing.read_text().splitlines()[:2]) + "\n")
    out = failing.parent / "out"
    assert run(["batch", str(failing), "-o", str(out), "--quiet"]) == 0
    for words in (["beds", str(out)], ["contact", str(out)]):
        assert run([*words, "-o", str(failing.parent / words[0]), "--quiet"]) == 0
        assert _holding(failing.parent / words[0]) == []


def test_a_row_that_is_forgotten_is_in_no_file_any_more(collected: Path, tmp_path: Path, capsys: Any) -> None:
    place = {
        name: tmp_path / name for name in ("sheets", "class", "pieces", "beds", "proofs", "quote", "other")
    }
    assert run(["class", str(collected / "names.csv"), "-o", str(place["sheets"]), "--quiet"]) == 0
    shutil.copytree(collected / "class", place["class"])
    table = place["class"] / "class.csv"
    made = ["batch", str(table), "-o", str(place["pieces"]), "--palette", "4", "--quiet"]
    assert run(made) in (0, 1)
    coarse = ["--set", "beds.cell_mm=2", "--quiet"]  # which is quicker
    assert run(["beds", str(place["pieces"]), "-o", str(place["beds"]), *coarse]) in (0, 1)
    assert run(["contact", str(place["pieces"]), "-o", str(place["proofs"]), "--names", "--quiet"]) == 0
    assert run(["quote", str(place["pieces"]), "-o", str(place["quote"]), *coarse]) == 0
    one = str(place["pieces"] / "0001")
    assert run(["contact", one, "-o", str(place["other"]), "--names", "--quiet"]) == 0
    name = tuple(NAMES[1].split())
    picture = (place["class"] / "0002.jpg").read_bytes()
    assert {path.parts[0] for path in map(Path, _holding(tmp_path, name))} >= {
        "sheets",
        "class",
        "pieces",
        "proofs",
    }
    assert run(["forget", "2", *map(str, place.values())]) == 0
    assert "photographs, lists and tables of your own" in capsys.readouterr().err
    assert _holding(tmp_path, name) == []
    assert not any(picture in data or data == picture for _, data in contents(tmp_path))
    assert not (place["pieces"] / "0002").exists()
    assert all(
        json.loads(line)["row"] != 2 for line in (place["pieces"] / "ledger.jsonl").read_text().splitlines()
    )
    assert list(place["beds"].iterdir()) == list(place["proofs"].iterdir()) == []
    assert (place["other"] / "contact.html").is_file()  # which does not show it
    assert sorted(path.name for path in place["pieces"].iterdir() if path.is_dir()) == ["0001", "0003"]
    assert run(["forget", "2", *map(str, place.values())]) == 2
    assert "nothing of row 2 is in " in capsys.readouterr().err
    assert run([*made, "--rows", "1"]) in (0, 1)  # the rows that are left, by the table that was left
    assert _holding(tmp_path, name) == []
