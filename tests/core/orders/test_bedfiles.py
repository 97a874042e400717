"""Files of the beds: what they are called, what lies where, and what a later run keeps of an earlier one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from reliefsmith.errors import OutputError, RecipeError
from reliefsmith.formats.setreading import read_set
from reliefsmith.formats.threemf_read import read_bed
from reliefsmith.orders.bedfiles import findings_of, write_beds
from reliefsmith.orders.finished import Finished
from reliefsmith.recipe import Recipe

from .madesets import DEPTH_MM, finding, made_set

WIDTH_MM = 20.0
BEDS = Recipe().with_values(
    {"beds.cell_mm": 1.0, "printer.bed_mm": (50, 40), "beds.spacing_mm": 5.0, "beds.first_alone": False}
)


@pytest.fixture
def sets(tmp_path: Path) -> list[Finished]:
    return [
        made_set(tmp_path, "0001", WIDTH_MM, order__quantity=2),
        made_set(tmp_path, "0002", WIDTH_MM, findings=[finding("sharp-tip", "A tip is sharp.")]),
    ]


def _beds(sets: list[Finished], out: Path, asked: str | None = None) -> Any:
    return write_beds(sets, str(out), BEDS, asked=asked, replace=False)


def test_every_copy_lies_on_a_bed_and_its_file_is_the_one_that_is_named(
    sets: list[Finished], tmp_path: Path
) -> None:
    """On 50 x 40 mm a bed takes 2 x 2 plates of 20 x 12 mm, 5 mm apart: all three on one."""
    report = _beds(sets, tmp_path / "beds")
    (bed,) = report["beds"]
    assert [(piece["row"], piece["copy"]) for piece in bed["pieces"]] == [("1", 1), ("1", 2), ("2", 1)]
    assert (bed["file"], bed["map"], bed["number"]) == ("bed-01.3mf", "bed-01.png", 1)
    assert read_set(tmp_path / "beds").is_set
    built = read_bed((tmp_path / "beds" / "bed-01.3mf").read_bytes(), "bed")
    assert sorted(piece.name for piece in built) == ["1", "1", "2"]
    assert report["cautions"] == ["Row 2: A tip is sharp."]
    assert report["findings"] == []
    assert report["bed_mm"] == [50, 40]


def test_places_of_the_report_keep_the_asked_distance(sets: list[Finished], tmp_path: Path) -> None:
    (bed,) = _beds(sets, tmp_path / "beds")["beds"]
    boxes = []
    for piece in bed["pieces"]:
        assert piece["turn_deg"] in (0, 90, 180, 270)
        wide, deep = (WIDTH_MM, DEPTH_MM) if piece["turn_deg"] in (0, 180) else (DEPTH_MM, WIDTH_MM)
        x, y = piece["at_mm"]  # of the lower left corner before the turn
        left = x - (wide if piece["turn_deg"] in (90, 180) else 0)
        low = y - (deep if piece["turn_deg"] in (180, 270) else 0)
        boxes.append((left, low, left + wide, low + deep))
    assert min(box[0] for box in boxes) == min(box[1] for box in boxes) == 0  # the bed's corner
    for at, one in enumerate(boxes):
        assert min(one[:2]) >= -1e-6
        assert one[2] <= 50 + 1e-6
        assert one[3] <= 40 + 1e-6
        for other in boxes[:at]:
            apart = max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])
            assert apart >= 5 - 1e-3


def test_later_beds_are_numbered_on_and_earlier_ones_keep_their_bytes(
    sets: list[Finished], tmp_path: Path
) -> None:
    out = tmp_path / "beds"
    _beds(sets, out)
    kept = {path.name: path.read_bytes() for path in out.glob("bed-01.*")}
    report = _beds(sets, out, asked="2,2")
    assert [(bed["number"], bed["what"]) for bed in report["beds"]] == [(1, "rest"), (2, "again")]
    assert [piece["row"] for piece in report["beds"][1]["pieces"]] == ["2", "2"]
    assert all((out / name).read_bytes() == data for name, data in kept.items())
    assert set(report["files"]) == {
        "beds.html",
        *(f"bed-0{n}.{end}" for n in (1, 2) for end in ("3mf", "png")),
    }
    assert [bed["number"] for bed in _beds(sets, out)["beds"]] == [1]  # all anew
    assert not (out / "bed-02.3mf").exists()


def test_findings_are_written_and_read_back(tmp_path: Path) -> None:
    sets = [made_set(tmp_path, f"{row:04d}", 60.0) for row in (1, 2)]
    report = _beds(sets, tmp_path / "beds")
    assert report["beds"] == []
    assert [item.code for item in findings_of(report)] == ["bed-too-small"] * 2
    assert findings_of(report)[0].message.startswith("Row 1 is 60.0 x 12.0 mm")
    after = _beds([made_set(tmp_path, "0003", WIDTH_MM)], tmp_path / "beds", asked="3")
    assert [bed["number"] for bed in after["beds"]] == [1]


@pytest.mark.parametrize("spoil", ["none", "other kind", "torn"])
def test_without_beds_of_before_there_is_nothing_to_go_on_from(
    spoil: str, sets: list[Finished], tmp_path: Path
) -> None:
    out = tmp_path / "beds"
    if spoil != "none":
        _beds(sets, out)
    if spoil == "torn":
        (out / "bed-01.3mf").write_bytes(b"torn")
    if spoil == "other kind":
        told = json.loads((out / "beds-report.json").read_text())
        (out / "beds-report.json").write_text(json.dumps(told | {"kind": "quote"}))
    with pytest.raises(OutputError, match=r"holds no beds to go on from: .*; lay them first"):
        _beds(sets, out, asked="1")


@pytest.mark.parametrize(
    "change",
    [
        {"what": "last"},
        {"map": "bed-09.png"},
        {"time_min": True},
        {"pieces": [{"row": 1}]},
        {"begins": [{"print": 0}]},
        {"more": 1},
    ],
    ids=str,
)
def test_a_bed_is_gone_on_from_only_as_it_was_written(
    change: dict[str, Any], sets: list[Finished], tmp_path: Path
) -> None:
    out = tmp_path / "beds"
    _beds(sets[1:], out)
    told = json.loads((out / "beds-report.json").read_text())
    told["beds"][0] |= change
    (out / "beds-report.json").write_text(json.dumps(told))
    with pytest.raises(OutputError, match="was changed; lay them anew"):
        _beds(sets, out, asked="1")


def test_a_row_that_is_not_there_is_refused_before_anything_is_written(
    sets: list[Finished], tmp_path: Path
) -> None:
    out = tmp_path / "beds"
    _beds(sets, out)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    with pytest.raises(RecipeError, match="there is no row"):
        _beds(sets, out, asked="9")
    assert before == {path.name: path.read_bytes() for path in out.iterdir()}
