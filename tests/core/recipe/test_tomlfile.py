"""A recipe's text: TOML as the standard library reads it, in bounds; files that it names, from its folder."""

from __future__ import annotations

import os
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe.tomlfile import beside, found_from, parse_toml, read_toml

TEXT = """
schema = 1  # a.b.c
[base]
border_mm = 1.5
"quoted.key" = 'a.b.c.d'
[[marks]]
words = "x.y \\" z"
"""


def test_what_is_read_is_what_the_standard_library_reads(tmp_path: Path) -> None:
    path = tmp_path / "kite.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert read_toml(path) == read_toml(str(path)) == tomllib.loads(TEXT)


def test_the_largest_file_that_is_read(tmp_path: Path) -> None:
    path = tmp_path / "kite.toml"
    path.write_bytes(b"#" * (256 * 1024))
    assert read_toml(path) == {}
    path.write_bytes(b"#" * (256 * 1024 + 1))
    with pytest.raises(RecipeError, match=r"^recipe .* is larger than 256 KiB"):
        read_toml(path)


@pytest.mark.parametrize(
    ("data", "words"),
    [(b"\xff\xfe", "no text in UTF-8"), (b"a = ", "no valid TOML"), (b"a = " + b"9" * 5000, "no valid TOML")],
)
def test_a_file_of_another_kind_is_one_line(data: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / "kite.toml"
    path.write_bytes(data)
    with pytest.raises(RecipeError, match=words) as caught:
        read_toml(path)
    assert "\n" not in str(caught.value)


def test_what_is_no_file_is_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path):
        with pytest.raises(RecipeError, match=r"^recipe .* is no ordinary file"):
            read_toml(path)
    for path, words in (
        (tmp_path / "none.toml", "there is no recipe at"),
        ("", "the recipe's name is empty"),
        ("kite\0.toml", "cannot read recipe"),
        (tmp_path / ("k" * 300), "cannot read recipe"),
        (3, "from the path of a TOML file, got int"),
    ):
        with pytest.raises(RecipeError, match=words):
            read_toml(path)  # type: ignore[arg-type]


@pytest.mark.parametrize("joint", [".", " . ", "\t."])
def test_keys_of_many_parts_are_refused_before_they_are_parsed(joint: str) -> None:
    assert parse_toml(joint.join(["a"] * 32) + " = 1", "it")
    began = time.process_time()
    for parts in (33, 50_000):
        with pytest.raises(RecipeError, match="nested too deep"):
            parse_toml(joint.join(["a"] * parts) + " = 1", "it")
    assert time.process_time() - began < 2


def test_points_within_quotes_join_no_key() -> None:
    words = ".".join(["a"] * 99)
    assert parse_toml(f'a = "{words}"', "it") == parse_toml(f"a = '{words}'", "it") == {"a": words}
    assert parse_toml(f'a = "x\\" {words}"', "it") == {"a": f'x" {words}'}
    quoted = ".".join(['"b"'] * 33)
    with pytest.raises(RecipeError, match="nested too deep"):
        parse_toml(f"{quoted} = 1", "it")


def test_lists_that_are_nested_too_deep_are_refused() -> None:
    with pytest.raises(RecipeError, match="nested too deep"):
        parse_toml("a = " + "[" * 5000 + "]" * 5000, "it")


FOLDER = Path("fair")


@pytest.mark.parametrize(
    ("key", "value", "found"),
    [
        ("back.picture", "sun.png", str(FOLDER / "sun.png")),
        ("back.picture", str(Path("/art/sun.png")), str(Path("/art/sun.png"))),
        ("heights.hand", "top.tiff", str(FOLDER / "top.tiff")),
        ("lettering.font", "kite.ttf", str(FOLDER / "kite.ttf")),
        ("lettering.3.font", "kite.ttf", str(FOLDER / "kite.ttf")),
        ("lettering.font", "rounded", "rounded"),
        ("lettering.text", "kite.ttf", "kite.ttf"),
        ("order.title", "sun.png", "sun.png"),
        ("back.picture", "", ""),
        ("back.picture", 3, 3),
    ],
)
def test_files_that_a_recipe_names_are_found_from_its_folder(key: str, value: Any, found: Any) -> None:
    assert found_from(FOLDER, key, value) == found


def test_a_recipe_keeps_all_else_as_it_is() -> None:
    values = {
        "schema": 1,
        "back": {"picture": "sun.png", "colors": 3},
        "lettering": [{"text": "A", "font": "kite.ttf"}, "wrong"],
        "marks": [{"kind": "erase"}],
    }
    found = beside(values, FOLDER / "kite.toml")
    assert found == values | {
        "back": {"picture": str(FOLDER / "sun.png"), "colors": 3},
        "lettering": [{"text": "A", "font": str(FOLDER / "kite.ttf")}, "wrong"],
    }
    assert values["back"] == {"picture": "sun.png", "colors": 3}
    assert beside({"lettering": "wrong"}, "kite.toml") == {"lettering": "wrong"}
