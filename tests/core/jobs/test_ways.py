"""Ways to make a piece: really made, told apart by the eye, shared stages run once; the page and the pick."""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from importlib.resources import files
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from documents.pages import Page
from PIL import Image, ImageDraw, ImageFont

import reliefsmith as rs
from reliefsmith.command.cli import run
from reliefsmith.documents.proof.proof import thumbnail_png
from reliefsmith.documents.ways_page import ways_html, ways_mapping
from reliefsmith.jobs.ways import MOST_WAYS, ways_steps
from reliefsmith.model import Way
from reliefsmith.plan.strokes import repair
from reliefsmith.progress import drain
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore, encode

SHARED = ("artwork", "separation", "traced", "flat", "marked", "sampled")


class Counting(MemoryStore):
    """Counts how often each stage came to a value."""

    def __init__(self) -> None:
        super().__init__(keep=8)
        self.made: Counter[str] = Counter()

    def put(self, stage: str, key: str, value: Any) -> None:
        self.made[stage] += 1
        super().put(stage, key, value)


def draw(path: Path, *, fine: bool = False) -> Path:
    """A lantern on white paper: a blue body with a yellow window and a red band; fine lines if asked for."""
    image = Image.new("RGB", (360, 420), "white")
    pen = ImageDraw.Draw(image)
    pen.ellipse((40, 60, 320, 380), fill="#1f4fa0")
    pen.ellipse((100, 130, 260, 300), fill="#ffcf3f")
    pen.rectangle((60, 330, 300, 356), fill="#d03a2c")
    for x in range(110, 250, 12 if fine else 500):
        pen.line((x, 180, x, 250), fill="#1f4fa0", width=3)
    image.save(path)
    return path


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return draw(tmp_path_factory.mktemp("art") / "lantern.png")


@pytest.fixture(scope="module")
def store() -> Counting:
    return Counting()


@pytest.fixture(scope="module")
def ways(picture: Path, store: Counting) -> tuple[Way, ...]:
    return drain(ways_steps(Job(picture, store), rs.Recipe()))


def test_the_present_way_comes_first_and_others_of_several_kinds_follow(ways: tuple[Way, ...]) -> None:
    assert ways[0].settings == {}
    assert 4 <= len(ways) <= MOST_WAYS
    assert {way.kind for way in ways} >= {"", "base", "shape", "style"}


def test_fewer_filaments_are_offered_with_what_they_cost(tmp_path: Path) -> None:
    image = Image.open(draw(tmp_path / "many.png"))
    pen = ImageDraw.Draw(image)
    for at, color in enumerate(("#d0552c", "#128a4a", "#7a3b8f")):  # the first is nearly the red of the band
        pen.ellipse((80 + 70 * at, 180, 130 + 70 * at, 230), fill=color)
    image.save(tmp_path / "many.png")
    found = drain(ways_steps(Job(tmp_path / "many.png"), rs.Recipe()))
    (fewer,) = (way for way in found if way.kind == "colors")
    assert fewer.settings["colors.most"] in (4, 5)
    assert len(fewer.result.parts) == fewer.settings["colors.most"] < len(found[0].result.parts)
    assert f"In {len(fewer.result.parts)} colors" in Page(ways_html(found)).text()


def test_each_way_is_what_make_gives_with_its_settings(picture: Path, ways: tuple[Way, ...]) -> None:
    for way in ways:
        fresh = rs.make(picture, rs.Recipe().with_values(way.settings))
        assert encode(fresh.parts) == encode(way.result.parts)
        assert fresh.result.fidelity == way.result.fidelity
        assert fresh.inspection.estimate == way.result.inspection.estimate


@pytest.mark.usefixtures("ways")
def test_what_ways_share_is_made_once(store: Counting) -> None:
    assert {stage: store.made[stage] for stage in SHARED} == dict.fromkeys(SHARED, 1)


def test_no_way_loses_more_than_the_present_one_or_says_not_to_print(ways: tuple[Way, ...]) -> None:
    now = ways[0].result.fidelity
    assert now is not None
    for way in ways[1:]:
        seen = way.result.fidelity
        assert seen is not None
        assert seen.edges_kept >= now.edges_kept - 0.02
        assert seen.paint_right >= now.paint_right - 0.02 or way.kind == "colors"
        assert way.printable


def test_any_two_ways_are_told_apart(ways: tuple[Way, ...], tmp_path: Path) -> None:
    """By their small pictures, or by their heights."""
    pictures = []
    for number, way in enumerate(ways):
        (tmp_path / f"{number}.png").write_bytes(thumbnail_png(way.result))
        pictures.append(np.asarray(Image.open(tmp_path / f"{number}.png"), int))
    for one, other in combinations(range(len(ways)), 2):
        apart = (np.abs(pictures[one] - pictures[other]).max(axis=2) > 40).mean()
        heights = [{part.vertices[:, 2].max() for part in ways[n].result.parts} for n in (one, other)]
        assert apart > 0.01 or heights[0] != heights[1], (ways[one].settings, ways[other].settings)


def test_what_prints_too_fine_is_offered_larger(tmp_path: Path) -> None:
    small = rs.Recipe().with_values({"size.width_mm": 22.0})
    fine = drain(ways_steps(Job(draw(tmp_path / "fine.png", fine=True)), small))
    sizes = [way for way in fine if way.kind == "size"]
    assert any(item.code == "much-repaired" for item in fine[0].result.findings)
    assert len(sizes) == 1
    assert sizes[0].settings["size.width_mm"] > 22.0
    assert not any(item.code == "much-repaired" for item in sizes[0].result.findings)


@pytest.mark.parametrize("measure", ["artwork", "piece"])
def test_the_size_at_which_all_lettering_prints_is_offered(
    tmp_path: Path, measure: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(repair, "_MOST_SEARCHED", 0)  # the other search, where little would change
    image = Image.new("RGB", (900, 300), "white")
    font = ImageFont.truetype(
        BytesIO((files("reliefsmith_data") / "fonts" / "Lato-Bold.ttf").read_bytes()), 60
    )
    ImageDraw.Draw(image).rectangle((20, 20, 880, 160), fill="#1f4fa0")
    ImageDraw.Draw(image).text((450, 230), "LARK WALK", fill="#1f4fa0", font=font, anchor="mm")
    image.save(tmp_path / "fine.png")
    recipe = rs.Recipe().with_values({"size.width_mm": 40.0, "size.measure": measure})
    found = drain(ways_steps(Job(tmp_path / "fine.png"), recipe))
    assert found[0].result.lettering.lost
    larger = [way for way in found if way.kind == "size" and not way.result.lettering.lost]
    assert larger
    grown = larger[0].result.plan.artwork_mm[0] / found[0].result.plan.artwork_mm[0]
    assert grown == pytest.approx(found[0].result.lettering.lost[0].enough, rel=0.01)
    assert "all lettering prints" in Page(ways_html(found)).text()
    (told,) = (item for item in found[0].result.findings if item.code == "lettering-thin")
    width = float(re.search(r"size\.width_mm = (\d+)", told.message)[1])
    for width_mm, prints in ((width, True), (0.95 * width, False)):
        tried = recipe.with_values({"size.width_mm": width_mm})
        values = drain(Job(tmp_path / "fine.png").steps(tried, "lettering"))
        assert (not values["lettering"].lost) is prints


def test_the_page_stands_alone_and_shows_each_way_with_its_lines(ways: tuple[Way, ...]) -> None:
    html = ways_html(ways)
    page = Page(html)
    assert html == ways_html(ways)
    assert len(page.all("article")) == len(ways)
    assert all((item["src"] or "").startswith("data:image/png") for item in page.all("img"))
    assert not page.all("script")
    assert not page.all("link")
    lines = [tomllib.loads(text) for tag, text in page.texts if tag == "pre"]
    assert [rs.Recipe.from_mapping(table) for table in lines] == [
        rs.Recipe().with_values(way.settings) for way in ways[1:]
    ]
    numbers = [text for tag, text in page.texts if tag == "span"]
    assert numbers == [str(number) for number in range(1, len(ways) + 1)]


def test_a_price_is_told_only_where_the_recipe_has_prices(picture: Path, ways: tuple[Way, ...]) -> None:
    assert "Price" not in Page(ways_html(ways)).text()
    priced = rs.make(picture, {"cost.hand_per_hour": 30.0}).result
    text = Page(ways_html([Way("", {}, priced)])).text()
    assert f"Price {priced.inspection.estimate.cost:.2f} EUR" in text


def test_the_command_writes_the_page_and_the_recipe_that_is_picked(
    picture: Path, ways: tuple[Way, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    kept = ["--keep-stages", str(tmp_path / "kept")]
    assert run(["ways", str(picture), "--json", *kept]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(ways_mapping(ways)))
    assert Path("lantern-ways.html").read_bytes() == ways_html(ways)
    assert run(["ways", str(picture), "--pick", "3", *kept]) == 0
    assert rs.Recipe.load("lantern-way-3.toml") == rs.Recipe().with_values(ways[2].settings)
    Path("mine.toml").write_text("# mine\n")
    for words, told in (
        (["--pick", "9"], f"error: --pick asks for way 9, but there are ways 1 to {len(ways)};"),
        (["--pick", "0"], "error: --pick asks for way 0, but there are ways"),
        (["--pick", "2", "-o", "mine.toml"], "error: mine.toml is there already; choose another place with"),
    ):
        before = sorted(tmp_path.iterdir())
        capsys.readouterr()
        assert run(["ways", str(picture), *words, *kept]) == 2
        assert capsys.readouterr().err.splitlines()[-1].startswith(told)
        assert sorted(tmp_path.iterdir()) == before
    assert Path("mine.toml").read_text() == "# mine\n"
