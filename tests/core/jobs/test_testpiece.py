"""The coupon: sound solids of the stated sizes, a set of its own, a sheet to read it by."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import shapely

from reliefsmith.command.cli import run
from reliefsmith.formats.setreading import read_set
from reliefsmith.jobs.testpiece import write_coupon
from reliefsmith.mesh import cut, mesh_faults, signed_volume
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.coupon import Coupon, coupon

RECIPE = Recipe()


def _coupon(recipe: Recipe = RECIPE) -> Coupon:
    return coupon(heights=recipe.heights, printer=recipe.printer, filaments=recipe.filaments)


@pytest.mark.parametrize("layer", [0.08, 0.2, 0.28])
def test_its_parts_are_closed_and_hold_what_their_slabs_do(layer: float) -> None:
    piece = _coupon(RECIPE.with_values({"heights.layer_mm": layer}))
    for part in build(piece.stack):
        assert mesh_faults(part.vertices, part.triangles).sound
        wanted = sum(
            slab.polygon.area * (slab.top - slab.bottom_mm)
            for slab in piece.stack.slabs
            if slab.part == part.name
        )
        assert signed_volume(part.vertices, part.triangles) == pytest.approx(wanted, rel=1e-9)


def test_every_feature_is_printed_in_its_stated_size() -> None:
    piece = _coupon()
    base, light, strip = build(piece.stack)
    plate = cut(base.vertices, base.triangles, 0.9)
    raised = cut(light.vertices, light.triangles, 1.3)
    on_bed = cut(strip.vertices, strip.triangles, 0.1)
    assert shapely.intersection(plate, raised).area == pytest.approx(raised.area)  # nothing in the air
    for item in piece.features:
        x0, y0, x1, y1 = item.shape.bounds
        middle = shapely.LineString([(x0 - 1.2, (y0 + y1) / 2), (x1 + 1.2, (y0 + y1) / 2)])
        where = {"hole": plate, "face": on_bed}.get(item.kind, raised)
        if item.kind in {"gap", "hole"}:
            free = shapely.difference(middle, where)
            width = max(part.length for part in shapely.get_parts(free))
        else:
            width = shapely.intersection(shapely.box(x0, y0, x1, y1), where).bounds
            width = width[2] - width[0]
        nominal = 4.4 if item.kind == "step" else item.size
        assert width == pytest.approx(nominal, abs=0.002), item.kind


def test_steps_have_one_to_six_layers_and_one_patch_is_thick() -> None:
    piece = _coupon()
    _, light, _ = build(piece.stack)
    tops = []
    for item in (item for item in piece.features if item.kind in {"step", "thick"}):
        x, y = item.shape.centroid.coords[0]
        near = (np.abs(light.vertices[:, 0] - x) < 2.3) & (np.abs(light.vertices[:, 1] - y) < 2.3)
        tops.append(round(float(light.vertices[near, 2].max() - light.vertices[near, 2].min()), 6))
    assert tops == [0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 2.4]


def test_it_is_60_by_30_mm_and_one_change_by_height_lies_where_the_light_begins() -> None:
    piece = _coupon()
    bounds = shapely.total_bounds([slab.polygon for slab in piece.stack.slabs])
    assert bounds.tolist() == [-30, -15, 30, 15]
    assert [(change.layer, change.color) for change in piece.stack.color_changes] == [
        (1, piece.dark),
        (7, piece.light),
    ]


def test_the_stock_gives_its_darkest_and_lightest_filament() -> None:
    rows = [
        {"name": name, "color": color}
        for name, color in (("a", "#808080"), ("b", "#102040"), ("c", "#f0e0a0"))
    ]
    piece = _coupon(RECIPE.with_values({"filaments.stock": rows}))
    assert (piece.dark, piece.light) == ((16, 32, 64), (240, 224, 160))
    assert _coupon(RECIPE.with_values({"filaments.stock": rows[:1]})).dark == _coupon().dark


def test_the_command_writes_a_set_with_the_same_bytes_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["coupon", "-o", str(tmp_path / "one"), "--json", "--quiet"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert [row["kind"] for row in report["features"]] == [
        "stroke",
        "gap",
        "step",
        "thick",
        "dot",
        "hole",
        "face",
    ]
    write_coupon(tmp_path / "two", RECIPE)
    assert read_set(tmp_path / "one").is_set
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_its_findings_are_only_those_of_strokes_and_colors(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_coupon(tmp_path, RECIPE)
    run(["check", str(tmp_path / "coupon.3mf"), "--json", "--quiet"])
    codes = {item["code"] for item in json.loads(capsys.readouterr().out)["findings"]}
    assert not codes & {"not-watertight", "parts-overlap", "island-in-air", "overhang"}


def test_layers_too_high_for_the_nozzle_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["coupon", "-o", str(tmp_path / "set"), "--set", "heights.layer_mm=0.5"]
    assert run(words) == 2
    assert "nozzle" in capsys.readouterr().err
    assert not (tmp_path / "set").exists()
