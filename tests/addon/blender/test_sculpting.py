"""Hand relief in Blender: a skin to sculpt on, taken over, kept through changes, as the core has it."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

STEP = 0.2


def _piece() -> Any:
    return next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "job")


def _parts() -> dict[str, Any]:
    owner = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "generated")
    return {item["reliefsmith_part"]: item for item in owner.objects}


def _finish() -> list[Any]:
    owner = next(item for item in bpy.data.collections if item.get("reliefsmith_role") == "finish")
    return list(owner.objects)


def _places(item: Any) -> np.ndarray:
    found = np.empty(3 * len(item.data.vertices), np.float32)
    item.data.attributes["position"].data.foreach_get("vector", found)
    return found.reshape(-1, 3)


def _move(item: Any, places: np.ndarray) -> None:
    item.data.attributes["position"].data.foreach_set("vector", places.astype(np.float32).ravel())
    item.data.update()


def _mask(item: Any) -> np.ndarray:
    found = np.empty(len(item.data.vertices), np.float32)
    item.data.attributes[".sculpt_mask"].data.foreach_get("value", found)
    return found


def _wave(places: np.ndarray) -> np.ndarray:
    return 0.15 + 0.15 * np.sin(places[:, 0] / 0.6) * np.cos(places[:, 1] / 0.7)


def _sculpt(name: str) -> None:
    """Raise what no mask holds by a wave, as brushes do."""
    item = _parts()[name]
    places, free = _places(item), _mask(item) == 0
    places[free, 2] += _wave(places[free])
    _move(item, places)


def _error(name: str) -> np.ndarray:
    """By how much the tops of a part miss the wave, where they can be seen and no wall is near."""
    places = _places(_parts()[name])
    plain = bpy.context.scene["plain_top"]
    high = places[places[:, 2] > plain - 1e-3]
    off = high[:, 2] - plain - _wave(high)
    return np.sort(np.abs(off))[: int(0.85 * len(off))]


@pytest.fixture
def lamp(installed: str, tmp_path: Path) -> Path:
    """A disc on a square, 120 px."""
    from PIL import Image

    y, x = np.mgrid[:120, :120] - 59.5
    pixels = np.zeros((120, 120, 4), np.uint8)
    pixels[10:110, 10:110] = (30, 90, 200, 255)
    pixels[x * x + y * y < 900] = (240, 200, 40, 255)
    path = tmp_path / "lamp.png"
    Image.fromarray(pixels).save(path)
    return path


@pytest.fixture
def prepared(scene: Any, installed: str, lamp: Path) -> Any:
    """The lamp with a skin; gives what finishes a live run, and the module of hand relief."""
    bpy.ops.reliefsmith.load_picture(filepath=str(lamp))
    scene.reliefsmith.heights.style = "raised"
    scene.reliefsmith.size.use_width_mm = True
    scene.reliefsmith.size.width_mm = 30
    bpy.ops.reliefsmith.make()
    before = sum(len(item.data.vertices) for item in _parts().values())
    top = max(float(_places(item)[:, 2].max()) for item in _parts().values())
    scene["plain_top"] = top
    assert bpy.ops.reliefsmith.prepare_sculpting(step_mm=STEP) == {"FINISHED"}
    assert sum(len(item.data.vertices) for item in _parts().values()) > 5 * before
    modules = (importlib.import_module(f"{installed}.{name}") for name in ("run", "sculpting"))
    run, sculpting = modules
    return run, sculpting


def _motif() -> str:
    return next(item.name for item in bpy.context.scene.reliefsmith.parts if item.role == "motif")


def test_walls_and_rims_of_the_skin_are_masked_and_each_color_has_its_face_set(prepared: Any) -> None:
    sets = set()
    for item in _parts().values():
        places, mask = _places(item), _mask(item)
        assert 0 < mask.mean() < 0.5
        assert (mask[places[:, 2] < places[:, 2].max() - 2.5] == 1).all()
        own = np.empty(len(item.data.polygons), np.int32)
        item.data.attributes[".sculpt_face_set"].data.foreach_get("value", own)
        assert len(set(own.tolist())) == 1
        sets.add(int(own[0]))
    assert len(sets) == len(_parts())


def test_what_was_sculpted_is_taken_over_and_stays_through_changes(prepared: Any, scene: Any) -> None:
    run, sculpting = prepared
    name = _motif()
    _sculpt(name)
    assert sculpting.waiting(_piece()) == [name]
    assert bpy.ops.reliefsmith.take_over() == {"FINISHED"}
    assert sculpting.said(_piece()) == "hand relief: kept all of it"
    assert _finish() == []
    assert sculpting.waiting(_piece()) == []
    assert _error(name).max() < 0.03
    scene.reliefsmith.heights.base_mm = 2.6
    run.pending.flush()
    scene["plain_top"] += 0.6
    assert _error(name).max() < 0.03
    scene.reliefsmith.base.border_mm = 2.0
    run.pending.flush()
    assert _error(name).max() < 0.03
    assert _finish() == []


def test_a_changed_setting_takes_over_what_waits_by_itself(prepared: Any, scene: Any) -> None:
    run, sculpting = prepared
    name = _motif()
    _sculpt(name)
    scene.reliefsmith.base.border_mm = 1.8
    run.pending.flush()
    assert sculpting.stored(_piece()) is not None
    assert _error(name).max() < 0.03
    assert _finish() == []


def test_leaving_sculpt_mode_takes_over_by_itself(prepared: Any, scene: Any) -> None:
    run, sculpting = prepared
    name = _motif()
    bpy.context.view_layer.objects.active = _parts()[name]
    bpy.ops.object.mode_set(mode="SCULPT")
    run.watch.tick()
    bpy.ops.object.mode_set(mode="OBJECT")
    _sculpt(name)
    run.watch.tick()
    run.pending.flush()
    assert sculpting.stored(_piece()) is not None
    assert sculpting.waiting(_piece()) == []


def test_what_heights_cannot_hold_is_set_aside_and_said(prepared: Any, scene: Any) -> None:
    _, sculpting = prepared
    name = _motif()
    item = _parts()[name]
    places = _places(item)
    free = np.flatnonzero(_mask(item) == 0)
    center = places[free[len(free) // 2]]
    near = free[np.hypot(*(places[free, :2] - center[:2]).T) < 1.5]
    places[near, 2] += 2.0
    places[near, 0] += 2.5  # it leans far over
    _move(item, places)
    assert bpy.ops.reliefsmith.take_over() == {"FINISHED"}
    assert "kept" in sculpting.said(_piece())
    assert "hangs over" in sculpting.said(_piece())
    assert len(_finish()) == 1
    np.testing.assert_array_equal(_places(_finish()[0]), places.astype(np.float32))


def test_the_field_goes_with_the_file_and_prints_the_same_parts(
    prepared: Any, scene: Any, lamp: Path, tmp_path: Path
) -> None:
    import reliefsmith as rs

    _, sculpting = prepared
    _sculpt(_motif())
    bpy.ops.reliefsmith.take_over()
    assert bpy.ops.reliefsmith.export(directory=str(tmp_path / "set")) == {"FINISHED"}
    relief = rs.make(lamp, tmp_path / "set" / "lamp-recipe.toml")
    report = relief.write(tmp_path / "line")
    for name in report["files"]:
        assert (tmp_path / "set" / name).read_bytes() == (tmp_path / "line" / name).read_bytes(), name
    before = sculpting.stored(_piece())
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "a.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "a.blend"))
    after = sculpting.stored(_piece())
    np.testing.assert_array_equal(before.values, after.values)
    assert (before.origin, before.step) == (after.origin, after.step)


def test_hand_relief_can_be_taken_away_again(prepared: Any, scene: Any) -> None:
    _, sculpting = prepared
    _sculpt(_motif())
    bpy.ops.reliefsmith.take_over()
    assert bpy.ops.reliefsmith.forget_hand() == {"FINISHED"}
    assert sculpting.stored(_piece()) is None
    assert max(float(_places(item)[:, 2].max()) for item in _parts().values()) == pytest.approx(
        scene["plain_top"], abs=1e-5
    )


def test_cut_pieces_have_no_skin_and_say_so(prepared: Any, scene: Any) -> None:
    run, _ = prepared
    scene.reliefsmith.cut = True
    run.pending.flush()
    with pytest.raises(RuntimeError, match="turn Cut and As Printed off"):
        bpy.ops.reliefsmith.prepare_sculpting()


def test_work_that_waits_is_taken_over_before_the_piece_is_cut_open(prepared: Any, scene: Any) -> None:
    run, sculpting = prepared
    _sculpt(_motif())
    scene.reliefsmith.cut_mm, scene.reliefsmith.cut = 1.0, True
    run.pending.flush()
    assert scene.reliefsmith.trouble == ""
    assert max(float(_places(item)[:, 2].max()) for item in _parts().values()) == pytest.approx(1.0)
    assert sculpting.waiting(_piece()) == []
    with pytest.raises(RuntimeError, match="turn Cut and As Printed off"):
        bpy.ops.reliefsmith.take_over()
    scene.reliefsmith.cut = False
    run.pending.flush()
    assert _error(_motif()).max() < 0.03
    assert _finish() == []


def test_a_height_that_changes_while_work_waits_is_not_taken_for_work(prepared: Any, scene: Any) -> None:
    run, _ = prepared
    _sculpt(_motif())
    scene.reliefsmith.heights.base_mm = 2.6
    run.pending.flush()
    scene["plain_top"] += 0.6
    assert _error(_motif()).max() < 0.03


def test_the_check_knows_hand_relief_as_made(prepared: Any, scene: Any) -> None:
    _sculpt(_motif())
    bpy.ops.reliefsmith.take_over()
    bpy.ops.reliefsmith.check()
    told = {item.code for item in scene.reliefsmith.findings}
    assert not {code for code in told if code.startswith("part-") or code == "off-layers"}
    _sculpt(_motif())
    bpy.ops.reliefsmith.check()
    assert "part-taller" in {item.code for item in scene.reliefsmith.findings}


def test_hand_relief_is_of_its_own_piece(prepared: Any, scene: Any, lamp: Path) -> None:
    _, sculpting = prepared
    first = _piece()
    _sculpt(_motif())
    bpy.ops.reliefsmith.take_over()
    kept = sculpting.stored(first)
    bpy.ops.reliefsmith.new_piece()
    bpy.ops.reliefsmith.load_picture(filepath=str(lamp))
    bpy.ops.reliefsmith.make()
    jobs = [item for item in bpy.data.collections if item.get("reliefsmith_role") == "job"]
    (second,) = (item for item in jobs if item != first)
    assert second.reliefsmith.estimate
    assert (sculpting.stored(second), sculpting.skin_mm(second)) == (None, 0.0)
    np.testing.assert_array_equal(sculpting.stored(first).values, kept.values)


def test_relief_is_found_beside_the_file_wherever_that_is_moved(
    scene: Any, installed: str, lamp: Path, tmp_path: Path
) -> None:
    from reliefsmith import HandRelief, Recipe
    from reliefsmith.formats.heightfile import heights_tiff

    run = importlib.import_module(f"{installed}.run")
    old, new = tmp_path / "old", tmp_path / "new"
    old.mkdir()
    relief = HandRelief(np.full((9, 9), 0.4, np.float32), (-0.5, 0.5), 0.125)
    (old / "rise.tiff").write_bytes(heights_tiff(relief.values))
    bpy.ops.reliefsmith.load_picture(filepath=str(lamp))
    bpy.ops.wm.save_as_mainfile(filepath=str(old / "piece.blend"))
    heights = scene.reliefsmith.heights
    heights.style, heights.hand = "raised", "//rise.tiff"
    heights.use_hand_origin, heights.hand_origin = True, relief.origin
    heights.use_hand_step, heights.hand_step = True, relief.step
    bpy.ops.reliefsmith.make()
    top = max(float(_places(item)[:, 2].max()) for item in _parts().values())
    assert top == pytest.approx(heights.base_mm + heights.motif_mm + 0.4, abs=1e-4)
    bpy.ops.reliefsmith.save_recipe(filepath=str(tmp_path / "as-used.toml"))
    assert Path(Recipe.load(tmp_path / "as-used.toml").heights.hand) == old / "rise.tiff"
    bpy.ops.wm.save_as_mainfile(filepath=str(old / "piece.blend"))
    old.rename(new)
    bpy.ops.wm.open_mainfile(filepath=str(new / "piece.blend"))
    state = bpy.context.scene.reliefsmith
    assert state.heights.hand == "//rise.tiff"
    state.heights.base_mm += 0.4
    run.pending.flush()
    assert state.trouble == ""
    assert max(float(_places(item)[:, 2].max()) for item in _parts().values()) == pytest.approx(
        top + 0.4, abs=1e-4
    )
    bpy.ops.reliefsmith.check()
    assert not {"part-taller", "part-missing"} & {item.code for item in state.findings}
