"""A second picture on the back: parts like all others, by the panel's settings; a bad one is a report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"


def test_a_second_picture_is_parts_on_the_bed_and_goes_away_again(
    scene: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from reliefsmith.plan.strokes import repair

    monkeypatch.setattr(repair, "_MOST_SEARCHED", 0)  # at which size less would change is not asked here
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    bpy.ops.reliefsmith.make()
    plain = {item["reliefsmith_part"] for item in scene.objects if "reliefsmith_part" in item}
    scene.reliefsmith.back.picture = str(SAMPLES / "kite.png")
    assert bpy.ops.reliefsmith.make() == {"FINISHED"}
    parts = {item["reliefsmith_part"]: item for item in scene.objects if "reliefsmith_part" in item}
    new = [item for name, item in parts.items() if name not in plain]
    assert new
    for item in new:
        heights = [corner.co.z for corner in item.data.vertices]
        assert (min(heights), max(heights)) == (0.0, pytest.approx(0.4, abs=1e-6))
    scene.reliefsmith.back.picture = ""
    bpy.ops.reliefsmith.make()
    assert {item["reliefsmith_part"] for item in scene.objects if "reliefsmith_part" in item} == plain


def test_a_second_picture_that_is_none_is_a_report(scene: Any) -> None:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "lantern.png"))
    scene.reliefsmith.back.picture = str(SAMPLES / "nowhere.png")
    with pytest.raises(RuntimeError, match="there is no picture at"):
        bpy.ops.reliefsmith.make()
    assert not [item for item in scene.objects if "reliefsmith_part" in item]
