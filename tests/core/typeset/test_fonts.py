"""What is read of a font: made ones of known tables, and the shipped ones as fontTools reads them."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen

from reliefsmith.errors import RecipeError
from reliefsmith.model import FontFile
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.along import Line, set_along
from reliefsmith.typeset.fonts import MOST_FONT_MIB, face_of, read_font, shipped_font
from reliefsmith.typeset.standing import Type
from typefaces import shipped, tables

from .madefonts import CAP, UPEM, bars, with_table

FONTS = list(SHIPPED_FONTS)


@pytest.mark.parametrize("word", FONTS)
def test_capitals_are_as_high_as_the_h(word: str) -> None:
    file = shipped(word)
    pen = DecomposingRecordingPen(tables(file).getGlyphSet())
    tables(file).getGlyphSet()["H"].draw(pen)
    assert face_of(file).cap == max(point[1] for _, points in pen.value for point in points)
    shape = set_along("H", Type(face_of(file), 5.0, 0.5), Line(5.0))
    assert shape.bounds[3] == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"no font at all", "no font that can be read"),
        (b"wOF2" + bytes(60), "packed for the web"),
        (b"\x00\x01\x00\x00" + bytes(60), "no font that can be read"),
        (shipped("sans").data[:5000], "cut off or damaged"),
    ],
)
def test_what_is_no_font_is_refused_in_one_line(data: bytes, words: str) -> None:
    with pytest.raises(RecipeError, match=words):
        face_of(FontFile("kite.ttf", data))


def test_a_face_says_what_its_tables_say() -> None:
    file = bars()
    face = face_of(file)
    assert (face.title, face.upem, face.cap) == ("Larkwater Bold", UPEM, CAP)
    assert face.digest == hashlib.sha256(file.data).hexdigest()
    assert face_of(bars(style="Regular")).title == "Larkwater"
    assert face_of(bars(family="", style="")).title == "bars.ttf"


@pytest.mark.parametrize(("said", "taken"), [(650, 650), (0, 0.7 * UPEM), (-5, 0.7 * UPEM)])
def test_without_an_h_capitals_are_as_high_as_the_font_says_or_as_is_usual(said: int, taken: float) -> None:
    assert face_of(bars(letters="Oi", capitals=said)).cap == taken


@pytest.mark.parametrize(
    ("table", "words"),
    [("COLR", "colored glyphs"), ("SVG ", "colored glyphs"), ("no glyf", "only bitmaps")],
)
def test_what_has_no_plain_outlines_is_refused(table: str, words: str) -> None:
    with pytest.raises(RecipeError, match=words) as caught:
        face_of(with_table(bars(), table))
    assert "bars.ttf" in str(caught.value)


def test_a_file_is_read_whole_under_its_own_name(tmp_path: Path) -> None:
    (tmp_path / "kite.ttf").write_bytes(bars().data)
    assert read_font(tmp_path / "kite.ttf") == FontFile("kite.ttf", bars().data)
    (tmp_path / "cut.ttf").write_bytes(bars().data[:-8])
    with pytest.raises(RecipeError, match="cut off or damaged"):
        read_font(tmp_path / "cut.ttf")


def test_what_is_no_file_or_too_large_is_refused_unread(tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match="there is no font"):
        read_font(tmp_path / "none.ttf")
    with pytest.raises(RecipeError, match="there is no font"):
        read_font(tmp_path)
    with pytest.raises(RecipeError, match="there is no font"):
        read_font(Path("kite\0.ttf"))
    with pytest.raises(RecipeError, match=r"cannot read the font .*: File name too long"):
        read_font(tmp_path / f"{'k' * 300}.ttf")
    for size, words in (
        (MOST_FONT_MIB << 20, "no font that can be read"),
        ((MOST_FONT_MIB << 20) + 1, "larger"),
    ):
        with (tmp_path / "large.ttf").open("wb") as file:
            file.truncate(size)
        with pytest.raises(RecipeError, match=words):
            read_font(tmp_path / "large.ttf")


def test_a_shipped_font_is_known_by_its_word() -> None:
    assert [shipped_font(word, file).name for word, file in SHIPPED_FONTS.items()] == FONTS
