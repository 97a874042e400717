"""Sets with a second picture on the back: how it lies, in which colors and layers, what refuses it."""

from __future__ import annotations

import json
import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

import reliefsmith as rs
from reliefsmith.batch.rows import read_rows, row_recipes
from reliefsmith.checks.layerstack import layers_of_stack
from reliefsmith.command.cli import run
from reliefsmith.errors import GeometryError, StoreError
from reliefsmith.findings import Severity
from reliefsmith.mesh import signed_volume
from reliefsmith.model import Slab
from reliefsmith.walk.store import FolderStore, MemoryStore
from sound import assert_closed

CUT = {"size__width_mm": 90, "printer__bed_mm": [70, 60], "seams__mode": "auto"}
STORE = MemoryStore(keep=40)
RED, BLUE, GREEN = (200, 40, 45), (30, 60, 150), (30, 140, 70)


def front() -> np.ndarray:
    """A red field on paper."""
    made = np.full((70, 110, 3), 255, dtype=np.uint8)
    made[10:60, 10:100] = RED
    return made


def behind() -> np.ndarray:
    """Red beside blue, as they are to be read; a green dash over both."""
    made = np.full((60, 100, 3), 255, dtype=np.uint8)
    made[10:50, 10:50] = RED
    made[10:50, 50:90] = BLUE
    made[24:36, 20:80] = GREEN
    return made


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Image.fromarray(front()).save(tmp_path / "front.png")
    Image.fromarray(behind()).save(tmp_path / "behind.png")
    return tmp_path


def _made(folder: Path, **values: object) -> rs.Relief:
    given = {key.replace("__", "."): value for key, value in values.items()}
    return rs.make(folder / "front.png", {"back.picture": str(folder / "behind.png"), **given}, store=STORE)


def _laid(relief: rs.Relief) -> dict[tuple[int, int, int], Slab]:
    """Return what lies in the back, by color: of the finished piece, front up."""
    low = [slab for slab in relief.stack.seen if slab.role == "motif" and slab.bottom_mm == 0]
    return {slab.color: slab for slab in low}


def _lie_close(relief: rs.Relief) -> None:
    """Each layer is its parts side by side: nothing of its area is bare, nothing is there twice."""
    for layer in layers_of_stack(relief.stack):
        shapes = list(layer.shapes.values())
        assert shapely.coverage_is_valid(shapes)
        assert sum(shape.area for shape in shapes) == pytest.approx(layer.union.area, abs=1e-9)


def test_it_reads_from_behind_level_with_the_back(folder: Path) -> None:
    relief = _made(folder)
    laid = _laid(relief)
    assert [slab.highest_mm for slab in laid.values()] == [0.4] * 3
    # Seen from the front its left is on the right.
    assert laid[RED].polygon.centroid.x > 1 > -1 > laid[BLUE].polygon.centroid.x
    assert {part.name for part in relief.parts} == {"base", "red", "green", "blue"}
    _lie_close(relief)
    for part in relief.parts:
        assert_closed(part)
    assert not [item for item in relief.findings if item.severity is Severity.STOP]


def test_it_takes_no_plastic_and_leaves_the_outline(folder: Path) -> None:
    plain, relief = rs.make(folder / "front.png", store=STORE), _made(folder)
    assert relief.plan.base.equals(plain.plan.base)
    assert relief.plan.center_of_mass_mm == plain.plan.center_of_mass_mm
    volumes = [
        sum(signed_volume(part.vertices, part.triangles) for part in one.parts) for one in (plain, relief)
    ]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-9)


def test_it_stays_away_from_edges_hole_and_texts(folder: Path) -> None:
    box = [-30, -18, 60, 9]
    relief = _made(
        folder, lettering=[{"text": "Larkwater", "place": "back", "box_mm": box}], size__width_mm=70
    )
    whole = shapely.union_all([item.polygon for item in relief.plan.inlays])
    hole = relief.plan.hole
    assert shapely.distance(whole, relief.plan.base.boundary) > 0.799
    assert shapely.distance(whole, shapely.Point(hole.center_mm)) > hole.diameter_mm / 2 + 0.799
    assert shapely.distance(whole, shapely.box(-30, -18, 30, -9)) > 0.799
    assert shapely.distance(whole, relief.plan.texts[0].letters) > 0.799


def test_a_text_without_a_place_gives_way_to_it(folder: Path) -> None:
    relief = _made(
        folder, lettering=[{"text": "7", "place": "back"}], back__width_mm=20, back__at_mm=[-18, 0]
    )
    letters = relief.plan.texts[0].letters
    whole = shapely.union_all([item.polygon for item in relief.plan.inlays])
    assert shapely.distance(letters, whole) > 0.799
    left, _, right, _ = whole.bounds
    assert (right - left, (left + right) / 2) == (pytest.approx(20, abs=0.01), pytest.approx(-18, abs=0.01))
    _lie_close(relief)


def test_letters_that_have_a_color_are_laid_in_too(folder: Path) -> None:
    text = {"text": "Mirabel", "place": "back", "box_mm": [-30, -18, 60, 9], "color": "#1e8c46"}
    relief = _made(folder, lettering=[text])
    assert relief.plan.texts[0].color == GREEN  # which the picture has
    assert {part.name for part in relief.parts} == {"base", "red", "green", "blue"}
    (green,) = [slab for slab in relief.stack.slabs if slab.part == "green"]
    both = shapely.union_all([relief.plan.texts[0].cut, *_of(relief, GREEN)])
    assert green.polygon.symmetric_difference(both).area < 1e-6
    _lie_close(relief)
    alone = rs.make(folder / "front.png", {"lettering": [{**text, "depth_mm": 0.6}]})
    assert [(part.name, part.vertices[:, 2].max()) for part in alone.parts if part.name == "green"] == [
        ("green", 0.6)
    ]
    for part in alone.parts:
        assert_closed(part)
    assert alone.stack.color_changes[0].z_mm == 0.0
    for color, words in (("#f4f1e8", "would not be seen"),):
        base = {"colors.base": color, "lettering": [{**text, "color": color}]}
        with pytest.raises(GeometryError, match=words):
            rs.make(folder / "front.png", base)


def _of(relief: rs.Relief, color: tuple[int, int, int]) -> list[shapely.MultiPolygon]:
    return [item.polygon for item in relief.plan.inlays if item.color == color]


def test_names_of_one_box_share_it(folder: Path) -> None:
    job = rs.Job(folder / "front.png")
    recipe = rs.Recipe().with_values({"back.picture": str(folder / "behind.png")})
    text = {"place": "back", "box_mm": [-30, -18, 60, 9]}
    plans = [
        job.relief(recipe.with_values({"lettering": [{"text": words, **text}]})).plan
        for words in ("Mirabel", "Tobin")
    ]
    assert plans[0].inlays is plans[1].inlays


def test_its_layers_and_changes_are_counted(folder: Path) -> None:
    plain, relief = rs.make(folder / "front.png", store=STORE), _made(folder)
    # Base, red, blue, green in two layers: three changes in each and one between, none to red at the end.
    assert plain.inspection.estimate.changes == 1
    assert relief.inspection.estimate.changes == 3 + 3 + 1
    assert relief.inspection.estimate.purge_mm3 > 0
    assert relief.inspection.estimate.time_min > plain.inspection.estimate.time_min
    begins = [(item.layer, item.z_mm) for item in relief.stack.color_changes]
    assert begins == [(1, 0.0), (1, 0.0), (1, 0.0), (3, 0.4), (11, 2.0)]
    assert not relief.stack.by_height
    told = next(item.message for item in relief.findings if item.code == "changes-in-layers")
    assert "back.palette" in told
    fewer = _made(folder, back__palette="piece")
    assert {part.name for part in fewer.parts} == {"base", "red"}
    assert fewer.inspection.estimate.changes < relief.inspection.estimate.changes


def test_printed_face_down_it_is_on_top(folder: Path) -> None:
    relief = _made(folder, heights__face="down", printer__filaments=4)
    laid = _laid(relief)
    assert laid[RED].polygon.centroid.x > laid[BLUE].polygon.centroid.x
    top = relief.stack.layer_tops_mm[-1]
    lying = [slab for slab in relief.stack.slabs if slab.part == "blue"]
    assert [(slab.bottom_mm, slab.top) for slab in lying] == [(pytest.approx(top - 0.4), top)]
    _lie_close(relief)
    assert not [item for item in relief.findings if item.severity is Severity.STOP]


def test_of_two_plates_the_back_one_has_it(folder: Path) -> None:
    relief = _made(folder, heights__face="down", heights__style="sunk", heights__split="pegs")
    assert {"red", "blue", "green"} <= set(relief.stack.jobs[1])
    assert {slab.bottom_mm for slab in _laid(relief).values()} == {0.0}
    for part in relief.parts:
        assert_closed(part)
    assert not [item for item in relief.findings if item.severity is Severity.STOP]


def test_a_light_color_too_thin_over_a_dark_base_is_said(folder: Path) -> None:
    pale = np.full((60, 100, 3), 255, dtype=np.uint8)
    pale[10:50, 10:90] = 250, 240, 170
    Image.fromarray(pale).save(folder / "behind.png")
    dark = {"colors__base": "#101820"}
    told = [item for item in _made(folder, **dark).findings if item.message.startswith("On the back: ")]
    assert [item.code for item in told] == ["low-hiding"]
    deep = _made(folder, **dark, back__depth_mm=1.4, heights__base_mm=3.0)
    assert not [item for item in deep.findings if item.message.startswith("On the back: ")]


def test_first_layers_drawn_in_and_shaped_tops_leave_it_level(folder: Path) -> None:
    relief = _made(folder, heights__foot_mm=0.2, heights__top="chamfer", heights__style="raised")
    own = [slab for slab in relief.stack.slabs if slab.part == "red"]
    assert [isinstance(slab.top, float) for slab in own].count(False) == 1  # the front's
    assert {slab.top for slab in own if isinstance(slab.top, float)} == {0.2, 0.4}
    for part in relief.parts:
        assert_closed(part)
    assert not [item for item in relief.findings if item.severity is Severity.STOP]


def test_hand_relief_stays_on_the_front(folder: Path) -> None:
    y, x = np.mgrid[-1:1:70j, -1:1:110j]
    rings = 0.2 + 0.2 * np.sin(20 * np.hypot(x, y))
    recipe = {"back.picture": str(folder / "behind.png"), "heights.style": "raised"}
    relief = rs.make(folder / "front.png", recipe, hand=rings)
    for part in relief.parts:
        assert_closed(part)
    heights = {part.name: part.vertices[:, 2].max() for part in relief.parts}
    assert heights["red"] > 2.7
    assert (heights["blue"], heights["green"]) == (0.4, 0.4)
    assert not [item for item in relief.findings if item.severity is Severity.STOP]


def test_a_piece_is_cut_beside_it(folder: Path) -> None:
    small = {"back__width_mm": 14, "back__at_mm": [-25, 0]}
    relief = _made(folder, **CUT, **small)
    division = relief.plan.division
    assert len(division.segments) > 1
    whole = shapely.union_all([item.polygon for item in relief.plan.inlays])
    assert sum(shapely.covers(one.outline, whole) for one in division.segments) == 1
    for part in relief.parts:
        assert_closed(part)


def test_strokes_too_thin_are_mended_and_said(folder: Path) -> None:
    thin = np.full((300, 400, 3), 255, dtype=np.uint8)
    thin[20:280, 20:380] = BLUE
    for x in range(60, 360, 30):
        thin[40:260, x : x + 3] = 255
    Image.fromarray(thin).save(folder / "behind.png")
    relief = _made(folder, back__width_mm=30)
    told = [item for item in relief.result.notes if item.code == "back-repaired"]
    assert any("gap" in item.message for item in told)
    assert all(item.message.startswith("On the back") and item.at_mm is None for item in told)
    assert any(
        item.code == "much-repaired" and item.message.startswith("On the back") for item in relief.findings
    )
    bare = [piece for slab in _laid(relief).values() for piece in shapely.get_parts(slab.polygon)]
    assert all(shapely.buffer(piece, -0.19).area > 0 for piece in bare)


def test_a_set_holds_it_and_its_recipe_makes_the_same_again(folder: Path, monkeypatch) -> None:
    (folder / "mine.toml").write_text('[back]\npicture = "behind.png"\n')
    elsewhere = folder / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    words = ["make", str(folder / "front.png"), "--quiet"]
    assert run([*words, "--recipe", str(folder / "mine.toml"), "-o", "one"]) == 0
    assert run([*words, "--recipe", "one/front-recipe.toml", "-o", "two"]) == 0
    one, two = ({path.name: path.read_bytes() for path in Path(name).iterdir()} for name in ("one", "two"))
    assert one == two
    assert one["front-back.png"] == (folder / "behind.png").read_bytes()
    report = json.loads(one["front-report.json"])
    assert "picture-laid" in {item["code"] for item in report["notes"]}
    assert "The second picture lies in the back" in one["front-sheet.html"].decode()


def test_kept_stages_and_painted_parts_hold_it(folder: Path) -> None:
    recipe = rs.Recipe().with_values(
        {
            "back.picture": str(folder / "behind.png"),
            "filaments.parts": [{"part": "blue", "color": "#102030"}],
        }
    )
    relief = rs.make(folder / "front.png", recipe, store=FolderStore(folder / "stages"))
    assert {slab.color for slab in relief.stack.slabs if slab.part == "blue"} == {(16, 32, 48)}
    assert (16, 32, 48) in {item.color for item in relief.plan.inlays}
    again = rs.remake(next((folder / "stages").glob("lettered-*.npz")), recipe)
    for one, other in zip(relief.parts, again.parts, strict=True):
        np.testing.assert_array_equal(one.vertices, other.vertices)
    with pytest.raises(StoreError, match="without its back"):
        rs.remake(next((folder / "stages").glob("hung-*.npz")), recipe)


def test_a_table_names_files_from_its_own_folder(folder: Path) -> None:
    shutil.copy(folder / "behind.png", folder / "font.ttf")
    (folder / "week.csv").write_text(
        "picture,back.picture,heights.hand,lettering.1.text,lettering.1.font\n"
        "front.png,behind.png,,,\nfront.png,,relief.tiff,Mirabel,font.ttf\nfront.png,,,Tobin,sans\n"
    )
    first, second, third = read_rows(folder / "week.csv", row_recipes(None, None, None))
    assert first.recipe.back.picture == str(folder / "behind.png")
    assert second.recipe.heights.hand == str(folder / "relief.tiff")
    assert [row.recipe.lettering[0].font for row in (second, third)] == [str(folder / "font.ttf"), "sans"]


def test_a_table_sinks_a_number_of_its_own_into_each_rows_back(folder: Path) -> None:
    """As the README says it."""
    (folder / "week.csv").write_text(
        "picture,lettering.1.text,lettering.1.place\nfront.png,A-17,back\nfront.png,A-18,back\n"
    )
    assert run(["batch", str(folder / "week.csv"), "-o", str(folder / "week"), "--quiet", "--jobs", "1"]) == 0
    reports = [
        json.loads(path.read_text(encoding="utf-8")) for path in (folder / "week").glob("*/*-report.json")
    ]
    assert [one["texts"][0]["side"] for one in reports] == ["back", "back"]
    assert [one["texts"][0]["depth_mm"] for one in reports] == [0.4, 0.4]
    assert len({tuple(sorted(one["files"].items())) for one in reports}) == 2


def _noise() -> np.ndarray:
    return np.random.default_rng(11).integers(0, 256, (200, 300, 3), dtype=np.uint8)


BAD = {
    "missing": ({"back.picture": "nowhere.png"}, "back.picture: there is no picture at"),
    "folder": ({"back.picture": "."}, "is a folder"),
    "photograph": ({"back.picture": "noise.png"}, "back.picture: "),
    "no picture": ({"back.picture": "words.png"}, "back.picture: "),
    "only the base's color": ({"back.picture": "front.png", "colors.base": "#c8282d"}, "would not be seen"),
    "taken by a magnet": (
        {"hang.hardware": "magnet", "hang.magnet_mm": [6, 2], "heights.base_mm": 3, "size.width_mm": 16},
        "back.picture has no room on the back",
    ),
    "no room there": ({"back.at_mm": [30, 20]}, "no room at back.at_mm"),
    "too wide": ({"back.width_mm": 200}, "back.picture has no room on the back"),
    "too deep": ({"back.depth_mm": 2}, "too low for a pocket"),
    "across every seam": (
        {key.replace("__", "."): value for key, value in CUT.items()},
        "cut through the second picture",
    ),
    "raised face down": ({"heights.face": "down", "heights.style": "raised"}, "heights.face to up"),
    "one filament face down": ({"heights.face": "down", "heights.style": "flush"}, "printer.filaments"),
    "into the front's layers": ({"heights.style": "flush", "heights.base_mm": 0.8}, "heights.base_mm"),
}


@pytest.mark.parametrize("case", BAD, ids=str)
def test_what_cannot_be_laid_is_one_line_and_writes_nothing(
    folder: Path, case: str, monkeypatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Image.fromarray(_noise()).save(folder / "noise.png")
    (folder / "words.png").write_text("no picture")
    monkeypatch.chdir(folder)
    changed, words = BAD[case]
    recipe = rs.Recipe().with_values({"back.picture": "behind.png", **changed})
    (folder / "bad.toml").write_text(recipe.to_toml())
    assert run(["make", "front.png", "--recipe", "bad.toml", "-o", "out", "--quiet"]) == 2
    told = capsys.readouterr().err.strip().splitlines()
    assert len(told) == 1
    assert words in told[0]
    assert not (folder / "out").exists()


def test_it_names_no_front_layer_twice(folder: Path) -> None:
    """A part of one color on both sides has a body on each, one above the other."""
    relief = _made(folder, heights__style="flush")
    own = sorted((slab.bottom_mm, slab.highest_mm) for slab in relief.stack.slabs if slab.part == "red")
    assert all(low[1] < high[0] for low, high in pairwise(own))
    _lie_close(relief)
