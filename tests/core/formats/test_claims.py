"""What is there before a run: its own earlier files give way, inputs and the files of others stay."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from reliefsmith.errors import InputTakenError, OutputError, TakenError
from reliefsmith.formats.setwriting import NEW, Claim, given_folder, read_set, write_file, write_set

FILES = {"kite.svg": b"plan", "kite-recipe.toml": b"schema = 1\n"}
OTHER = {"kite.svg": b"another plan", "kite-recipe.toml": b"schema = 1\n# wide\n"}


def _of(name: str, digest: str = "a") -> dict[str, Any]:
    return {"picture": {"name": name, "sha256": digest * 64}}


def _write(folder: Path, files: dict[str, bytes], origin: dict[str, Any], claim: Claim | None = None) -> None:
    write_set(folder, files, "kite-report.json", origin, claim or Claim())


def _content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        (_of("kite.png"), _of("kite.png", "b"), True),
        (_of("kite.png"), _of("kite copy.png"), True),
        (_of("kite.png"), _of("kite.jpg", "b"), False),
        (_of("?.png"), _of("!.png", "b"), False),
        (_of(""), _of("", "b"), False),
        (_of(""), _of(""), True),
        ({}, {}, False),
        ({}, _of("kite.png"), False),
        (_of("kite.png"), {"kind": "coupon"}, False),
        ({"kind": "coupon"}, {"kind": "coupon"}, True),
        ({"kind": "parts", **_of("kite.png")}, _of("kite.png"), False),
        ({"picture": "kite.png"}, _of("kite.png"), False),
    ],
)
def test_a_set_gives_way_to_a_later_one_of_the_same_picture_only(
    first: dict[str, Any], second: dict[str, Any], same: bool, tmp_path: Path
) -> None:
    _write(tmp_path, {**FILES, "kite-red.stl": b"red"}, first)
    before = _content(tmp_path)
    if same:
        _write(tmp_path, OTHER, second)
        assert set(_content(tmp_path)) == {*OTHER, "kite-report.json"}
    else:
        with pytest.raises(TakenError, match=r"kite-report\.json is of another (picture, |job)"):
            _write(tmp_path, OTHER, second)
        assert _content(tmp_path) == before
        _write(tmp_path, OTHER, second, Claim(replace=True))
    assert read_set(tmp_path).is_set


@pytest.mark.parametrize("name", [*FILES, "kite-report.json"])
def test_a_file_of_somebody_else_stays(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(TakenError, match=name):
        _write(tmp_path, FILES, _of("kite.png"))
    assert _content(tmp_path) == {name: b"mine"}
    _write(tmp_path, FILES, _of("kite.png"), Claim(replace=True))
    assert read_set(tmp_path).is_set


def test_a_file_beside_a_set_stays_when_the_next_set_would_have_one_of_its_name(tmp_path: Path) -> None:
    """The earlier report of the same picture does not list it."""
    _write(tmp_path, FILES, _of("kite.png"))
    (tmp_path / "kite-red.stl").write_bytes(b"mended by hand")
    before = _content(tmp_path)
    with pytest.raises(TakenError, match=r"kite-red\.stl was not written by an earlier run of this picture"):
        _write(tmp_path, {**OTHER, "kite-red.stl": b"red"}, _of("kite.png"))
    assert _content(tmp_path) == before


def test_a_file_that_two_reports_list_is_nobodys_to_replace(tmp_path: Path) -> None:
    _write(tmp_path, FILES, _of("kite.png"))
    theirs = json.dumps({**_of("heron.png", "b"), "files": {"kite.svg": "0" * 64}})
    (tmp_path / "heron-report.json").write_text(theirs)
    with pytest.raises(TakenError, match=r"kite\.svg"):
        _write(tmp_path, OTHER, _of("kite.png"))


@pytest.mark.parametrize("replace", [False, True])
def test_an_input_stays_whatever_is_allowed(replace: bool, tmp_path: Path) -> None:
    _write(tmp_path, FILES, _of("kite.png"))
    before = _content(tmp_path)
    (tmp_path / "sub").mkdir()
    for read in (tmp_path / "kite-recipe.toml", tmp_path / "sub" / ".." / "kite-recipe.toml"):
        with pytest.raises(InputTakenError, match=r"kite-recipe\.toml would be replaced, and this run reads"):
            _write(tmp_path, OTHER, _of("kite.png"), Claim((read,), replace))
    (tmp_path / "sub").rmdir()
    assert _content(tmp_path) == before
    with pytest.raises(InputTakenError):
        write_file(tmp_path / "kite.svg", b"areas", Claim((tmp_path / "kite.svg",), replace))
    assert _content(tmp_path) == before


def test_a_recipe_that_comes_out_as_it_went_in_is_no_loss(tmp_path: Path) -> None:
    _write(tmp_path, FILES, _of("kite.png"))
    claim = Claim((tmp_path / "kite-recipe.toml",))
    _write(tmp_path, {**FILES, "kite.svg": b"another plan"}, _of("kite.png"), claim)
    assert (tmp_path / "kite.svg").read_bytes() == b"another plan"


def test_an_input_that_an_earlier_set_lists_is_not_cleared_away(tmp_path: Path) -> None:
    _write(tmp_path, {**FILES, "kite-red.stl": b"red"}, _of("kite.png"))
    _write(tmp_path, FILES, _of("kite.png"), Claim((tmp_path / "kite-red.stl",)))
    assert (tmp_path / "kite-red.stl").read_bytes() == b"red"


@pytest.mark.skipif(os.name != "posix", reason="links need rights elsewhere")
def test_a_link_is_a_file_like_others(tmp_path: Path) -> None:
    (tmp_path / "drawing.svg").write_bytes(b"mine")
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / "kite.svg").symlink_to(tmp_path / "drawing.svg")
    with pytest.raises(TakenError):
        _write(tmp_path / "set", FILES, _of("kite.png"))
    with pytest.raises(InputTakenError):
        _write(tmp_path / "set", FILES, _of("kite.png"), Claim((tmp_path / "drawing.svg",), replace=True))
    assert (tmp_path / "set" / "kite.svg").read_bytes() == b"mine"


def test_a_first_run_that_was_killed_half_way_does_not_bar_the_next(tmp_path: Path) -> None:
    """Some of its files are in place, with no report yet; the one it had ready says which are its own."""
    _write(tmp_path, FILES, _of("kite.png"))
    (tmp_path / "kite-report.json").rename(tmp_path / f"{NEW}kite-report.json")
    (tmp_path / "kite-recipe.toml").rename(tmp_path / f"{NEW}kite-recipe.toml")
    _write(tmp_path, OTHER, _of("kite.png"))
    assert set(_content(tmp_path)) == {*OTHER, "kite-report.json"}
    assert read_set(tmp_path).is_set


@pytest.mark.parametrize("folder", ["", None, 3, b"out"])
def test_a_folder_has_a_name(folder: Any) -> None:
    with pytest.raises(OutputError, match="folder"):
        given_folder(folder)
