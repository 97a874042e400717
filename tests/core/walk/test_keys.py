"""Memo keys: what changes them and what does not; a picture by its bytes and its printable name."""

from __future__ import annotations

import hashlib
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest

from reliefsmith.errors import ArtworkError
from reliefsmith.model import FontFile, PictureBytes
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.walk.keys import fonts_key, picture_id, picture_key, stage_key, value_key
from reliefsmith.walk.stages import Stage

DATA = bytes(range(256)) * 9000  # over two chunks of a mebibyte


def test_a_picture_is_known_by_the_bytes_of_its_file(tmp_path: Path) -> None:
    path = tmp_path / "kite.png"
    path.write_bytes(DATA)
    wanted = hashlib.sha256(DATA).hexdigest()
    assert picture_key(path) == picture_key(PictureBytes(DATA, "x.png")) == wanted
    assert picture_id(path).sha256 == wanted


@pytest.mark.parametrize("where", ["none.png", "folder", "k" * 300, "a\0b.png"])
def test_a_picture_that_cannot_be_read_is_one_line(where: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(ArtworkError) as caught:
        picture_key(tmp_path / where)
    assert "\n" not in str(caught.value)
    assert ("there is no picture at" in str(caught.value)) == (where == "none.png")


def test_a_picture_larger_than_the_settings_allow_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "kite.png").write_bytes(DATA)
    limit = ArtworkSettings(max_file_mib=2.0)
    for picture in (tmp_path / "kite.png", PictureBytes(DATA, "x.png")):
        with pytest.raises(ArtworkError, match="2 MiB"):
            picture_key(picture, limit)
        picture_key(picture, ArtworkSettings(max_file_mib=2.3))


def test_a_name_is_composed_and_printable() -> None:
    assert picture_id(Path("art/Dracho\u0308.png"), "ab").name == unicodedata.normalize(
        "NFC", "Dracho\u0308.png"
    )
    assert picture_id(Path("a\x1b[2Jb.png"), "ab").name == "a\\x1b[2Jb.png"
    assert picture_id(PictureBytes(b"x", "secret.png"), "ab").name == ""
    assert picture_id(Path("kite.png"), "ab").sha256 == "ab"


STAGE = Stage("mended", "", "x:y", ("outlined.drawing", "flat"), ("motif", "printer"), 3)
KEYS = {"outlined.drawing": "a", "flat": "b", "other": "c"}
KEY = stage_key(STAGE, KEYS, Recipe())


@pytest.mark.parametrize("change", [{"motif.min_gap_mm": 0.7}, {"printer.nozzle_mm": 0.6}])
def test_its_own_settings_change_the_key_of_a_stage(change: dict[str, float]) -> None:
    assert stage_key(STAGE, KEYS, Recipe().with_values(change)) != KEY


@pytest.mark.parametrize(
    ("stage", "keys"),
    [
        (replace(STAGE, version=4), KEYS),
        (replace(STAGE, name="repaired"), KEYS),
        (STAGE, {**KEYS, "flat": "x"}),
        (STAGE, {**KEYS, "outlined.drawing": "b", "flat": "a"}),
    ],
)
def test_so_do_its_version_its_name_and_what_it_takes(stage: Stage, keys: dict[str, str]) -> None:
    assert stage_key(stage, keys, Recipe()) != KEY


def test_nothing_else_does() -> None:
    other = Recipe().with_values({"base.border_mm": 3, "order.title": "Kite"})
    assert stage_key(STAGE, {**KEYS, "other": "x"}, other) == KEY
    assert (
        stage_key(replace(STAGE, label="mending", function="z:y"), dict(reversed(KEYS.items())), Recipe())
        == KEY
    )
    assert stage_key(STAGE, KEYS, Recipe().with_values({"motif.min_gap_mm": 0.5})) == KEY  # the default


def test_fonts_and_values_are_known_by_content_and_order() -> None:
    one, other = FontFile("a", b"1"), FontFile("b", b"2")
    assert fonts_key([one, other]) == fonts_key([replace(one, name="c"), other])
    assert len({fonts_key(fonts) for fonts in ([one, other], [other, one], [one], [])}) == 4
    assert fonts_key([FontFile("a", b"12")]) != fonts_key([one, other])
    assert value_key((1, 2.0)) == value_key((1, 2.0)) != value_key((2.0, 1))
