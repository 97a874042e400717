"""What lies on beds by itself: parts of a piece that is cut, and what goes with a piece."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import reliefsmith as rs
from reliefsmith.command.cli import run
from reliefsmith.formats.threemf_read import read_bed
from reliefsmith.mesh import signed_volume
from reliefsmith.orders.finished import found_sets
from reliefsmith.orders.units import Shapes, Unit, units_of

STANDING = {"stand": {"kind": "slot"}, "base": {"shape": "rectangle"}, "size": {"width_mm": 60}}
CUT = {"size": {"width_mm": 90}, "printer": {"bed_mm": [70, 60]}, "seams": {"mode": "auto"}}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two copies of a piece that stands in two feet, and one that is cut in two."""
    made = tmp_path_factory.mktemp("apart")
    picture = np.full((70, 150, 3), 255, dtype=np.uint8)
    picture[10:60, 10:75] = 200, 40, 45
    picture[10:60, 75:140] = 30, 60, 150
    Image.fromarray(picture).save(made / "fields.png")
    rs.make(made / "fields.png", {**STANDING, "order": {"quantity": 2}}).write(made / "standing")
    rs.make(made / "fields.png", CUT).write(made / "cut")
    return made


def _volume(parts) -> float:
    return sum(signed_volume(part.vertices, part.triangles) for part in parts)


def test_parts_and_what_goes_with_a_piece_are_read_in_their_colors(folder: Path) -> None:
    (cut,) = found_sets([folder / "cut"])
    assert [unit.what for unit in units_of(cut)] == ["part-1", "part-2"]
    together = [unit.parts() for unit in units_of(cut)]
    assert sum(map(_volume, together)) == pytest.approx(_volume(cut.parts()), rel=1e-5)
    colors = {part.name: part.color for part in cut.parts()}
    assert all(part.color == colors[part.name] for parts in together for part in parts)
    (standing,) = found_sets([folder / "standing"])
    assert [(unit.what, unit.number) for unit in units_of(standing)] == [("", 1), ("foot", 1), ("foot", 2)]
    (foot,) = units_of(standing)[1].parts()
    told = standing.report["accessories"][0]["parts"][0]
    assert (foot.name, _volume([foot])) == (told["name"], pytest.approx(told["volume_mm3"], rel=1e-3))


@pytest.mark.parametrize("name", ["standing", "cut"])
def test_beds_lay_all_of_it(folder: Path, name: str, tmp_path: Path, capsys) -> None:
    assert run(["beds", str(folder / name), "-o", str(tmp_path / "beds"), "--quiet"]) == 0
    report = json.loads((tmp_path / "beds" / "beds-report.json").read_text())
    laid = [(piece["copy"], piece.get("what", "")) for bed in report["beds"] for piece in bed["pieces"]]
    wanted = {
        "standing": [(copy, what) for copy in (1, 2) for what in ("", "foot", "foot")],
        "cut": [(1, "part-1"), (1, "part-2")],
    }
    assert sorted(laid) == sorted(wanted[name])
    built = [
        one for bed in report["beds"] for one in read_bed((tmp_path / "beds" / bed["file"]).read_bytes(), "x")
    ]
    assert len({one.number for one in built}) == len(laid)
    (finished,) = found_sets([folder / name])
    copies = finished.recipe.order.quantity
    volume = sum(_volume(unit.parts()) for unit in units_of(finished))
    assert sum(_volume(one.parts) for one in built) == pytest.approx(copies * volume, rel=1e-5)
    grams = sum(bed["mass_g"] for bed in report["beds"])
    # Each bed tells its grams to a thousandth.
    assert grams >= finished.recipe.printer.mass_g(copies * volume) - 0.001 * len(report["beds"])
    title = f"{copies} piece{'s' * (copies > 1)} on {len(report['beds'])} bed"
    assert title in (tmp_path / "beds" / "beds.html").read_text(encoding="utf-8")


def test_a_quote_counts_pieces_and_charges_all_plastic(folder: Path, tmp_path: Path) -> None:
    words = ["--set", "cost.filament_per_kg=1000", "--set", "cost.failures=0", "--set", "cost.change_g=0"]
    words += ["--set", "beds.cell_mm=1"]  # which is quicker
    for name, pieces in (("standing", 2), ("cut", 1)):
        assert run(["quote", str(folder / name), "-o", str(tmp_path / name), "--quiet", *words]) == 0
        report = json.loads((tmp_path / name / "quote-report.json").read_text())
        assert report["prices"][0]["pieces"] == pieces
        (finished,) = found_sets([folder / name])
        volume = sum(_volume(unit.parts()) for unit in units_of(finished))
        least = finished.recipe.printer.mass_g(pieces * volume)  # a unit of money for each gram
        assert float(report["prices"][0]["cost"]) >= least


def test_a_part_has_the_bands_of_its_own_layers(folder: Path) -> None:
    (cut,) = found_sets([folder / "cut"])
    shapes = Shapes()
    whole, *parts = (shapes.of(unit).bands for unit in (Unit(cut), *units_of(cut)))
    assert all(whole.holds(part) for part in parts)
