"""Live with hand relief: what comes into the view is what a fresh run makes, and is judged right after."""

from __future__ import annotations

import base64
import importlib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

HEIGHTS = (1.6, 2.4, 2.0, 1.2, 2.4)
SKIN_MM = 0.3


@pytest.fixture
def piece(scene: Any, installed: str, tmp_path: Path) -> Any:
    """A disc on a square with waves on both, and the modules that a live run goes through."""
    from PIL import Image

    from reliefsmith import HandRelief

    y, x = np.mgrid[:120, :120] - 59.5
    pixels = np.zeros((120, 120, 4), np.uint8)
    pixels[10:110, 10:110] = (30, 90, 200, 255)
    pixels[x * x + y * y < 900] = (240, 200, 40, 255)
    Image.fromarray(pixels).save(tmp_path / "lamp.png")
    bpy.ops.reliefsmith.load_picture(filepath=str(tmp_path / "lamp.png"))
    scene.reliefsmith.heights.style = "raised"
    scene.reliefsmith.size.use_width_mm, scene.reliefsmith.size.width_mm = True, 25
    bpy.ops.reliefsmith.make()
    names = ("run", "sculpting", "bridge", "hand", "properties", "pieces", "session")
    found = SimpleNamespace(**{name: importlib.import_module(f"{installed}.{name}") for name in names})
    found.piece, found.picture = found.pieces.current(scene), tmp_path / "lamp.png"
    values = 0.2 * np.sin(np.mgrid[:120, :120] / 7).prod(axis=0)
    found.relief = HandRelief(values.astype(np.float32), (-0.5, 0.5), 1 / 119)
    found.sculpting.store(found.piece, found.relief)
    bpy.ops.reliefsmith.make()
    return found


def _columns(mesh: Any) -> dict[str, bytes]:
    """What a mesh keeps of its shading and sculpting, by name."""
    found = {}
    for name, kind in (("sharp_face", bool), ("sharp_edge", bool), (".sculpt_mask", np.float32)):
        if name in mesh.attributes:
            values = np.empty(len(mesh.attributes[name].data), kind)
            mesh.attributes[name].data.foreach_get("value", values)
            found[name] = values.tobytes()
    return found


def _is_as_made(piece: Any) -> None:
    """Compare the scene with a fresh run that remembers nothing of the piece, and with meshes filled anew."""
    import reliefsmith as rs
    from reliefsmith.mesh import ground_of
    from reliefsmith.solid.skin import free_points, skin

    fresh = rs.make(piece.picture, piece.properties.to_recipe(piece.piece.reliefsmith), hand=piece.relief)
    dense = piece.sculpting.skin_mm(piece.piece)
    for part in skin(fresh.stack, dense) if dense else fresh.parts:
        mesh = piece.bridge.part_objects(piece.piece)[part.name].data
        vertices, triangles = piece.bridge.read(mesh)
        assert vertices.tobytes() == part.vertices.astype(np.float32).tobytes()
        assert triangles.tobytes() == part.triangles.tobytes()
        assert mesh[piece.hand.GROUND] == ground_of(part.vertices)
        found = _columns(mesh)
        if dense:
            held = np.where(free_points(part, fresh.stack), 0, 1).astype(np.float32)
            assert found.pop(".sculpt_mask") == held.tobytes()
        again = bpy.data.meshes.new("again")
        piece.bridge.fill(again, part.vertices, part.triangles)
        assert found == _columns(again)
        bpy.data.meshes.remove(again)


@pytest.mark.parametrize("dense", [False, True])
def test_every_height_comes_out_as_a_fresh_run_makes_it(piece: Any, scene: Any, dense: bool) -> None:
    if dense:
        assert bpy.ops.reliefsmith.prepare_sculpting(step_mm=SKIN_MM) == {"FINISHED"}
        _is_as_made(piece)
    for height in HEIGHTS:
        scene.reliefsmith.heights.base_mm = height
        piece.run.pending.flush()
        assert not scene.reliefsmith.trouble
        _is_as_made(piece)
    scene.reliefsmith.base.border_mm = 2.2
    piece.run.pending.flush()
    _is_as_made(piece)


def test_parts_are_in_the_view_before_they_are_judged(piece: Any, scene: Any) -> None:
    state = scene.reliefsmith
    before = (state.estimate, state.size_text)
    state.heights.base_mm = 3.0
    steps = piece.run.live_steps(piece.piece)
    assert any(step.message == "in the view" for step in steps)
    tops = [part.data for part in piece.bridge.part_objects(piece.piece).values()]
    assert max(piece.bridge.read(mesh)[0][:, 2].max() for mesh in tops) > 3.5
    assert (state.estimate, state.size_text) == before
    assert state.checked == "Findings and estimate are of before the last change"
    steps.close()
    piece.run.pending.flush()
    assert state.checked == ""
    assert (state.estimate, state.size_text) != before
    _is_as_made(piece)


def test_what_is_known_of_a_piece_follows_a_run_that_was_given_up(piece: Any, scene: Any) -> None:
    """A second change gives the first run up after its parts came into the view."""
    state = scene.reliefsmith
    state.heights.base_mm = 3.0
    pending = piece.run.pending
    pending.steps = steps = piece.run.live_steps(piece.piece)
    assert any(step.message == "in the view" for step in steps)
    state.heights.base_mm = 1.8
    pending.flush()
    assert state.checked == ""
    assert state.size_text.endswith(f"{scene_height(piece):.1f} mm")
    _is_as_made(piece)


def test_hand_relief_of_a_file_of_version_0_2_is_read(piece: Any) -> None:
    """Its bytes were written in base 85."""
    place = piece.pieces.find(piece.piece, piece.pieces.GENERATED)
    packed = base64.b64decode(place["reliefsmith_hand"])
    place["reliefsmith_hand"] = base64.b85encode(packed).decode()
    assert piece.sculpting.stored(piece.piece) == piece.relief


def scene_height(piece: Any) -> float:
    """How high the piece is on whole layers of 0.2 mm, as its meshes are."""
    meshes = [item.data for item in piece.bridge.part_objects(piece.piece).values()]
    highest = max(float(piece.bridge.read(mesh)[0][:, 2].max()) for mesh in meshes)
    return round(round(highest / 0.2) * 0.2, 1)
