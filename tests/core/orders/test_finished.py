"""Finished sets read back: what is drawn from their solids is the planned piece, however it was printed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import Image
from shapely.affinity import translate

from reliefsmith.command.cli import run
from reliefsmith.documents.views import Face, front_face
from reliefsmith.orders.finished import found_sets
from reliefsmith.orders.units import Shapes, Unit
from reliefsmith.walk.pipeline import make


def flag(path: Path) -> Path:
    """A square with a disc and a bar in it that are not the same seen from behind or turned."""
    y, x = np.mgrid[:160, :160]
    pixels = np.zeros((160, 160, 4), np.uint8)
    pixels[10:150, 10:150] = (30, 60, 160, 255)
    pixels[(x - 50) ** 2 + (y - 45) ** 2 < 25**2] = (240, 200, 40, 255)
    pixels[100:130, 90:140] = (200, 40, 40, 255)
    Image.fromarray(pixels).save(path)
    return path


def by_color(face: Face) -> dict[tuple[int, int, int], shapely.Geometry]:
    """What is seen of each color, its lower left corner at the origin."""
    x, y, *_ = face.bounds
    colors = dict.fromkeys(face.colors)
    pairs = list(zip(face.colors, face.visible, strict=True))
    return {
        color: translate(shapely.union_all([shape for own, shape in pairs if own == color]), -x, -y)
        for color in colors
    }


@pytest.mark.parametrize(
    "settings",
    [
        {"heights.style": "raised"},
        {"heights.face": "down"},
        {"heights.face": "down", "heights.split": "pegs", "heights.base_mm": 3.0},
    ],
    ids=["up", "down", "plates"],
)
def test_the_front_drawn_from_solids_is_the_planned_one(tmp_path: Path, settings: dict[str, Any]) -> None:
    relief = make(flag(tmp_path / "flag.png"), {**settings, "size.width_mm": 60})
    relief.write(tmp_path / "set")
    (one,) = found_sets([tmp_path / "set"])
    planned, drawn = by_color(front_face(relief.stack)), by_color(Shapes().of(Unit(one)).finished(one))
    assert set(drawn) == set(planned)
    for color, shape in planned.items():
        assert drawn[color].symmetric_difference(shape).area < 0.02 * shape.area


def test_parts_take_the_color_of_their_filament(tmp_path: Path) -> None:
    spool = '{name = "harbor blue", color = "#203fa0"}'
    words = ["--set", f"filaments.stock=[{spool}]", "--quiet"]
    assert run(["make", str(flag(tmp_path / "flag.png")), "-o", str(tmp_path / "set"), *words]) == 0
    (one,) = found_sets([tmp_path / "set"])
    assert one.filaments["base"] == ("harbor blue", (0x20, 0x3F, 0xA0))
    assert {part.name: part.color for part in one.parts()}["base"] == (0x20, 0x3F, 0xA0)


def test_two_sets_of_one_name_are_told_apart_and_one_that_differs_in_printer_is_refused(
    tmp_path: Path, capsys: Any
) -> None:
    picture = flag(tmp_path / "flag.png")
    for name, bed in (("a", 200), ("b", 250)):
        words = ["-o", str(tmp_path / name), "--set", f"printer.bed_mm=[{bed}, 200]", "--quiet"]
        assert run(["make", str(picture), *words]) == 0
    both = [str(tmp_path / "a"), str(tmp_path / "b")]
    assert [one.name for one in found_sets([Path(one) for one in both])] == ["flag", "flag-2"]
    assert run(["beds", *both, "-o", str(tmp_path / "beds")]) == 2
    assert "flag and flag-2 differ in printer.bed_mm" in capsys.readouterr().err
    assert run(["beds", *both, "-o", str(tmp_path / "beds"), "--set", "printer.bed_mm=[250, 200]"]) == 0
