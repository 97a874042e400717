"""Panels without a window: every draw function against a layout that checks what it is asked to show."""

from __future__ import annotations

import importlib
import types
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"
ICONS = {
    item.identifier for item in bpy.types.UILayout.bl_rna.functions["prop"].parameters["icon"].enum_items
}


class Recorder:
    """Stands in for a layout; sub-layouts share one log. Unknown names and icons raise."""

    def __init__(self, log: list[tuple[Any, ...]]) -> None:
        object.__setattr__(self, "log", log)

    def __setattr__(self, name: str, value: object) -> None:
        if name not in bpy.types.UILayout.bl_rna.properties:
            raise AttributeError(f"a layout has no {name}")

    def __getattr__(self, name: str) -> Any:
        if name not in bpy.types.UILayout.bl_rna.functions:
            raise AttributeError(f"a layout has no {name}")

        def call(*given: Any, **named: Any) -> Any:
            assert named.get("icon", "NONE") in ICONS, named
            if name == "prop":
                assert given[1] in given[0].bl_rna.properties, given[1]
            if name == "operator":
                space, _, word = given[0].partition(".")
                kind = getattr(getattr(bpy.ops, space), word).get_rna_type()
                self.log.append((name, given[0], *([named["text"]] if named.get("text") else [])))
                return Given(kind.properties.keys())
            if name == "operator_menu_enum":
                space, _, word = given[0].partition(".")
                kind = getattr(getattr(bpy.ops, space), word).get_rna_type()
                assert kind.properties[given[1]].type == "ENUM"
                self.log.append((name, given[0], named.get("text")))
                return Given(kind.properties.keys())
            if name == "menu":
                assert hasattr(bpy.types, given[0]), given[0]
            self.log.append((name, *given[1:], named.get("text")))
            return Recorder(self.log)

        return call


class Given:
    """Stands in for an operator's settings; only those it has can be set."""

    def __init__(self, names: list[str]) -> None:
        object.__setattr__(self, "names", set(names))

    def __setattr__(self, name: str, value: object) -> None:
        assert name in self.names, name


def drawn() -> dict[str, list[tuple[Any, ...]]]:
    """Draw every panel of the tab; what each showed, by its title, in the order in which they stand."""
    shown = {}
    panels = [
        item for item in bpy.types.Panel.__subclasses__() if getattr(item, "bl_category", "") == "Relief"
    ]
    for panel in (item for item in panels if item.is_registered):
        log: list[tuple[Any, ...]] = []
        panel.draw(types.SimpleNamespace(layout=Recorder(log)), bpy.context)
        shown[panel.bl_label] = log
    return shown


def test_the_empty_tab_says_what_to_do_next(scene: Any) -> None:
    shown = drawn()
    assert ("operator", "reliefsmith.load_picture") in shown["Relief"]
    assert ("operator", "reliefsmith.make") not in shown["Relief"]
    for title in ("Colors", "Findings"):
        assert "Make the relief" in str(shown[title])


def test_after_a_run_parts_and_findings_are_shown(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    shown = drawn()
    assert ("operator", "reliefsmith.make") in shown["Relief"]
    assert ("operator", "reliefsmith.use_color") in shown["Colors"]
    for part in scene.reliefsmith.parts:
        assert part.name in str(shown["Colors"])
    said = " ".join(str(entry[-1]) for entry in shown["Findings"] if entry[0] == "label")
    assert len(scene.reliefsmith.findings) > 0
    for found in scene.reliefsmith.findings:
        assert found.message in said


def test_the_menu_of_a_color_offers_every_other_color(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    first, *others = scene.reliefsmith.parts
    log: list[tuple[Any, ...]] = []
    context = types.SimpleNamespace(scene=scene, reliefsmith_part=first)
    bpy.types.RELIEFSMITH_MT_merge.draw(types.SimpleNamespace(layout=Recorder(log)), context)
    assert [entry[2] for entry in log] == [other.name for other in others]


def test_what_is_set_aside_and_own_heights_are_shown(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    names = [part.name for part in scene.reliefsmith.parts if part.role == "motif"]
    bpy.ops.reliefsmith.own_height(part=names[0])
    bpy.ops.reliefsmith.use_color(part=names[1], role="omit")
    shown = drawn()["Colors"]
    assert ("prop", "height_mm", "") in shown
    assert ("operator", "reliefsmith.keep_color") in shown
    assert ("operator", "reliefsmith.own_height", "Own Height") in shown


def test_every_setting_is_on_a_panel_but_the_limits_that_guard_files(scene: Any) -> None:
    from reliefsmith import Recipe
    from reliefsmith.recipe.settings import specs

    panels = drawn()
    shown = {entry[1] for log in panels.values() for entry in log if entry[0] == "prop"}
    for name, section in Recipe().sections():
        lists = {"tables", "colors", "color-pairs"}
        keys = {key for key, spec in specs(type(section)).items() if spec.kind not in lists}
        limits = {key for key in keys if name == "artwork" and key.startswith("max_")}
        assert not limits & shown
        assert keys - limits <= shown
    assert "audience" in shown
    assert ("operator", "reliefsmith.add_color") in panels["Finding Colors"]


def test_no_setting_is_called_by_a_word_that_says_nothing(scene: Any, installed: str) -> None:
    from reliefsmith import Recipe
    from reliefsmith.recipe.recipe import LETTERING, MARKS
    from reliefsmith.recipe.settings import specs

    labels = importlib.import_module(installed + ".labels")
    owned = [
        (name, key, spec)
        for name, section in Recipe().sections()
        for key, spec in specs(type(section)).items()
    ]
    for spec in (MARKS, LETTERING, *(spec for _, _, spec in owned if spec.row)):
        owned += [(spec.row.NAME, key, own) for key, own in specs(spec.row).items()]
    called = {f"{owner}.{key}": labels.label(owner, key, spec.unit) for owner, key, spec in owned}
    assert set(labels.plainer()) <= set(called)
    vague = {
        "Least",
        "At",
        "Higher",
        "Value",
        "Thin",
        "Foot",
        "Longest",
        "Measure",
        "Mode",
        "Hole",
        "Top",
        "Hand",
    }
    assert not vague & set(called.values())
    for words in called.values():
        assert "_" not in words
        assert not any(words.endswith(f" {unit} ({unit})") for unit in ("s", "min", "g", "deg"))
    panels = [
        [called[key] for key in called if key.startswith(f"{name}.") and key.count(".") == 1]
        for name, _ in Recipe().sections()
    ]
    assert all(len(set(words)) == len(words) for words in panels)


def test_lists_of_tables_are_shown_row_by_row(scene: Any) -> None:
    bpy.ops.reliefsmith.add_filament()
    mark = scene.reliefsmith.marks.add()
    mark.kind, mark.use_at_mm = "erase", True
    shown = drawn()
    assert {"name", "color", "finish", "grams"} <= {e[1] for e in shown["Filaments"] if e[0] == "prop"}
    assert {"mark_kind", "at_mm"} <= {entry[1] for entry in shown["Corrections"] if entry[0] == "prop"}


def test_each_kind_of_mark_asks_for_what_it_takes(scene: Any) -> None:
    from reliefsmith.recipe.tables import MARK_KINDS

    for name, kind in MARK_KINDS.items():
        if not kind.point:  # a click sets points only
            continue
        scene.reliefsmith.mark_kind = name
        asked = {entry[1] for entry in drawn()["Corrections"] if entry[0] == "prop"}
        assert ("mark_color" in asked) == (kind.value == "color")
        assert any(word.endswith("_mm") for word in asked) == (kind.value == "mm")
        assert ("mark_has_value" in asked) == (bool(kind.value) and not kind.needs_value)
