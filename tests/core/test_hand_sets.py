"""Hand relief from the command line and from scripts: the written recipe makes the same set again."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import reliefsmith as rs
from lamps import draw_lamp
from reliefsmith.command.cli import run
from reliefsmith.errors import RecipeError
from reliefsmith.formats.heightfile import heights_tiff, read_heights
from reliefsmith.formats.setwriting import read_set
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import FolderStore

STEP = 1 / 50


def _field() -> np.ndarray:
    y, x = np.mgrid[:51, :51] - 25.0
    field = (0.5 * np.exp(-(x**2 + y**2) / 60)).astype(np.float32)
    field[:5] = np.nan
    return field


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A picture, a field, and a recipe beside them that names it."""
    draw_lamp(tmp_path / "lamp.png")
    (tmp_path / "glow.tiff").write_bytes(heights_tiff(_field()))
    (tmp_path / "lamp.toml").write_text(
        'schema = 1\n[size]\nwidth_mm = 30.0\n[heights]\nstyle = "raised"\nhand = "glow.tiff"\n'
        f"hand_origin = [-0.5, 0.5]\nhand_step = {STEP!r}\n"
    )
    return tmp_path


def _bytes(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_the_written_recipe_makes_the_same_set_again(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)  # a recipe's files are found from the recipe's folder
    first, second = tmp_path / "one", tmp_path / "two"
    words = [str(folder / "lamp.png"), "--quiet"]
    assert run(["make", *words, "--recipe", str(folder / "lamp.toml"), "-o", str(first)]) == 0
    assert read_set(first).is_set
    assert (first / "lamp-hand.tiff").read_bytes() == (folder / "glow.tiff").read_bytes()
    assert 'hand = "lamp-hand.tiff"' in (first / "lamp-recipe.toml").read_text()
    assert run(["make", *words, "--recipe", str(first / "lamp-recipe.toml"), "-o", str(second)]) == 0
    assert _bytes(first) == _bytes(second)
    # And in its own place: it reads the file that it would replace, with the same bytes.
    assert run(["make", *words, "--recipe", str(first / "lamp-recipe.toml"), "-o", str(first)]) == 0
    assert _bytes(first) == _bytes(second)


def test_sculpted_parts_are_higher_and_layers_are_counted_anew(folder: Path, tmp_path: Path) -> None:
    recipe = rs.Recipe.load(folder / "lamp.toml")
    plain = rs.make(folder / "lamp.png", recipe.with_values({"heights.hand": ""}))
    report = rs.make(folder / "lamp.png", recipe).write(tmp_path / "out")
    assert report["parts"][1]["z_mm"][1] == pytest.approx(3.1, abs=0.01)
    assert report["layers"] == len(plain.stack.layer_tops_mm) + 2
    assert report["files"]["lamp-hand.tiff"]


def test_a_job_without_hand_relief_lists_no_file_of_it(folder: Path, tmp_path: Path) -> None:
    report = rs.make(folder / "lamp.png", {"size.width_mm": 30}).write(tmp_path / "out")
    assert not [name for name in report["files"] if "hand" in name]


def test_script_and_command_line_write_the_same_parts(folder: Path, tmp_path: Path) -> None:
    hand = rs.HandRelief(_field(), (-0.5, 0.5), STEP)
    recipe = {"size": {"width_mm": 30.0}, "heights": {"style": "raised"}}
    rs.make(folder / "lamp.png", recipe, hand=hand).write(tmp_path / "script")
    words = ["--recipe", str(folder / "lamp.toml"), "-o", str(tmp_path / "line"), "--quiet"]
    assert run(["make", str(folder / "lamp.png"), *words]) == 0
    assert _bytes(tmp_path / "script") == _bytes(tmp_path / "line")


def test_an_array_covers_the_picture_and_comes_back_framed(folder: Path, tmp_path: Path) -> None:
    """Row 0 is the upper edge of the picture: only its upper half is lifted."""
    array = np.zeros((60, 60))
    array[:30] = 0.4
    relief = rs.make(folder / "lamp.png", {"size.width_mm": 30}, hand=array)
    base = relief.parts[0].vertices
    assert base[base[:, 1] > 1, 2].max() == pytest.approx(2.4)
    assert base[base[:, 1] < -1, 2].max() == pytest.approx(2.0)
    relief.write(tmp_path / "out")
    again = rs.make(folder / "lamp.png", tmp_path / "out" / "lamp-recipe.toml")
    for one, other in zip(relief.parts, again.parts, strict=True):
        np.testing.assert_array_equal(one.vertices, other.vertices)


def test_a_grey_picture_over_the_artwork_is_hand_relief_between_two_heights(folder: Path) -> None:
    grey = np.zeros((240, 240), np.uint8)
    grey[:, 120:] = 255
    Image.fromarray(grey).save(folder / "glow.png")
    more = {"heights.hand": str(folder / "glow.png"), "heights.hand_range_mm": (0.0, 0.8)}
    base = rs.make(folder / "lamp.png", {"size.width_mm": 30, **more}).parts[0].vertices
    assert base[base[:, 0] > 1, 2].max() == pytest.approx(2.8)
    assert base[base[:, 0] < -1, 2].max() == pytest.approx(2.0)


def test_kept_plans_and_kept_stages_take_hand_relief(folder: Path) -> None:
    recipe = rs.Recipe.load(folder / "lamp.toml")
    relief = Job(folder / "lamp.png", FolderStore(folder / "stages")).relief(recipe)
    plan = next((folder / "stages").glob("hung-*.npz"))
    for other in (
        rs.remake(plan, recipe),
        Job(folder / "lamp.png", FolderStore(folder / "stages")).relief(recipe),
    ):
        for one, same in zip(relief.parts, other.parts, strict=True):
            np.testing.assert_array_equal(one.vertices, same.vertices)


def test_a_changed_file_of_the_same_name_is_seen(folder: Path) -> None:
    recipe = rs.Recipe.load(folder / "lamp.toml")
    job = Job(folder / "lamp.png")
    before = job.relief(recipe).parts[1].vertices[:, 2].max()
    (folder / "glow.tiff").write_bytes(heights_tiff(2 * _field()))
    assert job.relief(recipe).parts[1].vertices[:, 2].max() == pytest.approx(before + 0.5, abs=0.01)


BAD = {
    "no frame": ({"heights.hand_origin": None, "heights.hand_step": None}, "has no frame"),
    "half a frame": ({"heights.hand_origin": None}, "go together"),
    "no file": ({"heights.hand": "nowhere.tiff"}, "there is no hand relief"),
    "face down": ({"heights.style": "flush", "heights.face": "down"}, "face down"),
}


@pytest.mark.parametrize("case", BAD, ids=str)
def test_bad_hand_relief_is_one_line_and_writes_nothing(
    folder: Path, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    changed, words = BAD[case]
    recipe = rs.Recipe.load(folder / "lamp.toml").with_values(changed)
    (folder / "bad.toml").write_text(recipe.to_toml())
    out = folder / "out"
    assert run(["make", str(folder / "lamp.png"), "--recipe", str(folder / "bad.toml"), "-o", str(out)]) == 2
    told = capsys.readouterr().err.strip().splitlines()[-1]
    assert words in told
    assert not out.exists()


def test_a_picture_of_another_shape_has_no_place(folder: Path) -> None:
    with pytest.raises(RecipeError, match="no place on it"):
        rs.make(folder / "lamp.png", {"size.width_mm": 30}, hand=np.zeros((60, 90)))


@pytest.mark.parametrize("bad", [np.zeros(4), np.full((3, 3), np.nan), np.array([["a"]]), np.zeros((0, 3))])
def test_arrays_that_are_no_heights_are_refused(folder: Path, bad: np.ndarray) -> None:
    with pytest.raises(RecipeError):
        rs.make(folder / "lamp.png", None, hand=bad)


def test_the_written_report_and_recipe_name_no_folder(folder: Path, tmp_path: Path) -> None:
    rs.make(folder / "lamp.png", folder / "lamp.toml").write(tmp_path / "out")
    for path in (tmp_path / "out").iterdir():
        if path.suffix in (".toml", ".json", ".html", ".svg"):
            assert str(tmp_path) not in path.read_text(encoding="utf-8")
    report = json.loads((tmp_path / "out" / "lamp-report.json").read_text())
    assert "lamp-hand.tiff" in report["files"]
    back, _ = read_heights(tmp_path / "out" / "lamp-hand.tiff", (0.0, 1.0))
    np.testing.assert_array_equal(back, _field())
