"""What was decided, why, and what else could be: each other value is one that the recipe takes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import reliefsmith as rs
from reliefsmith.jobs.decisions import Decision, decisions
from reliefsmith.walk.store import MemoryStore

SAMPLES = Path(__file__).parents[3] / "samples"
STORE = MemoryStore(keep=8)


def decided(picture: str, **values: object) -> dict[str, Decision]:
    result = rs.make(SAMPLES / picture, values, store=STORE).result
    return {item.setting: item for item in decisions(result)}


@pytest.mark.parametrize("picture", ["kite.png", "lantern.png"])
def test_every_other_value_is_one_that_the_recipe_takes(picture: str) -> None:
    found = decided(picture)
    assert {"colors.base", "heights.style"} <= set(found)
    for item in found.values():
        assert item.others
        for other in item.others:
            rs.Recipe().with_values({item.setting: other})


def test_the_base_tells_its_reason_and_offers_colors_that_differ_plainly() -> None:
    base = decided("lantern.png")["colors.base"]
    assert base.taken == "white (#f4f1e8)"
    assert base.why == "the art encloses ground of this color, which the base shows"
    assert base.others == ("#43204d", "#ee7b22", "#ffd34d", "#1a1a1a")
    assert decided("kite.png")["colors.base"].why.startswith("it meets the ground longest")


def test_what_the_recipe_asks_for_says_so_and_can_be_left_open_again() -> None:
    asked = decided("lantern.png", **{"colors.base": "#43204d", "heights.style": "raised"})
    for key, taken in (("colors.base", "purple (#43204d)"), ("heights.style", "raised")):
        assert asked[key].taken == taken
        assert asked[key].why == "the recipe asks for it"
        assert asked[key].others[0] == "auto"
    assert "raised" not in asked["heights.style"].others


@pytest.mark.parametrize(
    ("wanted", "taken"),
    [("auto", "shown by the base"), ("keep", "a part of its own"), ("remove", "open")],
)
def test_enclosed_ground_has_a_row_where_there_is_such(wanted: str, taken: str) -> None:
    row = decided("lantern.png", **{"background.enclosed": wanted})["background.enclosed"]
    assert row.taken == taken
    assert set(row.others) == {"auto", "keep", "remove"} - {wanted}
    assert "background.enclosed" not in decided("kite.png")


def test_openings_have_a_row_where_there_are_such() -> None:
    assert decided("kite.png")["base.openings"].taken == "1 open, 1 filled"
    assert decided("kite.png", **{"base.openings": "fill"})["base.openings"].taken == "2 filled"
    assert "base.openings" not in decided("lantern.png")


def test_the_picture_has_a_row_where_it_is_more_than_a_drawing(tmp_path: Path) -> None:
    assert "artwork.kind" not in decided("kite.png")
    row = decided("kite.png", **{"artwork.kind": "flat"})["artwork.kind"]
    assert (row.taken, row.why, row.others[0]) == ("flat", "the recipe asks for it", "auto")
    page = Image.open(SAMPLES / "kite.png").convert("RGBA")
    rows, columns = np.indices((page.height, page.width)) // 20
    ground = Image.fromarray(np.where((rows + columns) % 2, 255, 204).astype(np.uint8)).convert("RGBA")
    ground.alpha_composite(page)
    ground.convert("RGB").save(tmp_path / "checks.png")
    result = rs.make(tmp_path / "checks.png", store=STORE).result
    row = {item.setting: item for item in decisions(result)}["artwork.kind"]
    assert row.taken == result.artwork_kind == "checkerboard"
    assert "flat" in row.others
