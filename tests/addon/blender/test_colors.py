"""The rows of the colors: what they say is the core's, what they do edits the recipe and is undone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

LANTERN = Path(__file__).parents[3] / "samples" / "lantern.png"


def motifs(scene: Any) -> list[str]:
    return [item.name for item in scene.reliefsmith.parts if item.role == "motif"]


def hex_of(scene: Any, part: str) -> str:
    return "#" + "".join(f"{round(255 * v):02x}" for v in scene.reliefsmith.parts[part].color)


def test_a_row_says_what_the_core_says(scene: Any, made: Any) -> None:
    import reliefsmith as rs

    relief = rs.make(LANTERN)
    areas = [polygon.area for polygon in relief.areas.polygons]
    shares = {tuple(c.tolist()): a / sum(areas) for c, a in zip(relief.areas.colors, areas, strict=True)}
    rows = scene.reliefsmith.parts
    assert [row.name for row in rows] == [part.name for part in relief.parts]
    for row, part in zip(rows, relief.parts, strict=True):
        assert row.share == pytest.approx(shares.get(part.color, 0), abs=1e-4)
        assert row.mass_g == pytest.approx(relief.inspection.estimate.mass_g[part.name])
        match = relief.result.matching.of(part.name)
        assert match is not None
        assert match.filament is not None
        assert row.filament == match.filament.name
    assert sum(row.share for row in rows) == pytest.approx(1, abs=1e-3)


def test_merge_is_the_cores_and_the_color_comes_back(scene: Any, made: Any, recipe: Any) -> None:
    before = [item.name for item in scene.reliefsmith.parts]
    first, second = motifs(scene)[:2]
    color, into = hex_of(scene, first), hex_of(scene, second)
    bpy.ops.reliefsmith.use_color(part=first, role="merge", into=second)
    assert recipe().colors.merge == ((color, into),)
    made()
    assert first not in motifs(scene)
    (row,) = scene.reliefsmith.colors.merge
    assert row.color != row.into
    bpy.ops.reliefsmith.keep_color(color=color)
    assert recipe().colors.merge == ()
    assert len(scene.reliefsmith.colors.merge) == 0
    made()
    assert [item.name for item in scene.reliefsmith.parts] == before


def test_a_color_that_is_left_out_comes_back(scene: Any, made: Any, recipe: Any) -> None:
    first = motifs(scene)[0]
    color = hex_of(scene, first)
    bpy.ops.reliefsmith.use_color(part=first, role="omit")
    assert recipe().colors.omit == (color,)
    assert len(scene.reliefsmith.colors.omit) == 1
    bpy.ops.reliefsmith.keep_color(color=color)
    assert recipe().colors.omit == ()
    with pytest.raises(RuntimeError, match="neither merged nor left out"):
        bpy.ops.reliefsmith.keep_color(color=color)


def test_the_base_takes_a_color_and_is_chosen_again(scene: Any, made: Any, recipe: Any) -> None:
    first = motifs(scene)[0]
    color = hex_of(scene, first)
    bpy.ops.reliefsmith.use_color(part=first, role="base")
    assert recipe().colors.base == color
    made()
    assert hex_of(scene, "base") == color
    bpy.ops.reliefsmith.use_color(part="base", role="auto")
    assert recipe().colors.base == "auto"


def test_a_color_has_a_height_of_its_own(scene: Any, made: Any, recipe: Any) -> None:
    first, second = motifs(scene)[:2]
    bpy.ops.reliefsmith.own_height(part=first)
    scene.reliefsmith.heights.colors[0].height_mm = 1.4
    (row,) = recipe().heights.colors
    assert (row.color, row.height_mm) == (hex_of(scene, first), 1.4)
    made()
    tops = {
        item["reliefsmith_part"]: max(vertex.co.z for vertex in item.data.vertices)
        for item in scene.objects
        if "reliefsmith_part" in item
    }
    assert tops[first] - tops[second] == pytest.approx(0.8, abs=1e-5)
    bpy.ops.reliefsmith.own_height(part=first, own=False)
    assert recipe().heights.colors == ()


@pytest.mark.parametrize("given", [{"role": "merge"}, {"role": "omit"}, {"role": "base"}])
def test_every_role_is_undone(scene: Any, made: Any, recipe: Any, given: dict[str, str]) -> None:
    first, second = motifs(scene)[:2]
    before = recipe()
    bpy.ops.ed.undo_push(message="made")
    bpy.ops.reliefsmith.use_color(part=first, into=second if given["role"] == "merge" else "", **given)
    bpy.ops.ed.undo_push(message="role")
    assert recipe() != before
    bpy.ops.ed.undo()
    assert recipe() == before
    assert len(bpy.context.scene.reliefsmith.colors.merge) == 0


def test_an_unknown_part_is_refused_and_nothing_changes(scene: Any, made: Any, recipe: Any) -> None:
    before = recipe()
    for given in ({"part": "nothing", "role": "omit"}, {"part": motifs(scene)[0], "role": "merge"}):
        with pytest.raises(RuntimeError, match="no part"):
            bpy.ops.reliefsmith.use_color(**given)
    with pytest.raises(RuntimeError, match="no part"):
        bpy.ops.reliefsmith.own_height(part="nothing")
    assert recipe() == before


def test_a_loaded_recipe_lists_what_it_sets_aside(scene: Any, tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text('[colors]\nomit = ["#1e8a8a"]\nmerge = [["#d22d32", "#101418"]]\n')
    bpy.ops.reliefsmith.load_recipe(filepath=str(path))
    colors = scene.reliefsmith.colors
    ((row,), (left,)) = colors.merge, colors.omit
    wells = [[round(255 * value) for value in well] for well in (row.color, row.into, left.color)]
    assert wells == [[0xD2, 0x2D, 0x32], [0x10, 0x14, 0x18], [0x1E, 0x8A, 0x8A]]


def test_found_colors_are_given_changed_and_taken_away_again(scene: Any, made: Any, recipe: Any) -> None:
    found = [hex_of(scene, part.name) for part in scene.reliefsmith.parts if part.share]
    assert bpy.ops.reliefsmith.give_found() == {"FINISHED"}
    assert list(recipe().colors.palette) == found
    scene.reliefsmith.colors.palette[0].color = (0x10 / 255, 0x20 / 255, 0x30 / 255)
    assert recipe().colors.palette[0] == "#102030"
    bpy.ops.reliefsmith.add_color(color="#405060")
    assert list(recipe().colors.palette) == ["#102030", *found[1:], "#405060"]
    for _ in range(len(found) + 1):
        bpy.ops.reliefsmith.remove_row(what="colors.palette", index=0)
    assert recipe().colors.palette == ()
    with pytest.raises(RuntimeError, match="color"):
        bpy.ops.reliefsmith.add_color(color="reed")
