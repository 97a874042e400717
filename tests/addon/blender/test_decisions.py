"""The rows of the decisions: what they say is the core's, and each button decides otherwise."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def rows(scene: Any) -> list[tuple[str, str, str, tuple[str, ...]]]:
    return [
        (row.setting, row.taken, row.why, tuple(other.name for other in row.others))
        for row in scene.reliefsmith.decisions
    ]


def test_the_rows_say_what_the_core_decided(scene: Any, made: Any) -> None:
    import reliefsmith as rs
    from reliefsmith.jobs.decisions import decisions

    wanted = [
        (item.setting, item.taken, item.why, item.others) for item in decisions(rs.make(LANTERN).result)
    ]
    assert rows(scene) == wanted
    assert [row[0] for row in wanted] == ["colors.base", "heights.style", "background.enclosed"]


@pytest.mark.parametrize("number", [0, 1, 2])
def test_each_button_decides_otherwise_and_back(scene: Any, made: Any, recipe: Any, number: int) -> None:
    setting, taken, _, others = rows(scene)[number]
    section, _, key = setting.partition(".")
    bpy.ops.reliefsmith.decide(setting=setting, value=others[0])
    assert getattr(getattr(recipe(), section), key) == others[0]
    made()
    _, now, why, back = rows(scene)[number]
    assert now != taken
    assert why == "the recipe asks for it"
    assert "auto" in back
    bpy.ops.reliefsmith.decide(setting=setting, value="auto")
    made()
    assert rows(scene)[number][1] == taken


def test_a_color_has_a_well_beside_its_word(scene: Any, made: Any) -> None:
    base = scene.reliefsmith.decisions[0]
    for other in base.others:
        assert other.is_color
        assert "#" + "".join(f"{round(255 * part):02x}" for part in other.chip) == other.name


def test_what_is_no_setting_or_no_value_is_refused(scene: Any, made: Any, recipe: Any) -> None:
    before = recipe()
    for setting, value in (("base.colour", "red"), ("heights.style", "wavy")):
        with pytest.raises(RuntimeError, match=r"setting|must be one of"):
            bpy.ops.reliefsmith.decide(setting=setting, value=value)
    assert recipe() == before
