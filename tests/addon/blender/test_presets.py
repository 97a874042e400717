"""Presets as a menu: each shipped one is offered with its help, sets what the core sets, and is undone."""

from __future__ import annotations

from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender


def _offered() -> dict[str, str]:
    known = bpy.ops.reliefsmith.use_preset.get_rna_type().properties["preset"].enum_items
    return {item.identifier: item.description for item in known}


def test_the_menu_offers_every_preset_with_its_help(scene: Any) -> None:
    from reliefsmith.recipe.presets import preset_forms

    assert _offered() == {name: form.about for name, form in preset_forms().items()}


def test_every_preset_sets_what_the_core_sets(scene: Any, recipe: Any) -> None:
    from reliefsmith.recipe.presets import with_preset

    scene.reliefsmith.colors.count = 3
    for name in _offered():
        before = recipe()
        assert bpy.ops.reliefsmith.use_preset(preset=name) == {"FINISHED"}
        assert recipe() == with_preset(before, name), name
        assert recipe().colors.count == 3


def test_a_preset_is_made_at_once_and_undone(scene: Any, made: Any, recipe: Any) -> None:
    bpy.ops.ed.undo_push(message="made")
    before, size = recipe(), scene.reliefsmith.size_text
    assert bpy.ops.reliefsmith.use_preset(preset="magnet") == {"FINISHED"}
    bpy.ops.ed.undo_push(message="preset")
    scene.reliefsmith.live = True
    made()
    assert recipe().hang.hardware == "magnet"
    assert scene.reliefsmith.size_text != size
    assert any(item.code == "form-caution" for item in scene.reliefsmith.findings)
    bpy.ops.ed.undo()
    assert recipe() == before
