"""The main job on the three samples, end to end: sound sets, same bytes twice, edits equal a fresh run."""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from PIL import Image

import reliefsmith as rs
from reliefsmith.errors import ReliefsmithError
from reliefsmith.progress import Progress
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import FolderStore, MemoryStore, encode
from sound import assert_sound
from tiers import Early, broad

SAMPLES = Path(__file__).parents[2] / "samples"
PICTURES = ("kite.png", "heron.jpg", "lantern.png")
EDITS = (
    {"base.border_mm": 2.0},
    {"heights.base_mm": 1.6},
    {"hang.hole_mm": 4.0},
    {"size.width_mm": 50.0},
    {"base.border_mm": 1.0},
    {"areas.smoothing": 0.8},
    {"motif.min_stroke_mm": 0.8},
    {"pieces.connect": "backing"},
    {"heights.layer_mm": 0.1},
    {"hang.hardware": "none"},
    {"base.openings": "fill"},
    {"colors.count": 2},
)


def _recipe(picture: str) -> rs.Recipe:
    return rs.Recipe.load(SAMPLES / Path(picture).with_suffix(".toml"))


@pytest.fixture(scope="module")
def stores() -> dict[str, MemoryStore]:
    """One memo for each picture, shared by the tests of this module."""
    return {picture: MemoryStore(keep=20) for picture in PICTURES}


each_picture = pytest.mark.parametrize("picture", PICTURES)
kite_in_tier = pytest.mark.parametrize("picture", broad(PICTURES, lambda picture: picture == "kite.png"))


@each_picture
def test_sample_is_sound(picture: str, stores: dict[str, MemoryStore]) -> None:
    relief = rs.make(SAMPLES / picture, _recipe(picture), store=stores[picture])
    assert_sound(relief)
    assert relief.printable, relief.findings


@pytest.mark.parametrize(
    ("picture", "width"),
    broad(
        itertools.product(PICTURES, (30.0, 68.25, 150.0)),
        lambda case: case[0] == "kite.png",
    ),
)
def test_width_is_as_asked(picture: str, width: float, stores: dict[str, MemoryStore]) -> None:
    recipe = _recipe(picture).with_values({"size.width_mm": width})
    assert_sound(rs.make(SAMPLES / picture, recipe, store=stores[picture]), width_mm=width)


@kite_in_tier
def test_same_input_twice_gives_the_same_bytes(picture: str, tmp_path: Path) -> None:
    for folder in ("one", "two"):
        rs.make(SAMPLES / picture, _recipe(picture)).write(tmp_path / folder)
    one, two = (
        {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in (tmp_path / folder).iterdir()}
        for folder in ("one", "two")
    )
    assert one == two
    assert len(one) >= 8
    stem = Path(picture).stem
    report = json.loads((tmp_path / "one" / f"{stem}-report.json").read_text(encoding="utf-8"))
    assert report["files"] == {
        name: digest for name, digest in one.items() if not name.endswith("report.json")
    }


def _half(picture: str, folder: Path) -> Path:
    """A picture of half the size: the same walk for a quarter of the pixels."""
    small = folder / picture
    with Image.open(SAMPLES / picture) as whole:
        whole.resize((whole.width // 2, whole.height // 2), Image.Resampling.BOX).save(small, quality=92)
    return small


@pytest.mark.parametrize(
    ("picture", "edits"),
    broad(
        [("kite.png", EDITS[::3]), *((picture, EDITS) for picture in PICTURES)],
        lambda case: case[1] is not EDITS,
    ),
)
def test_any_edits_give_what_a_fresh_run_gives(
    picture: str, edits: Sequence[dict[str, object]], tmp_path: Path
) -> None:
    small = _half(picture, tmp_path)
    job = Job(small, FolderStore(tmp_path / "kept"))
    walk = _recipe(picture)
    job.relief(walk)
    history = [walk := walk.with_values(edit) for edit in edits]
    read = Early("artwork")  # which no edit changes
    fresh = [rs.make(small, recipe, store=read) for recipe in history]
    for recipe, anew in zip((*history, history[0]), (*fresh, fresh[0]), strict=True):  # edits, then back
        kept = job.relief(recipe)
        for one, other in ((kept.parts, anew.parts), (kept.plan, anew.plan)):
            assert encode(one) == encode(other)
        assert encode(kept.inspection) == encode(anew.inspection)


@pytest.mark.parametrize("side", broad(["width_mm", "height_mm", "longest_mm"], "height_mm".__eq__))
def test_the_whole_piece_can_be_measured(side: str, stores: dict[str, MemoryStore]) -> None:
    recipe = rs.Recipe().with_values({"size.measure": "piece", f"size.{side}": 60.0})
    x0, y0, x1, y1 = rs.make(SAMPLES / "kite.png", recipe, store=stores["kite.png"]).plan.base.bounds
    size = {"width_mm": x1 - x0, "height_mm": y1 - y0, "longest_mm": max(x1 - x0, y1 - y0)}[side]
    assert abs(size - 60.0) <= 0.01


@each_picture
def test_an_edit_runs_only_what_depends_on_it(picture: str, stores: dict[str, MemoryStore]) -> None:
    job = Job(SAMPLES / picture, stores[picture])
    before = job.relief(_recipe(picture))
    ran: set[str] = set()

    def watch(step: Progress) -> None:
        if step.fraction < 1.0:
            ran.add(step.stage)

    wider = _recipe(picture).with_values({"base.border_mm": 1.7})
    after = job.relief(wider, watch)
    assert not ran & {"separation", "traced", "flat"}
    if after.plan.base_color == before.plan.base_color:  # which a border may turn to another color
        assert "mended" not in ran  # the motifs are those of before
    assert {"outlined", "repaired"} <= ran
    ran.clear()
    job.relief(wider.with_values({"motif.min_stroke_mm": 0.75}), watch)
    assert {"mended", "repaired"} <= ran


def test_a_stock_is_matched_in_report_and_sheet_and_changes_no_part(
    tmp_path: Path, stores: dict[str, MemoryStore]
) -> None:
    job = Job(SAMPLES / "kite.png", stores["kite.png"])
    plain = job.relief(_recipe("kite.png"))
    first = plain.parts[0]
    own = {"name": "harbor 7", "color": "#{:02x}{:02x}{:02x}".format(*first.color), "grams": 0.5}
    ran: set[str] = set()
    recipe = _recipe("kite.png").with_values({"filaments.stock": [own]})
    relief = job.relief(recipe, lambda step: ran.add(step.stage) if step.fraction < 1.0 else None)
    # "artwork" is told before the store is asked; a stock may be measured, which heights and checks heed.
    assert ran == {"artwork", "stacked", "parts", "inspection", "matching"}
    assert encode(relief.parts) == encode(plain.parts)
    plain.write(tmp_path / "plain")
    report = relief.write(tmp_path / "stock")
    row = report["filaments"][0]
    assert (row["part"], row["name"], row["source"], row["delta_e00"]) == ("base", "harbor 7", "stock", 0.0)
    assert "filament-short" in {item["code"] for item in report["findings"]}
    changed = {
        path.name
        for path in (tmp_path / "stock").iterdir()
        if path.read_bytes() != (tmp_path / "plain" / path.name).read_bytes()
    }
    assert changed == {f"kite-{end}" for end in ("report.json", "recipe.toml", "sheet.html", "proof.png")}


def test_editing_a_mark_runs_nothing_before_it_and_equals_a_fresh_run(tmp_path: Path) -> None:
    small = _half("kite.png", tmp_path)
    job = Job(small, FolderStore(tmp_path / "kept"))
    walk = _recipe("kite.png")
    plain = job.relief(walk)
    place = plain.areas.polygons[0].geoms[0].representative_point()
    at_mm = [round(place.x, 3), round(place.y, 3)]
    corner = [[-5.0, -5.0], [5.0, -5.0], [0.0, 4.0]]
    edits = (
        [{"kind": "recolor", "at_mm": at_mm, "value": "#d2322d"}],
        [{"kind": "recolor", "polygon_mm": corner, "value": "#0a8f3c"}, {"kind": "merge", "at_mm": [0, -1]}],
        [{"kind": "erase", "at_mm": [900, 900]}],
        [],
    )
    early = Early("flat")
    for marks in edits:
        ran: set[str] = set()
        recipe = walk.with_values({"marks": marks})
        kept = job.relief(recipe, lambda step, ran=ran: ran.add(step.stage) if step.fraction < 1.0 else None)
        assert not ran & {"separation", "traced", "flat"}
        fresh = rs.make(small, recipe, store=early)
        assert encode(kept.areas) == encode(fresh.areas)
        assert encode(kept.plan) == encode(fresh.plan)
        assert encode(kept.parts) == encode(fresh.parts)
        assert_sound(kept)
        assert len(kept.areas.notes) + len(kept.areas.findings) >= len(marks)


@kite_in_tier
def test_closing_the_steps_cancels_and_a_later_run_is_whole(picture: str) -> None:
    job = Job(SAMPLES / picture)
    steps = job.relief_steps(_recipe(picture))
    for _ in range(5):
        next(steps)
    steps.close()
    assert_sound(job.relief(_recipe(picture)))


def test_a_set_is_written_over_an_older_one(tmp_path: Path, stores: dict[str, MemoryStore]) -> None:
    path, store = SAMPLES / "kite.png", stores["kite.png"]
    rs.make(path, _recipe("kite.png"), store=store).write(tmp_path)
    before = {file.name for file in tmp_path.iterdir()}
    rs.make(path, _recipe("kite.png").with_values({"colors.count": 2}), store=store).write(tmp_path)
    after = {file.name for file in tmp_path.iterdir()}
    report = json.loads((tmp_path / "kite-report.json").read_text(encoding="utf-8"))
    assert after == {*report["files"], "kite-report.json"}
    assert after < before


def test_the_recipe_that_was_used_makes_the_same_set_again(
    tmp_path: Path, stores: dict[str, MemoryStore]
) -> None:
    path = SAMPLES / "kite.png"
    first = rs.make(path, _recipe("kite.png"), store=stores["kite.png"])
    first.write(tmp_path)
    again = rs.make(path, rs.Recipe.load(tmp_path / "kite-recipe.toml"))
    assert encode(again.parts) == encode(first.parts)


def test_an_unwritable_folder_leaves_nothing(tmp_path: Path, stores: dict[str, MemoryStore]) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    relief = rs.make(SAMPLES / "kite.png", _recipe("kite.png"), store=stores["kite.png"])
    with pytest.raises(ReliefsmithError):
        relief.write(blocked / "below")
    assert sorted(item.name for item in tmp_path.iterdir()) == ["file"]
