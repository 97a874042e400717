"""Colors in a render are those of the filaments, and finishes can be told apart."""

from __future__ import annotations

import importlib
import itertools
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

pytestmark = pytest.mark.blender

SAMPLES = Path(__file__).parents[3] / "samples"
_ALIKE = 3.0  # CIEDE2000
_DARK = (0x44, 0x24, 0x4C)


@pytest.fixture
def made(scene: Any) -> Any:
    bpy.ops.reliefsmith.load_picture(filepath=str(SAMPLES / "kite.png"))
    bpy.ops.reliefsmith.make()
    return scene


def parts(scene: Any) -> dict[str, Any]:
    return {item["reliefsmith_part"]: item for item in scene.objects if "reliefsmith_part" in item}


def pixels(path: Path) -> Any:
    """The pixels (h, w, 3) of a picture as bytes, upper row first."""
    picture = bpy.data.images.load(str(path))
    found = np.empty(len(picture.pixels), np.float32)
    picture.pixels.foreach_get(found)
    width, height = picture.size
    bpy.data.images.remove(picture)
    return np.rint(found.reshape(height, width, -1)[::-1, :, :3] * 255).astype(np.uint8)


def off(one: Any, other: Any) -> Any:
    from reliefsmith.colorimetry import ciede2000, srgb_to_lab

    return ciede2000(srgb_to_lab(np.asarray(one, np.uint8)), srgb_to_lab(np.asarray(other, np.uint8)))


def stills(folder: Path, *names: str, size: int = 96) -> dict[str, Any]:
    """The pictures of these poses, rendered as *Render Proofs* does."""
    module = "bl_ext.user_default.reliefsmith."
    turntable, own = (importlib.import_module(module + name) for name in ("turntable", "stills"))
    bpy.ops.reliefsmith.turntable()
    poses = [pose for pose in (*turntable.STILLS, *turntable.turns(1)) if pose.name in names]
    paths = [folder / f"{pose.name}.png" for pose in poses]
    own.run(own.Stills(bpy.context.scene.name, poses, paths, size, "CYCLES"), print)
    return {path.stem: pixels(path) for path in paths}


def drawn(scene: Any, shape: tuple[int, int]) -> Any:
    """The front as the core draws it in its proof, in the frame of a still, RGBA."""
    import reliefsmith as rs
    from reliefsmith.documents.views import color_picture, front_face
    from reliefsmith.polygons.cover import View

    relief = rs.make(SAMPLES / "kite.png")
    corners = np.array([corner for item in parts(scene).values() for corner in item.bound_box])
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle, half = (
        (low + high) / 2,
        1.1 * (high - low)[:2].max() / 2,
    )  # a front is a tenth larger than the piece
    view = View(*(float(v) for v in (middle[0] - half, middle[1] + half, shape[0] / (2 * half))), shape)
    return np.asarray(color_picture(front_face(relief.stack), view))


def test_the_front_is_the_proof_of_the_core(made: Any, tmp_path: Path) -> None:
    front = stills(tmp_path, "front", size=300)["front"]
    proof = drawn(made, front.shape[:2])
    colors = {part.name: tuple(round(255 * v) for v in part.color) for part in made.reliefsmith.parts}
    for name, color in colors.items():
        flat = (proof[..., 3] == 255) & (off(proof[..., :3], color) < 1)  # not at lit and shaded rims
        assert flat.sum() > 50, name
        assert np.median(off(front[flat], color)) < _ALIKE, (name, np.median(front[flat], axis=0), color)
    inside = proof[..., 3] == 255
    assert np.median(off(front[inside], proof[inside][:, :3])) < _ALIKE
    assert (proof[..., 3] == 0).sum() > 0
    ground = front[proof[..., 3] == 0]
    assert np.abs(np.median(ground, axis=0) - 231).max() <= 1  # the same paper in every Blender


def test_a_dark_color_is_itself_in_every_opaque_finish(made: Any, tmp_path: Path) -> None:
    for row in made.reliefsmith.parts:
        row.color = [value / 255 for value in _DARK]
    for finish in ("matte", "satin", "silk", "gloss"):
        made.reliefsmith.finish = finish
        front = stills(tmp_path, "front")["front"]
        inside = np.abs(front.astype(int) - front[0, 0]).max(axis=2) > 40
        assert inside.sum() > 500
        assert np.median(off(front[inside], _DARK)) < _ALIKE, finish


@pytest.mark.deep
def test_finishes_can_be_told_apart(made: Any, tmp_path: Path) -> None:
    from reliefsmith.recipe.tables import FINISHES

    seen = {}
    for finish in FINISHES:
        made.reliefsmith.finish = finish
        seen[finish] = stills(tmp_path, "turn-01")["turn-01"].astype(int)
    for one, other in itertools.combinations(FINISHES, 2):
        assert (np.abs(seen[one] - seen[other]).max(axis=2) > 8).sum() > 100, (one, other)


def test_each_color_can_have_a_finish_of_its_own(made: Any) -> None:
    state = made.reliefsmith
    own, other = (row.name for row in state.parts[1:3])
    assert state.parts[own].finish == "filament"
    state.parts[own].finish = "clear"
    assert shader(made, own)["Transmission Weight"].default_value > 0.5
    assert shader(made, other)["Transmission Weight"].default_value == 0
    state.finish = "silk"  # of the piece: the color keeps its own
    assert shader(made, own)["Transmission Weight"].default_value > 0.5
    bpy.ops.reliefsmith.make()
    state = made.reliefsmith
    assert state.parts[own].finish == "clear"
    assert shader(made, own)["Transmission Weight"].default_value > 0.5
    assert shader(made, other)["Specular IOR Level"].default_value == 1
    state.parts[own].finish = "filament"
    assert parts(made)[own].data.materials[0].name.endswith("silk")
    assert len(bpy.data.materials) == len(state.parts)  # those of before are gone


@pytest.mark.deep
def test_layer_lines_are_seen_along_walls_and_not_on_tops(made: Any, tmp_path: Path) -> None:
    plain = stills(tmp_path, "front", "edge")
    made.reliefsmith.show_layers = True
    lined = stills(tmp_path, "front", "edge")
    assert np.median(off(lined["front"], plain["front"])) < 0.5
    assert (off(lined["edge"], plain["edge"]) > 3).sum() > 30


def test_layer_lines_stand_at_the_height_of_the_layers(made: Any) -> None:
    state = made.reliefsmith
    state.show_layers = True
    nodes = parts(made)["base"].data.materials[0].node_tree.nodes
    (turns,) = (node for node in nodes if node.type == "MATH" and node.operation == "MULTIPLY_ADD")
    assert turns.inputs[1].default_value == pytest.approx(np.pi / state.heights.layer_mm)
    state.heights.layer_mm = 0.12
    bpy.ops.reliefsmith.make()
    (turns,) = (
        node
        for node in parts(made)["base"].data.materials[0].node_tree.nodes
        if node.type == "MATH" and node.operation == "MULTIPLY_ADD"
    )
    assert turns.inputs[1].default_value == pytest.approx(np.pi / 0.12, rel=1e-5)


def shader(scene: Any, part: str) -> Any:
    tree = parts(scene)[part].data.materials[0].node_tree
    return next(node.inputs for node in tree.nodes if node.type == "BSDF_PRINCIPLED")


def test_true_colors_say_what_changed_and_can_be_undone(made: Any, capfd: Any) -> None:
    bpy.ops.object.light_add(type="POINT", location=(0, 0, 50))
    lamp = bpy.context.object.name
    world = bpy.data.worlds.new("mine")
    made.world, made.view_settings.view_transform = world, "AgX"
    bpy.ops.ed.undo_push(message="mine")
    capfd.readouterr()
    bpy.ops.reliefsmith.true_colors()
    bpy.ops.ed.undo_push(message="ours")
    said = capfd.readouterr().out
    for words in ("view transform: AgX, now Standard", "world: mine, now Relief gray", f"light {lamp}: on"):
        assert words in said
    assert bpy.data.objects[lamp].hide_render
    assert "mine" in bpy.data.worlds
    bpy.ops.reliefsmith.true_colors()
    assert "shown as they are already" in capfd.readouterr().out
    bpy.ops.ed.undo()
    scene = bpy.context.scene
    assert scene.view_settings.view_transform == "AgX"
    assert scene.world.name == "mine"
    assert not bpy.data.objects[lamp].hide_render


def test_rendering_leaves_the_settings_of_the_scene_as_they_are(made: Any, tmp_path: Path) -> None:
    made.render.resolution_x, made.render.filepath, made.cycles.samples = 123, "//mine", 7
    made.render.image_settings.file_format = "OPEN_EXR"
    made.frame_set(5)
    engine = made.render.engine
    bpy.ops.reliefsmith.render_proofs(directory=str(tmp_path), count=2, size=64)
    assert sorted(path.name for path in tmp_path.glob("*")) == ["kite-turn-01.png", "kite-turn-02.png"]
    assert (made.render.resolution_x, made.render.filepath, made.cycles.samples) == (123, "//mine", 7)
    assert made.render.image_settings.file_format == "OPEN_EXR"
    assert (made.frame_current, made.render.engine) == (5, engine)
    assert made.reliefsmith.rendered == "2 pictures written"


def test_an_edited_material_is_the_artists(made: Any) -> None:
    state, name = made.reliefsmith, made.reliefsmith.parts[1].name
    material = parts(made)[name].data.materials[0]
    shader(made, name)["Roughness"].default_value = 0.31
    state.finish = "silk"
    bpy.ops.reliefsmith.make()
    assert parts(made)[name].data.materials[0] == material
    assert shader(made, name)["Roughness"].default_value == pytest.approx(0.31)


def give(scene: Any, part: str, rgb: tuple[int, int, int], linked: bool = False) -> None:
    """Put a material of the artist's on a part; with `linked` its color comes from a texture."""
    material = bpy.data.materials.new("mine")
    if material.node_tree is None:
        material.use_nodes = True
    color = [(v / 255 + 0.055) / 1.055 for v in rgb]
    color = [*(v**2.4 for v in color), 1.0]
    (node,) = (node for node in material.node_tree.nodes if node.type == "BSDF_PRINCIPLED")
    if linked:
        source = material.node_tree.nodes.new("ShaderNodeTexNoise")
        material.node_tree.links.new(source.outputs["Color"], node.inputs["Base Color"])
        material.diffuse_color = color
    else:
        node.inputs["Base Color"].default_value = color
    parts(scene)[part].data.materials[0] = material


def assert_the_recipe_makes_it_again(written: Path, picture: Path) -> None:
    """The set says in its recipe which colors a hand chose."""
    import reliefsmith as rs

    again = written.parent / "again"
    for name in rs.make(picture, written / "kite-recipe.toml").write(again)["files"]:
        assert (written / name).read_bytes() == (again / name).read_bytes(), name


def test_a_recipe_with_chosen_colors_shows_them_and_keeps_what_the_picture_has(
    made: Any, installed: str
) -> None:
    """Settings know a part by the color that it has in the picture."""
    row = made.reliefsmith.parts[1]
    name, color = row.name, tuple(row.color)
    chosen = made.reliefsmith.filaments.parts.add()
    chosen.part, chosen.color = name, (1.0, 0.0, 0.0)
    importlib.import_module(installed + ".run").pending.flush()
    assert scene_colors(made)[name] == (255, 0, 0)
    assert tuple(made.reliefsmith.parts[1].color) == color
    made.reliefsmith.finish = "silk"
    assert scene_colors(made)[name] == (255, 0, 0)
    bpy.ops.reliefsmith.remove_row(what="filaments.parts", index=0)
    importlib.import_module(installed + ".run").pending.flush()
    assert scene_colors(made)[name] == tuple(round(255 * value) for value in color)


def test_the_color_of_an_own_material_is_written(made: Any, tmp_path: Path, capfd: Any) -> None:
    from reliefsmith.formats import read_parts

    green, pink = (40, 180, 60), (240, 90, 200)
    first, second, third = (row.name for row in made.reliefsmith.parts[1:4])
    give(made, first, green)
    give(made, second, pink, linked=True)
    parts(made)[third].color = (1.0, 0.0, 0.0, 1.0)  # in the view
    bpy.ops.reliefsmith.export_scene(directory=str(tmp_path / "scene"))
    capfd.readouterr()
    bpy.ops.reliefsmith.export(directory=str(tmp_path / "set"))
    assert f"in the colors of your materials: {first} #28b43c, {second} #f05ac8" in capfd.readouterr().out
    for path in (tmp_path / "scene" / "kite-finish.3mf", tmp_path / "set" / "kite.3mf"):
        found = {part.name: part.color for part in read_parts(path)}
        assert (found[first], found[second], found[third]) == (green, pink, (255, 0, 0))
        assert found["base"] == (27, 42, 73)
    assert_the_recipe_makes_it_again(tmp_path / "set", SAMPLES / "kite.png")


def test_a_finish_of_ours_is_no_color_of_the_artists(made: Any, tmp_path: Path, capfd: Any) -> None:
    for finish in ("silk", "glow", "wood"):
        made.reliefsmith.finish = finish
        capfd.readouterr()
        bpy.ops.reliefsmith.export(directory=str(tmp_path))
        assert "your materials" not in capfd.readouterr().out


def test_thin_light_layers_show_what_lies_below(made: Any, installed: str, tmp_path: Path) -> None:
    """Yellow, 0.4 mm over the navy base: a render shows what the core's values say."""
    from reliefsmith.colorimetry.hiding import coefficients_of, over
    from reliefsmith.colorimetry.spaces import linear_to_srgb, srgb_to_linear

    made.reliefsmith.heights.style, made.reliefsmith.heights.motif_mm = "raised", 0.4
    made.reliefsmith.finish = "matte"
    bpy.ops.reliefsmith.make()
    color = {
        part.name: np.rint(np.array(part.color) * 255).astype(np.uint8) for part in made.reliefsmith.parts
    }
    plain = stills(tmp_path, "front", size=160)["front"]
    made.reliefsmith.show_through = True
    importlib.import_module(installed + ".run").pending.flush()
    seen = stills(tmp_path, "front", size=160)["front"]
    own, backing = srgb_to_linear(color["yellow"]), srgb_to_linear(color["base"])
    said = linear_to_srgb(over(coefficients_of(tuple(color["yellow"].tolist())), own, 0.4, backing))
    assert off(said, color["yellow"]) > 2 * _ALIKE
    top = off(plain, color["yellow"]) < _ALIKE
    assert top.sum() > 200
    assert np.median(off(seen[top], said)) < _ALIKE
    dark = off(plain, color["base"]) < _ALIKE
    assert np.median(off(seen[dark], color["base"])) < _ALIKE  # the base stays
    bpy.ops.reliefsmith.check()
    assert scene_colors(made) == {name: tuple(value.tolist()) for name, value in color.items()}
    mesh = parts(made)["yellow"].data
    mesh.attributes.remove(mesh.attributes["reliefsmith_shown"])
    again = stills(tmp_path, "front", size=160)["front"]
    assert np.median(off(again[top], color["yellow"])) < _ALIKE  # never black


def scene_colors(scene: Any) -> dict[str, Any]:
    materials = importlib.import_module("bl_ext.user_default.reliefsmith.materials")
    return {name: materials.color_of(item) for name, item in parts(scene).items()}
