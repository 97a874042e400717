"""Texts in the panels: added, set, made as the core makes them, and a bad one told in words."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def test_a_text_of_the_panel_is_made_as_the_core_makes_it(scene: Any, made: Any, installed: str) -> None:
    import reliefsmith as rs

    properties = importlib.import_module(installed + ".properties")
    assert bpy.ops.reliefsmith.add_text(text="Mirabel") == {"FINISHED"}
    scene.reliefsmith.lettering[0].place = "back"
    made()
    recipe = properties.to_recipe(scene.reliefsmith)
    assert [(item.text, item.place) for item in recipe.lettering] == [("Mirabel", "back")]
    relief = rs.make(LANTERN, recipe)
    base = next(item for item in scene.objects if item.get("reliefsmith_part") == "base")
    assert len(base.data.vertices) == len(relief.parts[0].vertices)
    assert bpy.ops.reliefsmith.remove_row(what="lettering", index=0) == {"FINISHED"}
    made()
    assert properties.to_recipe(scene.reliefsmith).lettering == ()


def test_a_bad_text_is_told_in_words(scene: Any, made: Any) -> None:
    bpy.ops.reliefsmith.add_text(text="漢")
    with pytest.raises(RuntimeError, match="has no glyph for") as caught:
        bpy.ops.reliefsmith.make()
    assert "Traceback" not in str(caught.value)
    assert any("reliefsmith_part" in item for item in scene.objects)
