"""What a script calls shows how: each public name has an example that runs, or a reason why it has none."""

from __future__ import annotations

import importlib
import importlib.util
import inspect
import pkgutil
from collections.abc import Iterator
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any

import pytest

ROOMS = ("polygons", "mesh", "colorimetry", "formats")  # what their packages hand out
DEEP = ("recipe", "walk", "jobs")  # what any of their modules hands out
SPARED = {
    "a top is made of solids that the heights' stage plans": {"modeled_top", "with_tops"},
    "declares or checks a setting; shown by Recipe, which every script uses": {
        "Row",
        "Section",
        "checked",
        "from_mapping",
        "setting",
        "specs",
        "known_keys",
    },
    "puts a command's words together": {"asked_over", "asked_recipe", "beside", "read_toml", "schema_text"},
    "the walk's own: how a job finds, keys, fits and words its stages": {
        "Store",
        "after",
        "as_fonts",
        "as_hand",
        "colors_told",
        "fonts_key",
        "named_files",
        "painted",
        "picture_key",
        "recipe_files",
        "stage_key",
        "taken_from",
        "value_key",
    },
    "behind Relief.write, `areas`, `check --repair`, `batch` and the add-on": {
        "area_writer",
        "areas_report",
        "as_printed",
        "read_files",
        "write_parts",
    },
    "behind `beds` and `check --approved`, which work on folders of finished sets": {
        "approval_of",
        "approval_of_sets",
        "check_bed",
        "read_pieces",
    },
    "takes parts that a hand has sculpted": {"read_relief"},
    "picks from the page of `ways`, which takes seconds": {"picked"},
}


def _modules() -> Iterator[str]:
    yield "reliefsmith"
    for room in ROOMS:
        yield f"reliefsmith.{room}"
    for room in DEEP:
        package = importlib.import_module(f"reliefsmith.{room}")
        yield from (item.name for item in pkgutil.walk_packages(package.__path__, f"{package.__name__}."))


def public() -> dict[str, Any]:
    """Return every public function and class by its name; plain calls stand for their generators of steps."""
    found = {}
    for module in map(importlib.import_module, _modules()):
        for name in getattr(module, "__all__", ()):
            value = getattr(module, name)
            if inspect.isclass(value) or inspect.isroutine(value) or hasattr(value, "__wrapped__"):
                found[name] = value
    return {name: value for name, value in found.items() if not name.endswith("_steps")}


PUBLIC = public()


def _shown(name: str) -> bool:
    value = PUBLIC[name]
    return ">>>" in (inspect.getdoc(value) or "") or (is_dataclass(value) and inspect.isclass(value))


def test_every_public_name_says_what_it_is() -> None:
    assert len(PUBLIC) >= 180  # a search that finds none would pass without a word
    assert [name for name, value in PUBLIC.items() if len(inspect.getdoc(value) or "") < 20] == []


def test_each_has_an_example_or_is_spared_by_a_reason() -> None:
    """Values are shown by the functions that give them; a spared name that has an example is struck out."""
    spared = set().union(*SPARED.values())
    assert {name for name in PUBLIC if not _shown(name)} - spared == set()
    assert {name for name in spared if name not in PUBLIC or _shown(name)} == set()
    assert len(spared) <= 38


@pytest.mark.parametrize("name", ["HandRelief", "Job", "Recipe", "Relief", "make", "remake"])
def test_the_face_has_examples_all(name: str) -> None:
    assert ">>>" in inspect.getdoc(getattr(importlib.import_module("reliefsmith"), name))


def test_the_pages_of_the_api_cover_the_same_rooms() -> None:
    spec = importlib.util.spec_from_file_location("api_pages", Path(__file__).parents[2] / ".ci" / "api.py")
    assert spec is not None
    assert spec.loader is not None
    pages = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(pages)
    assert {*ROOMS, *DEEP} <= set(pages.ROOMS)
    for room in pages.ROOMS:
        importlib.import_module(f"reliefsmith.{room}")
