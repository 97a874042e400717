"""Every form on open artworks that nobody here drew, in two sizes: sound, in one piece, layers clean."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import openart
import reliefsmith as rs
from forms import FORMS, HABITS, STANDING, assert_form
from reliefsmith.recipe.presets import load_preset
from reliefsmith.walk.store import MemoryStore

pytestmark = pytest.mark.deep

COUNT, EVERY = 12, 4
PIXELS = 1024
LARGER = (1.0, 1.4)


@cache
def _drawn(number: int, folder: Path) -> tuple[Path, MemoryStore]:
    art = openart.artworks()[number]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    picture = folder / f"{number}.png"
    openart.drawn(art, page, matrix, None).save(picture)
    return picture, MemoryStore(keep=8)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("forms")


@pytest.mark.parametrize("larger", LARGER)
@pytest.mark.parametrize("name", sorted(FORMS | HABITS | STANDING))
@pytest.mark.parametrize("number", [EVERY * place for place in range(COUNT)])
def test_every_form_carries_open_artworks(number: int, name: str, larger: float, folder: Path) -> None:
    picture, store = _drawn(number, folder)
    recipe = load_preset(name)
    side = "height_mm" if recipe.size.height_mm else "longest_mm"
    size = round(larger * getattr(recipe.size, side), 1)
    relief = rs.make(picture, recipe.with_values({f"size.{side}": size}), store=store)
    assert_form(relief)
