"""A kept plan gives the same piece in every later version; what is no plan is refused in one line."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import reliefsmith as rs
from reliefsmith.command.cli import run
from reliefsmith.errors import GeometryError, StoreError
from reliefsmith.mesh import signed_volume
from reliefsmith.model import Pocket
from reliefsmith.progress import drain
from reliefsmith.walk.kept import remake
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import FolderStore, decode, encode

SAMPLES = Path(__file__).parents[3] / "samples"
PLAN = Path(__file__).parents[1] / "data" / "kite-plan.npz"
"""The kite sample's plan as version 0.1.0 kept it, before holes had hardware and plans had pockets."""

# Of the parts that version 0.1.0 built from it: name, vertices, SHA-256 of the sorted corners in um, volume.
KEPT = (
    ("base", 2440, "d73b736debbc7e8b", 4538.26557),
    ("yellow", 2852, "fcc78b73e63c19d5", 254.240513),
    ("teal", 1396, "7eaadd65d166a630", 221.587664),
    ("red", 1672, "27388a4c8e07b508", 213.413981),
)


def test_a_plan_of_an_older_version_gives_its_parts_unchanged() -> None:
    relief = remake(PLAN, rs.Recipe.load(SAMPLES / "kite.toml").with_values({"heights.style": "raised"}))
    found = [(part.name, len(part.vertices), _corners(part.vertices)) for part in relief.parts]
    assert found == [row[:3] for row in KEPT]
    for part, row in zip(relief.parts, KEPT, strict=True):
        assert signed_volume(part.vertices, part.triangles) == pytest.approx(row[3], abs=1e-6)


def test_a_kept_plan_gives_the_files_of_its_run(tmp_path: Path) -> None:
    recipe = rs.Recipe.load(SAMPLES / "kite.toml")
    job = Job(SAMPLES / "kite.png", FolderStore(tmp_path / "stages"))
    first = job.relief(recipe).write(tmp_path / "first")
    kept = next((tmp_path / "stages").glob("hung-*.npz")).rename(tmp_path / "kite.npz")
    again = remake(kept, recipe).write(tmp_path / "again")
    told = {"kite-sheet.html", "kite-proof.png"}  # what they say of the picture needs its pixels
    assert again["files"].keys() == first["files"].keys()
    assert {name for name, digest in first["files"].items() if again["files"][name] != digest} <= told
    assert first["fidelity"]["edges_kept"] > 0.9
    assert again["fidelity"] is None


def test_a_kept_plan_takes_shaped_tops_but_those_that_need_the_picture() -> None:
    recipe = rs.Recipe.load(SAMPLES / "kite.toml").with_values({"heights.style": "raised"})
    flat, crown = (remake(PLAN, recipe.with_values({"heights.top": top})) for top in ("flat", "crown"))
    pairs = list(zip(flat.parts, crown.parts, strict=True))[1:]
    assert all(
        signed_volume(two.vertices, two.triangles) < signed_volume(one.vertices, one.triangles)
        for one, two in pairs
    )
    with pytest.raises(GeometryError, match="need the picture"):
        remake(PLAN, recipe.with_values({"heights.top": "brightness"}))


def test_the_command_takes_a_kept_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["make", str(PLAN), "--recipe", str(SAMPLES / "kite.toml"), "-o", str(tmp_path / "set"), "--json"]
    words += ["--set", "heights.style=raised"]
    assert run(words) == 0
    report = json.loads(capsys.readouterr().out)
    assert [part["name"] for part in report["parts"]] == [row[0] for row in KEPT]
    assert run([*words, "--width", "40"]) == 2
    assert "a kept plan" in capsys.readouterr().err


def test_what_is_no_plan_is_refused(tmp_path: Path) -> None:
    recipe = rs.Recipe()
    with pytest.raises(StoreError, match="there is no kept plan"):
        remake(tmp_path / "missing.npz", recipe)
    other = tmp_path / "other.npz"
    flat = drain(Job(SAMPLES / "kite.png").steps(recipe, "flat"))["flat"]
    other.write_bytes(encode(flat))
    with pytest.raises(StoreError, match="holds no finished plan"):
        remake(other, recipe)
    other.write_bytes(PLAN.read_bytes()[:-100])
    with pytest.raises(StoreError, match="cannot be read"):
        remake(other, recipe)


def _corners(vertices: np.ndarray) -> str:
    grid = np.rint(vertices * 1000).astype(np.int64)
    return hashlib.sha256(np.unique(grid, axis=0).tobytes()).hexdigest()[:16]


@pytest.mark.parametrize(
    "change",
    [
        {"base_color": (300, 0, 0)},
        {"area_colors": ()},
        {"artwork_mm": (0.0, 40.0)},
        {"center_of_mass_mm": (float("nan"), 0.0)},
        {"base": shapely.Polygon([(0, 0), (9, 9), (9, 0), (0, 9)])},
        {"base": shapely.Polygon()},
        {"base": shapely.box(0, 0, 1e9, 1)},
    ],
    ids=str,
)
def test_a_damaged_plan_is_refused(change: dict[str, object], tmp_path: Path) -> None:
    plan = decode(PLAN.read_bytes())
    path = tmp_path / "kite.npz"
    path.write_bytes(encode(replace(plan, **change)))
    with pytest.raises(StoreError, match=r"kite\.npz is damaged; make the picture again"):
        remake(path, rs.Recipe())


def test_a_field_of_another_kind_is_refused() -> None:
    plan = decode(PLAN.read_bytes())
    odd = Pocket("kite", shapely.box(0, 0, 1, 1), 0.4, "back")  # type: ignore[arg-type]
    for change in ({"base_is_extra": "yes"}, {"frame": None}, {"pockets": (odd,)}):
        with pytest.raises(StoreError, match="has no usable"):
            decode(encode(replace(plan, **change)))
