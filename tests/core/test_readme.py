"""The guides do what they say: every block of the README runs, in order, in a fresh folder with the samples.

Set-up is left to `.ci/run`, which runs the README's own test command. Blocks of the add-on's README that need
Blender run there (`tests/addon/blender/test_readme.py`).
"""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import forked
from reliefsmith.recipe import Recipe

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`([^`\n]+)`")
SETTING = re.compile(r"([a-z]+\.[a-z_]+) ?= ?(\S+)")
RECIPE_FILE, TABLE_FILE = "mine.toml", "week.csv"
SET_UP = ("python3 -m venv ", ".venv/bin/pip ", ".venv/bin/pytest")


def _commands(block: str) -> Iterator[list[str]]:
    """The words of each command of a block, set-up left out."""
    for line in block.splitlines():
        for command in line.split(" && "):
            if command.startswith(SET_UP):
                continue
            program, *words = shlex.split(command, comments=True)
            assert program.removeprefix(".venv/bin/") == "reliefsmith", command
            yield words


def _said(words: list[str], folder: Path) -> str:
    """Run a command; the value is all that it printed, in its order."""
    with tempfile.TemporaryFile() as both:
        done = forked.run(*words, cwd=folder, stdout=both, stderr=both)
        both.seek(0)
        said = both.read().decode()
    assert done.returncode == 0, (words, said)
    return said


def _printed(block: str, folder: Path) -> str:
    """Run a block of Python in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", block],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        check=False,
        env={**os.environ, "NO_COLOR": "1", "TERM": "dumb", "PYTHONIOENCODING": "utf-8"},
    )
    assert done.returncode == 0, (block, done.stdout)
    return done.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh folder after all blocks of the README have run in it; what they print is what it shows."""
    place = tmp_path_factory.mktemp("clone")
    shutil.copytree(ROOT / "samples", place / "samples")
    printed = ""
    for kind, block in BLOCK.findall(README):
        if kind == "toml":
            with (place / RECIPE_FILE).open("a", encoding="utf-8") as file:
                file.write(block + "\n")
            Recipe.load(place / RECIPE_FILE)
        elif kind == "csv":
            (place / TABLE_FILE).write_text(block, encoding="utf-8")
        elif kind == "python":
            printed = _printed(block, place)
        elif kind == "text":
            assert [line.rstrip() for line in printed.splitlines()] == block.splitlines()
        else:
            assert kind == "", kind
            printed = "".join([_said(command, place) for command in _commands(block)])
    return place


def test_every_kind_of_block_was_run(folder: Path) -> None:
    kinds = [kind for kind, _ in BLOCK.findall(README)]
    assert {kind: kinds.count(kind) for kind in set(kinds)} == {
        "": 13,
        "text": 6,
        "toml": 5,
        "python": 3,
        "csv": 1,
    }
    assert f"`{TABLE_FILE}`" in README
    assert f"`{RECIPE_FILE}`" in README
    assert f"-o {RECIPE_FILE.removesuffix('.toml')}\n" in README


def test_marks_of_the_example_all_find_their_place(folder: Path) -> None:
    report = json.loads((folder / "mine" / "kite-report.json").read_text(encoding="utf-8"))
    applied = [item for item in report["notes"] if item["code"] == "mark-applied"]
    assert len(applied) == len(Recipe.load(folder / RECIPE_FILE).marks) == 3
    assert "mark-missed" not in {item["code"] for item in report["findings"]}


def test_the_table_of_files_lists_the_set(folder: Path) -> None:
    listed = "".join(re.findall(r"^\| (`kite.*?) \|", README, re.MULTILINE))
    patterns = [re.escape(name).replace("<color>", "[a-z]+") for name in INLINE.findall(listed)]
    written = [path.name for path in (folder / "kite-relief").iterdir()]
    for pattern in patterns:
        assert any(re.fullmatch(pattern, name) for name in written), pattern
    for name in written:
        assert any(re.fullmatch(pattern, name) for pattern in patterns), name


def _alike(shown: Path, written: Path) -> bool:
    """Tell whether two pictures show the same.

    Another style, size or place moves far more than this; another line of text, or other letters, do not.
    """
    one, other = (np.asarray(Image.open(path).convert("RGB").reduce(4), int) for path in (shown, written))
    return one.shape == other.shape and bool((np.abs(one - other).max(axis=2) > 64).mean() < 0.005)


def test_the_proof_that_is_shown_is_the_one_that_is_written(folder: Path) -> None:
    """Where it fails, look at the new proof, then put it in the place of the old one."""
    assert _alike(ROOT / "samples" / "kite-proof.png", folder / "kite-relief" / "kite-proof.png")


@pytest.mark.deep
def test_the_gallery_that_is_shown_is_the_one_that_is_drawn(tmp_path: Path) -> None:
    """Where it fails, run `python samples/gallery.py`, and look at what it drew."""
    subprocess.run([sys.executable, ROOT / "samples" / "gallery.py", tmp_path], check=True)
    assert "](samples/gallery/gallery.png)" in README
    assert _alike(ROOT / "samples" / "gallery" / "gallery.png", tmp_path / "gallery.png")


@pytest.mark.deep
def test_the_judgements_that_are_shown_are_the_ones_that_are_made(tmp_path: Path) -> None:
    """Where it fails, run `python samples/judgements.py`, and look at what it drew."""
    subprocess.run([sys.executable, ROOT / "samples" / "judgements.py", tmp_path], check=True)
    shown = sorted(set(re.findall(r"\]\(samples/(judged-\w+\.png)\)", README)))
    assert [path.name for path in sorted(tmp_path.iterdir())] == shown
    assert [name for name in shown if not _alike(ROOT / "samples" / name, tmp_path / name)] == []


@pytest.mark.parametrize("guide", ["README.md", "DEVELOPERS.md", "addon/README.md"])
def test_settings_in_the_text_are_ones(guide: str) -> None:
    """`section.key = value` works as it stands; a key or section alone exists."""
    text = BLOCK.sub("", (ROOT / guide).read_text(encoding="utf-8"))
    found = 0
    for code in INLINE.findall(text):
        match = SETTING.fullmatch(code.removeprefix("--set "))
        if match is None:
            continue
        key, value = match.groups()
        try:
            parsed = tomllib.loads(f"value = {value}")["value"]
        except tomllib.TOMLDecodeError:
            parsed = value
        Recipe().with_values({key: parsed})
        found += 1
    assert found or guide != "README.md"


def test_commands_in_the_text_are_ones(tmp_path: Path) -> None:
    found = [code for code in INLINE.findall(BLOCK.sub("", README)) if code.startswith("reliefsmith ")]
    assert found
    for code in found:
        for command in _commands(code):
            _said(command, tmp_path)


def test_snippets_of_the_addon_that_need_no_blender_run(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    blocks = BLOCK.findall((ROOT / "addon" / "README.md").read_text(encoding="utf-8"))
    plain = [block for kind, block in blocks if kind == "python" and "import bpy" not in block]
    assert plain
    for block in plain:
        assert "base" in _printed(block, tmp_path)


def test_scripts_that_the_guides_call_are_there() -> None:
    for guide in ("README.md", "DEVELOPERS.md", "addon/README.md"):
        text = (ROOT / guide).read_text(encoding="utf-8")
        for name in re.findall(r"\bpython3? (addon/\S+?\.py)", text):
            assert (ROOT / name).is_file(), (guide, name)
        for name in re.findall(r"\]\(([\w./-]+?)(?:#[\w-]+)?\)", text):
            assert ((ROOT / guide).parent / name).exists(), (guide, name)
