"""Jobs with texts: what a bad one costs, what a set holds, and that names on one artwork share its trace."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

import reliefsmith as rs
from reliefsmith.command.cli import run
from reliefsmith.findings import Severity
from reliefsmith.model import Part
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.fonts import shipped_font
from reliefsmith.walk.keys import value_key
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore
from tiers import Early, broad

KITE = Path(__file__).parents[2] / "samples" / "kite.png"
BOX = {"box_mm": [-16, -50, 32, 9]}


class _Watched(MemoryStore):
    """Keeps in which order values were made."""

    def __init__(self) -> None:
        super().__init__(keep=4)
        self.ran: list[str] = []

    def put(self, stage: str, key: str, value: object) -> None:
        self.ran.append(stage)
        super().put(stage, key, value)


def _recipe(*texts: dict, **values: object) -> rs.Recipe:
    return rs.Recipe().with_values({"lettering": list(texts), **values})


def _volume(parts: tuple[Part, ...]) -> float:
    from reliefsmith.mesh import signed_volume

    return sum(signed_volume(part.vertices, part.triangles) for part in parts)


@pytest.fixture(scope="module")
def job() -> Job:
    job = Job(KITE, _Watched())
    job.relief(rs.Recipe())
    return job


def test_names_in_one_box_share_all_but_the_last_stages(job: Job) -> None:
    job.relief(_recipe({"text": "Mirabel", **BOX}))
    job.store.ran.clear()
    relief = job.relief(_recipe({"text": "Tobin", **BOX}))
    assert set(job.store.ran) - {"handed"} <= {
        "inscribed",
        "lettered",
        "stood",
        "divided",
        "accessories",
        "stacked",
        "parts",
        "inspection",
        "matching",
    }
    assert all(item.severity is not Severity.STOP for item in relief.findings)


def test_no_lettering_is_no_change(job: Job) -> None:
    relief = job.relief(rs.Recipe())
    assert relief.plan.texts == ()
    assert relief.result.fonts == ()


def test_touching_letters_are_one_raised_shape_that_is_sound(job: Job) -> None:
    places = {"at_mm": [0, -48], "size_mm": 6}, {"at_mm": [0, 0], "arc_mm": 52, "size_mm": 6}
    relief = job.relief(_recipe(*({"text": "Mara", "letters": "touching", **place} for place in places)))
    assert [len(text.letters.geoms) for text in relief.plan.texts] == [1, 1]
    assert all(item.severity is not Severity.STOP for item in relief.findings)


def test_sunk_letters_take_just_their_area_times_their_depth(job: Job) -> None:
    plain = job.relief(_recipe())
    relief = job.relief(_recipe({"text": "Mirabel 7", "place": "back"}))
    (text,) = relief.plan.texts
    assert _volume(plain.parts) - _volume(relief.parts) == pytest.approx(text.cut.area * 0.4, rel=1e-9)
    assert shapely.covers(text.letters.buffer(0.002), text.cut)  # two steps of the grid
    assert all(item.severity is not Severity.STOP for item in relief.findings)


def test_a_written_recipe_makes_the_same_set_again_with_its_own_font(tmp_path: Path) -> None:
    font = tmp_path / "Kite Round.ttf"
    font.write_bytes(shipped_font("rounded", SHIPPED_FONTS["rounded"]).data)
    shutil.copy(KITE, tmp_path)
    recipe = tmp_path / "own.toml"
    recipe.write_text(
        '[[lettering]]\ntext = "Mirabel"\nat_mm = [0, -44]\nfont = "Kite Round.ttf"\n'
        '[[lettering]]\ntext = "Zoë"\nplace = "back"\n'
    )
    first, again = tmp_path / "first", tmp_path / "again"
    early = Early("mended")
    rs.make(tmp_path / "kite.png", recipe, store=early).write(first)
    assert (first / "kite-font-1.ttf").read_bytes() == font.read_bytes()
    font.unlink()
    rs.make(tmp_path / "kite.png", first / "kite-recipe.toml", store=early).write(again)
    assert {path.name: path.read_bytes() for path in first.iterdir()} == {
        path.name: path.read_bytes() for path in again.iterdir()
    }
    report = json.loads((first / "kite-report.json").read_text())
    assert [text["side"] for text in report["texts"]] == ["front", "back"]
    assert "Mirabel" not in (first / "kite-report.json").read_text()  # words may be names
    assert "Mirabel" in (first / "kite-sheet.html").read_text()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{text = ""}', "entry 1: text is empty"),
        (f'{{text = "{"x" * 10_000}"}}', "64 characters at most, got 10000"),
        ('{text = "a\\u0007b"}', "without control characters"),
        ('{text = "Mira 😀"}', "no glyph for '😀' U\\+1F600"),
        ('{text = "Жук", font = "rounded"}', "the shipped font sans has the whole text"),
        ('{text = "Mira", font = "nothing.ttf"}', "there is no font .*nothing.ttf"),
        (f'{{text = "Mira", font = "{KITE.as_posix()}"}}', "kite.png is no font that can be read"),
        ('{text = "Mira", arc_mm = 30}', "arc_mm needs at_mm"),
        ('{text = "Mira", at_mm = [0, 0], area_mm = [0, 0]}', "cannot all be given"),
        ('{text = "Mira", place = "back", relief = "raised"}', "letters on the back are sunk"),
        ('{text = "Mira", size = 4}', "unknown setting 'size', did you mean size_mm"),
    ],
)
def test_a_bad_text_is_one_line_and_nothing_is_written(
    text: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert run(["make", str(KITE), "-o", str(out), "--set", f"lettering=[{text}]"]) == 2
    err = capsys.readouterr().err
    assert len(err.strip().splitlines()) == 1
    assert re.search(words, err)
    assert not out.exists()


def test_without_the_shaping_library_one_line_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from reliefsmith.typeset.fonts import face_of

    face_of.cache_clear()
    monkeypatch.setitem(sys.modules, "uharfbuzz", None)
    assert run(["make", str(KITE), "-o", "never", "--set", 'lettering=[{text = "Mira"}]']) == 2
    assert "which Windows on ARM does not have" in capsys.readouterr().err
    face_of.cache_clear()


@pytest.mark.parametrize(
    ("text", "values", "held"),
    [
        ({"place": "back"}, {}, 5),
        ({"place": "back", "color": "#d8392b"}, {}, 0),  # laid in: the eyes lie within what is printed
        ({"place": "back"}, {"heights.face": "down"}, 0),  # the back is on top
        ({"box_mm": [-20, -52, 40, 9], "relief": "sunk"}, {}, 0),  # on the base
        ({"box_mm": [-20, -52, 40, 9], "relief": "sunk"}, {"heights.face": "down"}, 5),
    ],
    ids=["back", "laid in", "back on top", "front", "front down"],
)
def test_small_eyes_of_letters_cut_into_the_side_on_the_bed_are_held_by_webs(
    job: Job, text: dict, values: dict, held: int
) -> None:
    """With capitals of 4 mm the five eyes of these letters have under 4 mm2, islands in the first layers."""
    relief = job.relief(_recipe({"text": "Rab8", "size_mm": 4.0, **text}, **values))
    said = [item.message for item in relief.result.notes if item.code == "text-webbed"]
    assert [int(words.split("bed; ")[1].split()[0]) for words in said] == [held] * bool(held)
    (made,) = relief.plan.texts
    eyes = sum(len(letter.interiors) for letter in made.cut.geoms)
    assert (eyes == 0) == bool(held)
    islands = [item.at_mm for item in relief.findings if item.code == "first-layer-island"]
    beside = shapely.contains_xy(made.letters.envelope, *np.reshape(islands, (-1, 3)).T[:2])
    assert not (held and beside.any())
    assert all(item.severity is not Severity.STOP for item in relief.findings)


@pytest.mark.parametrize(
    "where", broad([BOX, {"place": "back"}], lambda where: where is BOX), ids=["box", "back"]
)
def test_a_name_after_others_is_to_the_byte_what_it_is_by_itself(job: Job, where: dict) -> None:
    """What is remembered of letters, layers and steps, and what is found afresh in another process, agree."""
    for text in ("Mirabel", "Ølřák", "Ab"):
        warm = job.relief(_recipe({"text": text, **where}))
    program = (
        "import sys, reliefsmith as rs; from reliefsmith.walk.keys import value_key\n"
        f"made = rs.make({str(KITE)!r}, {{'lettering': [{{'text': 'Ab', **{where!r}}}]}})\n"
        "print(*map(value_key, (made.plan, made.parts, made.inspection)))"
    )
    fresh = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True)
    assert fresh.stdout.split() == [value_key(item) for item in (warm.plan, warm.parts, warm.inspection)]
