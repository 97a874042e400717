"""The add-on in a real window, by hand: buttons are clicked, places are clicked, Esc is pressed.

Runs with Xvfb, xdotool and ImageMagick's `import` on the Blender of the distribution, an old one; what that
lacks is stood in for by `inside.py`. Pictures of every state of the panels are left in the folder that
RELIEFSMITH_SHOTS names. Places of buttons are those of a 1280 x 800 window with the sidebar as it opens.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from .desk import Desk, needs_window

pytestmark = [pytest.mark.blender, needs_window]

SAMPLES = "samples"  # the window is opened in the root of the repository
TOP_VIEW = (
    "r = space.region_3d; r.view_perspective = 'ORTHO'; r.view_rotation = (1, 0, 0, 0);"
    "r.view_location = (0, 0, 0); r.view_distance = 110"
)
BOX = "from reliefsmith_addon import handles, pieces"
FIRST_MOTIF = "motif = [one for one in scene.objects if one.get('reliefsmith_part', 'base') != 'base'][0]"
MAKE = (951, 289)
PLACE_HOLE = (951, 122)
PICK_SECOND = (930, 211)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """One windowed Blender with the add-on on."""
    place = os.environ.get("RELIEFSMITH_SHOTS") or tmp_path_factory.mktemp("shots")
    with Desk(Path(place)) as found:
        yield found


@pytest.fixture
def made(desk: Desk) -> Desk:
    """The lantern, made, seen from above, with nothing changed."""
    desk.order("show_all()")
    desk.order(f"bpy.ops.reliefsmith.load_picture(filepath='{SAMPLES}/lantern.png')")
    desk.order(f"bpy.ops.reliefsmith.load_recipe(filepath='{SAMPLES}/lantern.toml')")
    desk.order("bpy.ops.reliefsmith.make()")
    desk.order("bpy.context.view_layer.objects.active = None")  # else another tab stands before ours
    desk.order(TOP_VIEW)
    return desk


def test_the_empty_tab_asks_for_a_picture_and_a_loaded_one_is_made_by_a_click(desk: Desk) -> None:
    desk.shot("empty")
    desk.order(f"bpy.ops.reliefsmith.load_picture(filepath='{SAMPLES}/lantern.png')")
    desk.shot("loaded")
    assert desk.order("value = len(scene.objects)") == 0
    desk.click(*MAKE)
    desk.wait("state.estimate")
    desk.order(TOP_VIEW)
    desk.shot("made")
    assert desk.order("value = 'base' in [item.get('reliefsmith_part') for item in scene.objects]")


def test_escape_stops_a_run_and_leaves_the_scene(desk: Desk) -> None:
    desk.order("for item in list(bpy.data.objects): bpy.data.objects.remove(item)")
    desk.order("state.estimate = ''")
    desk.order("import reliefsmith_addon.session as s; s.forget()")
    desk.order(f"bpy.ops.reliefsmith.load_picture(filepath='{SAMPLES}/heron.jpg')")
    desk.shot("before_run")
    desk.click(*MAKE)
    desk.shot("running")
    desk.key("Escape")
    assert desk.order("value = [len(scene.objects), state.estimate]") == [0, ""]
    desk.shot("stopped")


def test_the_hole_is_placed_by_a_click(made: Desk) -> None:
    made.order("show_only('Hanging')")
    made.shot("hanging")
    made.click(*PLACE_HOLE)
    made.shot("asked")
    made.click(*made.place(3.0, 8.0, 2.0))
    made.wait("state.hang.use_at_mm")
    at = made.order("value = [state.hang.use_at_mm, *state.hang.at_mm]")
    assert at[1:] == pytest.approx([3.0, 8.0], abs=0.3)
    made.order("import reliefsmith_addon.run as run; run.pending.flush()")
    made.shot("hole_placed")


def test_an_area_is_marked_by_a_click(made: Desk) -> None:
    made.order("show_only('Corrections', 'Colors')")
    made.order("state.mark_kind = 'erase'")
    made.shot("corrections")
    before = made.order("value = len(state.marks)")
    made.order("bpy.ops.reliefsmith.add_mark('INVOKE_DEFAULT', kind='erase')")
    made.click(*made.place(0.0, 0.0, 2.6))
    assert made.order("value = len(state.marks)") == before + 1
    assert made.order("value = list(state.marks[-1].at_mm)") == pytest.approx([0, 0], abs=0.3)


def test_escape_instead_of_a_click_changes_nothing(made: Desk) -> None:
    made.order("show_only('Hanging')")
    made.shot("hanging")
    made.click(*PLACE_HOLE)
    made.move(400, 400)
    made.key("Escape")
    assert made.order("value = state.hang.use_at_mm") is False


def test_the_hole_and_the_border_are_dragged_in_the_view(made: Desk) -> None:
    made.order("import reliefsmith_addon.run as run; run.pending.flush()")
    at = made.order("value = list(state.hole)")
    top = made.order(f"{BOX}; value = handles.box_of(pieces.current(scene))[1].z")
    made.shot("handles")
    begin, end = made.place(*at, top), made.place(at[0] + 2.0, at[1] - 1.0, top)
    made.drag(begin, end)
    made.wait(f"abs(state.hang.at_mm[0] - {at[0] + 2.0}) < 0.3")
    moved = made.order("value = [state.hang.use_at_mm, *state.hang.at_mm]")
    assert moved[0]
    assert moved[1:] == pytest.approx([at[0] + 2.0, at[1] - 1.0], abs=0.3)
    made.order("bpy.ops.ed.undo()")
    assert made.order("value = bpy.context.scene.reliefsmith.hang.use_at_mm") is False


def test_a_part_is_picked_by_a_click_on_it_and_by_its_row(made: Desk) -> None:
    made.order("bpy.ops.reliefsmith.pick_part('INVOKE_DEFAULT')")
    made.click(*made.place(0.0, 0.0, 2.6))
    first = made.order("value = bpy.context.view_layer.objects.active['reliefsmith_part']")
    assert first in made.order("value = [part.name for part in state.parts]")
    made.order("bpy.context.view_layer.objects.active = None")
    made.order("show_only('Colors')")
    made.shot("colors")
    made.click(*PICK_SECOND)
    second = made.order("value = bpy.context.view_layer.objects.active['reliefsmith_part']")
    assert second == made.order("value = state.parts[1].name")


def test_a_changed_setting_is_seen_at_once_and_the_piece_is_looked_into(made: Desk) -> None:
    made.order("state.heights.base_mm = 4.0")
    made.wait("max(item.dimensions.z for item in scene.objects) > 3.99")
    made.order("state.cut, state.cut_mm = True, 1.0")
    made.wait("abs(max(item.dimensions.z for item in scene.objects) - 1.0) < 1e-6")
    made.shot("cut")
    made.order("state.cut = False; state.heights.base_mm = 2.0")


def test_colors_that_are_set_aside_are_seen_and_come_back(made: Desk) -> None:
    first, second = made.order("value = [part.name for part in state.parts if part.role == 'motif'][:2]")
    made.order(f"bpy.ops.reliefsmith.own_height(part={first!r})")
    made.order(f"bpy.ops.reliefsmith.use_color(part={second!r}, role='omit')")
    made.order("import reliefsmith_addon.run as run; run.pending.flush()")
    made.order("show_only('Colors')")
    made.shot("set_aside")
    assert made.order("value = [part.name for part in state.parts]").count(second) == 0
    made.order(
        "from reliefsmith_addon import properties\n"
        "bpy.ops.reliefsmith.keep_color(color=properties.hex_of(state.colors.omit[0].color))"
    )
    made.order("import reliefsmith_addon.run as run; run.pending.flush()")
    assert second in made.order("value = [part.name for part in state.parts]")


def test_a_finding_is_gone_to_and_marked_from_its_row(made: Desk) -> None:
    made.order("show_only('Findings', 'Colors')")
    made.order("bpy.ops.reliefsmith.add_mark(kind='thicken', at_mm=(0, 0))")
    made.order("bpy.ops.reliefsmith.add_mark(kind='recolor', at_mm=(3, 4), color='#1e8a8a')")
    made.order("state.mark_kind = 'thicken'")
    # In one order: the marks' live update writes the findings anew whenever it is done.
    made.order(
        "item = state.findings.add(); item.message = 'A place.'; item.severity = 'warn'\n"
        "item.has_place = True; item.place = (0, 0, 2.6)\n"
        "bpy.ops.reliefsmith.show_finding(index=len(state.findings) - 1)"
    )
    made.shot("findings")
    assert made.order("value = list(space.region_3d.view_location)") == pytest.approx([0, 0, 2.6])
    assert made.order("value = len(bpy.context.selected_objects)") == 1


def test_a_drawing_is_made_by_the_python_of_this_blender(made: Desk, tmp_path: Path) -> None:
    path = tmp_path / "lamp.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 60"><rect width="80" height="60" rx="9" '
        'fill="#1b2a49"/><circle cx="40" cy="30" r="20" fill="#f2c14e"/></svg>'
    )
    made.order(f"bpy.ops.reliefsmith.load_picture(filepath={str(path)!r})")
    assert made.order("value = list(bpy.ops.reliefsmith.make())") == ["FINISHED"]
    assert made.order("value = len(state.parts)") == 2


def test_every_panel_is_seen_open(made: Desk) -> None:
    for number, titles in enumerate(
        (("Relief", "Artwork"), ("Colors",), ("Base", "Hanging"), ("Heights", "Findings"), ("Printer",))
    ):
        made.order(f"show_only(*{titles!r})")
        made.shot(f"panels_{number}")
    made.order("bpy.ops.reliefsmith.add_filament()")
    made.order("show_only('Filaments', 'Printer', 'Order', 'Proofs', 'Export')")
    made.shot("panels_5")
    assert made.order("value = len(state.findings)") > 0


def test_an_error_is_shown_in_words(made: Desk) -> None:
    made.order("state.size.use_width_mm = state.size.use_height_mm = True")
    made.wait("'width_mm' in state.trouble")
    made.shot("error")
    made.order("state.size.use_height_mm = False")
    made.wait("state.trouble == ''")


def test_findings_are_dots_in_the_view(made: Desk) -> None:
    made.order(f"{FIRST_MOTIF}; motif.location.z = 3")
    made.order("bpy.ops.reliefsmith.check()")
    found = made.order(
        "value = [[list(one.place), one.severity] for one in state.findings if one.has_place][:1]"
    )
    x, y = made.place(*found[0][0])
    with Image.open(made.shot("findings")) as screen:
        dot = np.asarray(screen.convert("RGB"))[y - 6, x - 3].astype(int)
    red, _, blue = dot
    assert red > blue + 60, f"no dot of a {found[0][1]} at {x}, {y}: {dot}"
    made.order("state.show_findings = False")
    with Image.open(made.shot("findings_off")) as screen:
        without = np.asarray(screen.convert("RGB"))[y - 6, x - 3].astype(int)
    assert abs(without - dot).max() > 60
    made.order(f"{FIRST_MOTIF}; state.show_findings = True; motif.location.z = 0")


def test_pictures_are_rendered_while_the_window_goes_on(made: Desk, tmp_path: Path) -> None:
    made.order("scene.render.resolution_x = 123")
    made.order(f"bpy.ops.reliefsmith.render_proofs(directory='{tmp_path}', count=2, size=64)")
    made.wait("state.rendered", limit_s=300)
    assert made.order("value = state.rendered") == "2 of 2 pictures written"
    assert sorted(path.name for path in tmp_path.glob("*.png")) == [
        "lantern-turn-01.png",
        "lantern-turn-02.png",
    ]
    assert made.order("value = scene.render.resolution_x") == 123


def test_escape_ends_rendering_and_puts_the_settings_back(made: Desk, tmp_path: Path) -> None:
    made.order("scene.render.resolution_x = 123; state.rendered = ''")
    made.order(f"bpy.ops.reliefsmith.render_proofs(directory='{tmp_path}', count=9, size=4096)")
    made.wait("bpy.app.is_job_running('RENDER')", limit_s=300)
    made.key("Escape")
    made.wait("state.rendered", limit_s=300)
    assert made.order("value = state.rendered") == "Rendering ended by Esc: 0 of 9 pictures written"
    assert made.order("value = scene.render.resolution_x") == 123
    assert list(tmp_path.glob("*.png")) == []
