"""Standard output and standard error of processes: full, closed, or left by their reader."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from forked import Stream, run, started
from tiers import broad

pytestmark = pytest.mark.skipif(not Path("/dev/full").exists(), reason="only where a device is always full")

COMMANDS = ("make", "areas", "ways", "check", "coupon", "recipe")
Usual = Callable[[str], subprocess.CompletedProcess[str]]
PRINTING = {
    "version": ("--version",),
    "version-by-typer": ("--version", "recipe"),
    "help": ("--help",),
    **{f"{name}-help": (name, "--help") for name in COMMANDS},
    "recipe": ("recipe",),
    "preset": ("recipe", "--preset", "bold"),
    "presets": ("presets",),
    "presets-json": ("presets", "--json"),
    "make": ("make", "lamp.png", "--json", "-o", "set", "--keep-stages", "stages", "--replace", "-q"),
    "areas": ("areas", "lamp.png", "--json", "-o", "areas.svg", "--replace", "-q"),
    "ways": ("ways", "lamp.png", "--json", "-o", "ways.html", "--keep-stages", "stages", "--replace", "-q"),
    "check": ("check", "cube.stl", "--json", "-q"),
    "coupon": ("coupon", "--json", "-o", "coupon", "--replace", "-q"),
}
"""Lines that print something on standard output, each of the commands and of the ways to be explained."""
LIKE_OTHERS = {"ways", "coupon", "preset", "presets-json", "version-by-typer"}
WRITTEN = {
    "make": "the set was written to set",
    "areas": "the areas were written to areas.svg",
    "ways": "the ways were written to ways.html",
    "coupon": "the test piece was written to coupon",
}
REASONS = {"full": "no space left on device", "closed": "it is closed"}
CUBE = """solid cube
facet normal 0 0 -1
outer loop
vertex 0 0 0
vertex 0 1 0
vertex 1 0 0
endloop
endfacet
facet normal 0 -1 0
outer loop
vertex 0 0 0
vertex 1 0 0
vertex 0 0 1
endloop
endfacet
facet normal -1 0 0
outer loop
vertex 0 0 0
vertex 0 0 1
vertex 0 1 0
endloop
endfacet
facet normal 1 1 1
outer loop
vertex 1 0 0
vertex 0 1 0
vertex 0 0 1
endloop
endfacet
endsolid cube
"""


def _in_tier(name: str) -> bool:
    """One stands for its like: the help that typer prints, `make` for the commands that write a set."""
    return (not name.endswith("-help") and name not in LIKE_OTHERS) or name == "make-help"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a picture that runs fast and a small solid."""
    tmp_path = tmp_path_factory.mktemp("streams")
    y, x = np.mgrid[:60, :60] - 29.5
    pixels = np.zeros((60, 60, 4), np.uint8)
    pixels[5:55, 5:55] = (27, 42, 73, 255)
    pixels[x * x + y * y < 225] = (245, 184, 46, 255)
    Image.fromarray(pixels).save(tmp_path / "lamp.png")
    (tmp_path / "cube.stl").write_text(CUBE)
    return tmp_path


@pytest.fixture(scope="module")
def usual(folder: Path) -> Usual:
    """What a line gives where both streams are read, run once."""

    @cache
    def once(name: str) -> subprocess.CompletedProcess[str]:
        done = _run(PRINTING[name], folder)
        assert done.stdout
        assert done.returncode in (0, 1)
        return done

    return once


@contextmanager
def _stream(kind: str) -> Iterator[Stream]:
    """Give a stream that is kept, closed or full, or a pipe whose reader is gone."""
    if kind in ("kept", "closed"):
        yield subprocess.PIPE if kind == "kept" else None
        return
    if kind == "left":
        reader, writer = os.pipe()
        os.close(reader)
    else:
        writer = os.open("/dev/full", os.O_WRONLY)
    yield writer
    os.close(writer)


def _run(
    words: tuple[str, ...],
    folder: Path,
    *,
    out: str = "kept",
    err: str = "kept",
    process: Callable[..., subprocess.CompletedProcess[str]] = run,
    **env: str,
) -> subprocess.CompletedProcess[str]:
    """Run a line with each stream "kept", "full", "left" or "closed"."""
    with _stream(out) as stdout, _stream(err) as stderr:
        return process(*words, cwd=folder, stdout=stdout, stderr=stderr, **env)


@pytest.mark.parametrize("kind", ["full", "closed"])
@pytest.mark.parametrize("name", broad(PRINTING, _in_tier))
def test_what_cannot_be_printed_is_said_in_one_line(name: str, kind: str, folder: Path) -> None:
    done = _run(PRINTING[name], folder, out=kind)
    written = f"{WRITTEN[name]}, but the report was not: " if name in WRITTEN else ""
    said = f"error: {written}cannot print to standard output: {REASONS[kind]}; lead it elsewhere\n"
    assert (done.stderr, done.returncode) == (said, 2)
    if name in WRITTEN:
        assert (folder / WRITTEN[name].split()[-1]).exists()


@pytest.mark.parametrize("name", broad(PRINTING, _in_tier))
def test_a_reader_that_went_away_is_no_error(name: str, folder: Path, usual: Usual) -> None:
    done = _run(PRINTING[name], folder, out="left")
    assert (done.stderr, done.returncode) == (usual(name).stderr, usual(name).returncode)


@pytest.mark.parametrize(
    ("name", "kind"),
    broad(
        [
            (name, kind)
            for name in PRINTING
            for kind in ("full", *(() if name in WRITTEN else ("left", "closed")))
        ],
        lambda case: _in_tier(case[0]),
    ),
)
def test_standard_error_only_accompanies(name: str, kind: str, folder: Path, usual: Usual) -> None:
    done = _run(_told(name), folder, err=kind)
    assert (done.stdout, done.returncode) == (usual(name).stdout, usual(name).returncode)


@pytest.mark.parametrize("kind", ["full", "left", "closed"])
@pytest.mark.parametrize("words", [("make", "none.png"), ("nonsense",), (), ("make", "lamp.png", "--sett")])
def test_a_refusal_keeps_its_status_where_it_cannot_be_read(
    words: tuple[str, ...], kind: str, folder: Path
) -> None:
    assert _run(words, folder, err=kind).returncode == 2
    assert _run(words, folder, err=kind, out=kind).returncode == 2
    assert _run(words, folder, out=kind).stderr.startswith("error: ")


@pytest.mark.parametrize("kind", ["full", "closed"])
def test_a_command_that_prints_nothing_needs_no_output(kind: str, folder: Path) -> None:
    words = tuple(word for word in PRINTING["areas"] if word != "--json")
    done = _run(words, folder, out=kind)
    assert (done.stderr, done.returncode) == ("", 0)


@pytest.mark.parametrize("name", broad(["make", "areas", "coupon"], {"make", "areas"}.__contains__))
def test_no_word_of_ours_lands_in_a_file_where_both_streams_are_closed(
    name: str, folder: Path, usual: Usual
) -> None:
    """The first file that is opened would get the number of a closed stream."""
    usual(name)
    files = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    done = _run(_told(name), folder, out="closed", err="closed", process=started)
    assert done.returncode == 2
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == files


def _told(name: str) -> tuple[str, ...]:
    """A line that says on standard error what it does."""
    return tuple(word for word in PRINTING[name] if word != "-q")


@pytest.mark.parametrize("kind", ["full", "left", "closed"])
@pytest.mark.parametrize(
    ("name", "stream"),
    broad([("version", "out"), ("areas", "out"), ("areas", "err")], lambda case: case != ("areas", "out")),
)
def test_a_new_python_does_what_a_forked_one_does(name: str, kind: str, stream: str, folder: Path) -> None:
    forked, fresh = (
        _run(PRINTING[name], folder, process=process, **{stream: kind}) for process in (run, started)
    )
    said = [(done.stdout or "", done.stderr or "", done.returncode) for done in (forked, fresh)]
    assert said[0] == said[1]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
@pytest.mark.parametrize("kind", ["full", "closed", "left"])
def test_completion_says_why_it_cannot_be_printed(shell: str, kind: str, folder: Path) -> None:
    asked = {"_RELIEFSMITH_COMPLETE": f"source_{shell}"}
    done = _run((), folder, out=kind, **asked)
    if kind == "left":
        assert (done.stderr, done.returncode) == ("", 0)
    else:
        assert done.returncode == 2
        assert done.stderr == f"error: cannot print to standard output: {REASONS[kind]}; lead it elsewhere\n"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_printed(shell: str, folder: Path) -> None:
    done = _run((), folder, _RELIEFSMITH_COMPLETE=f"source_{shell}")
    assert "reliefsmith" in done.stdout
    assert (done.stderr, done.returncode) == ("", 0)
