"""Beds: what lies on them, how far apart, in which colors, what the files hold, and pieces made again."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path
from typing import Any

import lib3mf
import numpy as np
import pytest
import shapely
from PIL import Image
from shapely import affinity

from core.orders.days import NAMES
from reliefsmith.checks.bedwork import Bands, bed_work
from reliefsmith.command.cli import run
from reliefsmith.jobs.checking import check_files
from reliefsmith.recipe.sections import PrinterSettings

NAVY, RED = (10, 20, 90), (200, 30, 30)


@pytest.fixture(scope="module")
def laid(day: Path) -> Path:
    out = day.parent / "beds"
    assert run(["beds", str(day), "-o", str(out), "--quiet"]) == 0
    return out


def report(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "beds-report.json").read_text())
    return found


def on_beds(folder: Path) -> list[tuple[str, list[str]]]:
    return [(bed["what"], [piece["row"] for piece in bed["pieces"]]) for bed in report(folder)["beds"]]


def scene(path: Path) -> lib3mf.Model:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return model


def outlines(model: lib3mf.Model) -> list[shapely.Geometry]:
    """Where every built piece lies, from the triangles that lib3mf read and the transforms of its items."""
    found, items = [], model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        move = np.array([list(row) for row in item.GetObjectTransform().Fields])
        parts = model.GetComponentsObjectByID(item.GetObjectResource().GetResourceID())
        for number in range(parts.GetComponentCount()):
            mesh = model.GetMeshObjectByID(parts.GetComponent(number).GetObjectResourceID())
            if not mesh.GetName().endswith("-base"):
                continue  # motifs stand on the base
            points = np.array([list(v.Coordinates) for v in mesh.GetVertices()]) @ move[:3] + move[3]
            assert points[:, 2].min() == pytest.approx(0, abs=1e-6)
            corners = [list(t.Indices) for t in mesh.GetTriangleIndices()]
            flat = [shapely.Polygon(points[corner, :2]) for corner in corners]
            found.append(shapely.union_all([one for one in flat if one.area > 1e-9]))
    return found


def test_the_first_piece_of_each_set_of_filaments_lies_alone_and_rows_that_share_them_together(
    laid: Path,
) -> None:
    assert on_beds(laid) == [("first", ["1"]), ("rest", ["1"] * 4 + ["2"] * 2), ("rest", ["3"])]


def test_lib3mf_reads_each_bed_strictly_with_every_piece_apart_named_and_in_color(laid: Path) -> None:
    for bed in report(laid)["beds"]:
        model = scene(laid / bed["file"])
        shapes = outlines(model)
        assert len(shapes) == len(bed["pieces"])
        assert all(one.distance(other) >= 5 - 1e-4 for one, other in combinations(shapes, 2))
        assert all(shapely.box(0, 0, 200, 200).buffer(1e-4).covers(shape) for shape in shapes)
        items, numbers = model.GetBuildItems(), []
        while items.MoveNext():
            numbers.append(items.GetCurrent().GetPartNumber())
        assert sorted(numbers) == sorted(f"{one['row']}-{one['copy']}" for one in bed["pieces"])
        meshes, names = model.GetMeshObjects(), set()
        while meshes.MoveNext():
            mesh = meshes.GetCurrentMeshObject()
            names.add(mesh.GetName())
            assert mesh.IsManifoldAndOriented()
        rows = {piece["row"] for piece in bed["pieces"]}
        assert names == {f"{row}-{part}" for row in rows for part in ("base", "yellow")}


def test_the_layer_check_of_a_bed_is_that_of_its_pieces(day: Path, laid: Path, capsys: Any) -> None:
    for bed in report(laid)["beds"]:
        rows = sorted({int(piece["row"]) for piece in bed["pieces"]})
        own = [item.code for row in rows for item in check_files([day / f"{row:04d}" / f"{row:04d}.3mf"])]
        assert [item.code for item in check_files([laid / bed["file"]])] == own
        assert set(own) <= {"low-hiding"}
    near = check_files([laid / "bed-02.3mf"], {"beds.spacing_mm": 40})
    assert [item.code for item in near if item.code != "low-hiding"] == ["pieces-near"]
    small = check_files([laid / "bed-02.3mf"], {"printer.bed_mm": (60, 60)})
    assert "bed-too-small" in [item.code for item in small]
    assert run(["check", str(laid / "bed-02.3mf")]) == 0
    assert "nothing found" in capsys.readouterr().err


def test_maps_and_page_show_rows_and_no_names(laid: Path) -> None:
    page = (laid / "beds.html").read_text()
    assert "8 pieces on 3 beds" in page
    assert "1 (4 times), 2 (2 times)" in page
    for bed in report(laid)["beds"]:
        with Image.open(laid / bed["map"]) as image:
            assert image.size[0] == round(180 / 25.4 * 200)
    for path in laid.iterdir():
        assert not any(name.encode() in path.read_bytes() for name in NAMES), path.name


@pytest.mark.parametrize(
    ("command", "said"),
    [("beds", "1 piece on 1 bed, "), ("quote", "1 piece on 1 bed: "), ("contact", "1 proof, code ")],
)
def test_one_of_a_kind_is_told_as_one(
    day: Path, tmp_path: Path, command: str, said: str, capsys: Any
) -> None:
    assert run([command, str(day / "0003"), "-o", str(tmp_path / "out")]) == 0
    assert said in capsys.readouterr().err


def test_the_same_sets_give_the_same_bytes(day: Path, laid: Path, tmp_path: Path) -> None:
    assert run(["beds", str(day), "-o", str(tmp_path / "beds"), "--quiet"]) == 0
    again = {path.name: path.read_bytes() for path in (tmp_path / "beds").iterdir()}
    assert again == {path.name: path.read_bytes() for path in laid.iterdir()}


def test_failed_rows_are_laid_onto_the_next_bed_and_older_beds_stay(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "beds"
    assert run(["beds", str(day), "-o", str(out), "--quiet"]) == 0
    before = {path.name: path.read_bytes() for path in out.glob("bed-*")}
    assert run(["beds", str(day), "-o", str(out), "--again", "2,1,1", "--quiet"]) == 0
    assert run(["beds", str(day), "-o", str(out), "--again", "0003", "--quiet"]) == 0
    assert on_beds(out)[3:] == [("again", ["2", "1", "1"]), ("again", ["3"])]
    after = {path.name: path.read_bytes() for path in out.glob("bed-*")}
    assert before.items() < after.items()
    assert {"bed-04.3mf", "bed-05.png"} <= set(after)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--again", "9"], "there is no row '9'; the sets are 1, 2, 3"),
        (["--again", ""], "there is no row ''"),
        (["--set", "beds.strip_mm=250"], "leaves nothing of printer.bed_mm"),
        (["--set", "beds.cell_mm=0.25", "--set", "printer.bed_mm=[900, 900]"], "use larger ones"),
        (["--set", "beds.spacing=5"], "did you mean beds.spacing_mm?"),
    ],
)
def test_a_mistake_is_one_line_and_changes_nothing(
    laid: Path, day: Path, words: list[str], told: str, capsys: Any
) -> None:
    before = {path.name: path.read_bytes() for path in laid.iterdir()}
    assert run(["beds", str(day), "-o", str(laid), *words]) == 2
    line = capsys.readouterr().err
    assert told in line
    assert line.count("\n") == 1
    assert before == {path.name: path.read_bytes() for path in laid.iterdir()}


def test_folders_without_sets_and_beds_are_refused(day: Path, tmp_path: Path, capsys: Any) -> None:
    assert run(["beds", str(tmp_path), "-o", str(tmp_path / "beds")]) == 2
    assert "holds no finished set" in capsys.readouterr().err
    assert run(["beds", str(tmp_path / "none"), "-o", str(tmp_path / "beds")]) == 2
    assert "there is no folder" in capsys.readouterr().err
    assert run(["beds", str(day), "-o", str(tmp_path / "beds"), "--again", "1"]) == 2
    assert "holds no beds to go on from" in capsys.readouterr().err
    assert not (tmp_path / "beds").exists()


def test_a_piece_that_is_too_large_and_a_row_not_to_print_are_told_and_the_others_laid(
    day: Path, tmp_path: Path, capsys: Any
) -> None:
    copy = tmp_path / "day"
    for path in day.rglob("*.*"):
        (copy / path.relative_to(day)).parent.mkdir(parents=True, exist_ok=True)
        (copy / path.relative_to(day)).write_bytes(path.read_bytes())
    told = copy / "0003" / "0003-report.json"
    value = json.loads(told.read_text())
    value["findings"].append({"code": "hole-weak", "severity": "stop", "message": "no", "at_mm": None})
    told.write_text(json.dumps(value))
    out = tmp_path / "beds"
    assert run(["beds", str(copy), "-o", str(out), "--set", "printer.bed_mm=[55, 55]"]) == 1
    said = capsys.readouterr().err
    assert "Row 2 is " in said
    assert "the bed has 55 x 55 mm" in said
    assert "Row 3 was not laid" in said
    assert {row for _, rows in on_beds(out) for row in rows} == {"1"}


def test_a_damaged_set_is_no_set(day: Path, tmp_path: Path, capsys: Any) -> None:
    one = tmp_path / "0001"
    one.mkdir()
    for path in (day / "0001").iterdir():
        (one / path.name).write_bytes(path.read_bytes())
    (one / "0001-base.stl").write_bytes(b"torn")
    assert run(["beds", str(one), "-o", str(tmp_path / "beds")]) == 2
    assert "is no whole set: 0001-base.stl" in capsys.readouterr().err


@pytest.mark.parametrize(
    "change",
    [
        {"size_mm": [1, 2]},
        {"parts": [{"name": "base", "color": "blue"}]},
        {"parts": 3},
        {"findings": [{"code": "x"}]},
        {"prints": [3]},
        {"filaments": ["red"]},
    ],
    ids=str,
)
def test_a_changed_report_is_one_line(day: Path, tmp_path: Path, change: dict[str, Any], capsys: Any) -> None:
    one = tmp_path / "0001"
    one.mkdir()
    for path in (day / "0001").iterdir():
        (one / path.name).write_bytes(path.read_bytes())
    told = one / "0001-report.json"
    told.write_text(json.dumps(json.loads(told.read_text()) | change))
    for words in (["beds"], ["quote"], ["contact"]):
        assert run([*words, str(one), "-o", str(tmp_path / "out")]) == 2
        assert capsys.readouterr().err.startswith("error: the report in ")


@pytest.mark.parametrize(
    "change", [{"file": "../x"}, {"number": "1"}, {"begins": [1]}, {"pieces": [{}]}], ids=str
)
def test_beds_whose_report_was_changed_are_not_gone_on_from(
    day: Path, laid: Path, tmp_path: Path, change: dict[str, Any], capsys: Any
) -> None:
    out = tmp_path / "beds"
    out.mkdir()
    for path in laid.iterdir():
        (out / path.name).write_bytes(path.read_bytes())
    told = report(out)
    told["beds"][0] |= change
    (out / "beds-report.json").write_text(json.dumps(told))
    assert run(["beds", str(day), "-o", str(out), "--again", "1"]) == 2
    assert "was changed; lay them anew" in capsys.readouterr().err


def test_the_strip_stays_free_and_eighths_turn_by_45_degrees(day: Path, tmp_path: Path) -> None:
    words = ["--set", "beds.strip_mm=60", "--set", "beds.turns=eighth", "--quiet"]
    assert run(["beds", str(day), "-o", str(tmp_path / "beds"), *words]) == 0
    for bed in report(tmp_path / "beds")["beds"]:
        shapes = outlines(scene(tmp_path / "beds" / bed["file"]))
        assert max(shape.bounds[3] for shape in shapes) <= 140 + 1e-4
        assert all(piece["turn_deg"] % 45 == 0 for piece in bed["pieces"])


def test_a_bed_takes_as_many_changes_as_one_piece_and_layers_once() -> None:
    """By hand: 10 layers of navy, 3 of red; two pieces of 1000 mm3, one without red, 5 mm3/s, 6 s, 60 s."""
    levels = {(0, layer): frozenset({NAVY if layer <= 10 else RED}) for layer in range(1, 14)}
    both = Bands(0.2, 0.2, levels)
    plain = Bands(0.2, 0.2, {level: colors for level, colors in levels.items() if level[1] <= 10})
    work = bed_work([(both, 1000.0), (plain, 1000.0)], PrinterSettings())
    assert (work.changes, work.between, work.purge_mm3) == (1, 1, 0.0)
    assert work.time_min == pytest.approx((2000 / 5 + 13 * 6 + 60) / 60)
    assert work.attended_min == 3.0
    assert work.mass_g == pytest.approx(2.48)
    assert [(one.layer, one.z_mm, one.color) for one in work.begins] == [(1, 0.0, NAVY), (11, 2.0, RED)]
    assert both.holds(plain)
    assert not plain.holds(both)
    assert not both.holds(Bands(0.2, 0.1, levels))


def test_turns_in_the_file_are_those_of_the_map(laid: Path) -> None:
    """The report's turn and place, by shapely, are where lib3mf finds the piece."""
    bed = report(laid)["beds"][1]
    model = scene(laid / bed["file"])
    alone = scene(laid / "bed-01.3mf")
    first = report(laid)["beds"][0]["pieces"][0]
    (shape,) = outlines(alone)
    made = affinity.rotate(
        affinity.translate(shape, *(-v for v in first["at_mm"])), -first["turn_deg"], (0, 0)
    )
    of_row_1 = [piece for piece in bed["pieces"] if piece["row"] == "1"]
    for piece, found in zip(of_row_1, outlines(model), strict=False):
        wanted = affinity.translate(affinity.rotate(made, piece["turn_deg"], (0, 0)), *piece["at_mm"])
        assert found.symmetric_difference(wanted).area < 0.1
