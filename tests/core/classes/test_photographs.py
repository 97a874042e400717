"""Photographed sheets become drawings and a table; what cannot be used is listed with its picture."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from reliefsmith.command.cli import run

from .conftest import NAMES


def _table(folder: Path) -> list[dict[str, str]]:
    with (folder / "class.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_drawings_are_called_by_number_and_the_table_says_for_whom_each_is(collected: Path) -> None:
    rows = _table(collected / "class")
    assert [row["row"] for row in rows] == ["1", "2", "3"]
    assert [row["picture"] for row in rows] == ["0001.jpg", "0002.jpg", "0003.jpg"]
    assert [row["order.customer"] for row in rows] == list(NAMES)
    assert sorted(path.name for path in (collected / "class").iterdir()) == [
        "0001.jpg",
        "0002.jpg",
        "0003.jpg",
        "class-report.json",
        "class.csv",
    ]


def test_drawings_lie_on_even_white_paper(collected: Path) -> None:
    """The rim of the field is paper but for strokes that cross it: light and grey on every side."""
    for number in (1, 2, 3):
        rgb = np.asarray(Image.open(collected / "class" / f"000{number}.jpg"), dtype=float)
        rim = [
            np.median(side.reshape(-1, 3), axis=0)
            for side in (rgb[:20], rgb[-20:], rgb[:, :20], rgb[:, -20:])
        ]
        assert np.ptp(rim, axis=0).max() <= 5  # below which light is left as it is
        assert np.ptp(rim, axis=1).max() < 4
        assert np.min(rim) > 243


def test_what_cannot_be_used_is_listed_with_its_picture(
    photographs: Path, spoiled: Path, capsys: Any
) -> None:
    out = spoiled.parent / "out"
    words = ["--list", str(photographs / "names.csv"), "-o", str(out), "--json"]
    assert run(["collect", str(spoiled), *words]) == 3
    told = capsys.readouterr()
    report = json.loads(told.out)
    assert report["rows"] == [1, 3]
    assert report["missing"] == [2]
    why = {item["photograph"]: item["why"] for item in report["unread"]}
    assert sorted(why) == [3, 4, 5, 6, 7]
    assert why[3] == why[4] == "sheet 2 is in the photographs 3 and 4; keep one of them"
    assert why[5] == "its corner marks were not found"
    assert "damaged" in why[6]
    assert why[7] == "its sheet 9 is not on the list"
    assert [line.partition(":")[0] for line in told.err.splitlines()][:5] == [
        f"photograph {n}" for n in sorted(why)
    ]
    page = (out / "unread.html").read_text(encoding="utf-8")
    assert page.count("data:image/png") == 4  # none of the damaged file
    assert "IMG_6.jpg" in page
    assert not any(name.split()[0] in text for name in NAMES for text in (told.out, told.err))
    assert [row["row"] for row in _table(out)] == ["1", "3"]


def test_without_photographs_nothing_is_written(tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "none").mkdir()
    (tmp_path / "text").mkdir()
    Image.new("RGB", (400, 500), "white").save(tmp_path / "text" / "a.png")
    for folder, words in (
        ("none", "there is no photograph in the folder"),
        ("nowhere", "there is no folder"),
        ("text", "none of 1 photographs shows a sheet; of the first, its corner marks were not found"),
    ):
        assert run(["collect", str(tmp_path / folder), "-o", str(tmp_path / "out")]) == 2
        told = capsys.readouterr().err
        assert words in told
        assert told.count("\n") == 1
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,artwork.kind\nAda,auto\n", "row 1 (line 2), column artwork.kind: the photographs say that"),
        ("name,picture\nAda,a.png\n", "has a column 'picture', which is no setting"),
    ],
)
def test_what_the_photographs_say_is_no_column_of_a_list(
    tmp_path: Path, capsys, text: str, words: str
) -> None:
    (tmp_path / "names.csv").write_text(text)
    assert run(["class", str(tmp_path / "names.csv"), "-o", str(tmp_path / "out")]) == 2
    assert words in capsys.readouterr().err
