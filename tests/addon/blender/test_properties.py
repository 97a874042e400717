"""The properties say what the recipe says, both ways, with nothing declared twice."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"


def test_untouched_properties_are_the_default_recipe(scene: Any, installed: str) -> None:
    from reliefsmith import Recipe

    properties = importlib.import_module(installed + ".properties")
    assert properties.to_recipe(scene.reliefsmith) == Recipe()


@pytest.mark.parametrize("name", ["kite", "heron", "lantern"])
def test_a_recipe_comes_back_as_it_went_in(scene: Any, installed: str, name: str) -> None:
    from reliefsmith import Recipe

    properties = importlib.import_module(installed + ".properties")
    recipe = Recipe.load(SAMPLES / f"{name}.toml").with_values(
        {
            "colors.base": "#1e8a8a",
            "colors.merge": [["#ff0000", "#00ff00"]],
            "colors.omit": ["#123456"],
            "hang.at_mm": [1.25, -3.5],
            "base.border_mm": 1.35,
            "marks": [
                {"kind": "recolor", "at_mm": [1.25, -3.5], "value": "#1e8a8a"},
                {"kind": "thicken", "at_mm": [0, 0], "value": 0.85},
                {"kind": "border", "at_mm": [2, 0], "value": 3},
                {"kind": "link", "at_mm": [4, 0]},
                {"kind": "merge", "at": "area 7, red"},
                {"kind": "erase", "polygon_mm": [[0, 0], [4, 0.5], [0, 3]]},
            ],
            "lettering": [
                {"text": "Mirabel", "at_mm": [0, -20], "size_mm": 6.5, "color": "#f5b82e"},
                {"text": "12", "place": "back", "box_mm": [-10, -4, 20, 8]},
            ],
            "filaments.stock": [
                {"name": "reed green", "color": "#2f8f6a", "grams": 120.5},
                {"name": "night", "color": "#101418", "finish": "silk", "opaque_mm": 0.6},
            ],
        }
    )
    properties.from_recipe(scene.reliefsmith, recipe)
    assert properties.to_recipe(scene.reliefsmith) == recipe


def test_every_setting_has_its_help_and_bounds(scene: Any) -> None:
    from reliefsmith import Recipe
    from reliefsmith.recipe.settings import specs

    seen = 0
    for name, section in Recipe().sections():
        group = getattr(scene.reliefsmith, name).bl_rna.properties
        for key, spec in specs(type(section)).items():
            assert spec.help.lower() in group[key].description.lower()
            if spec.kind == "number":
                assert group[key].hard_min == pytest.approx(spec.low)
                assert group[key].hard_max == pytest.approx(spec.high)
            if spec.kind == "choice":
                assert tuple(group[key].enum_items.keys()) == spec.choices
            seen += 1
    assert seen > 40


def test_settings_are_kept_in_the_file(scene: Any, tmp_path: Path) -> None:
    scene.reliefsmith.base.border_mm = 2.25
    scene.reliefsmith.picture = "kite.png"
    path = str(tmp_path / "a.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    assert bpy.context.scene.reliefsmith.base.border_mm == 1.0
    bpy.ops.wm.open_mainfile(filepath=path)
    assert bpy.context.scene.reliefsmith.base.border_mm == 2.25
    assert bpy.context.scene.reliefsmith.picture == "kite.png"
    assert bpy.context.scene.reliefsmith.schema == 1


def test_recipe_files_are_saved_and_loaded(scene: Any, installed: str, tmp_path: Path) -> None:
    from reliefsmith import Recipe

    scene.reliefsmith.heights.base_mm = 1.6
    path = str(tmp_path / "r.toml")
    assert bpy.ops.reliefsmith.save_recipe(filepath=path) == {"FINISHED"}
    assert Recipe.load(path).heights.base_mm == 1.6
    scene.reliefsmith.heights.base_mm = 3
    assert bpy.ops.reliefsmith.load_recipe(filepath=path) == {"FINISHED"}
    assert importlib.import_module(installed + ".properties").to_recipe(scene.reliefsmith) == Recipe.load(
        path
    )


def test_a_bad_recipe_is_refused_in_one_sentence(scene: Any, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("[base]\nbordr_mm = 1\n")
    with pytest.raises(RuntimeError, match=r"base\.bordr_mm.*border_mm"):
        bpy.ops.reliefsmith.load_recipe(filepath=str(path))
