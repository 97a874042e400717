"""Glyphs and their places against the fonts' own tables, read by fontTools; shapes of letters counted."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

import numpy as np
import pytest
import shapely
from fontTools.pens.recordingPen import DecomposingRecordingPen

from reliefsmith.errors import RecipeError
from reliefsmith.model import FontFile
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.along import Arc, Line, set_along
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.glyphs import FLAT_MM, filled, glyph_shape, tolerance_for
from reliefsmith.typeset.shaping import plain_text, shaped
from reliefsmith.typeset.standing import Type
from typefaces import shipped, tables

FONTS = list(SHIPPED_FONTS)
# Outer pieces and holes, by the look of the letters in any plain sans; marks count as pieces.
PIECES = {
    1: "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789abcdefghklmnopqrstuvwxyz&-.,'/()[]+ØøÇçß$#@",
    2: 'ij!?:;="éåñÁ',
    3: "Üöë",
}
HOLES = {
    0: "CEFGHIJKLMNSTUVWXYZ12357cfhijklmnrstuvwxyz-.,/()!?:;=ç",
    1: "ADOPQR069abdegopqéÁëö",
    2: "B8Øøå",
}
OPEN = {("rounded", "B"): 1, ("rounded", "4"): 0, ("rounded", "ø"): 1}  # by design


@pytest.mark.parametrize("word", FONTS)
def test_advances_are_those_of_the_fonts_table(word: str) -> None:
    file = shipped(word)
    face, font = face_of(file), tables(file)
    cmap, widths = font.getBestCmap(), font["hmtx"].metrics
    for code, name in cmap.items():
        char = chr(code)
        if unicodedata.category(char)[0] not in "LNPS" or unicodedata.normalize("NFKC", char) != char:
            continue  # ligatures by compatibility are taken apart
        (letter,) = shaped(face, char)
        assert letter.advance == widths[name][0], name


@pytest.mark.parametrize("word", FONTS)
def test_capitals_are_as_high_as_the_h(word: str) -> None:
    file = shipped(word)
    pen = DecomposingRecordingPen(tables(file).getGlyphSet())
    tables(file).getGlyphSet()["H"].draw(pen)
    assert face_of(file).cap == max(point[1] for _, points in pen.value for point in points)
    shape = set_along("H", Type(face_of(file), 5.0, 0.5), Line(5.0))
    assert shape.bounds[3] == pytest.approx(2.5)


@pytest.mark.parametrize("word", FONTS)
@pytest.mark.parametrize("size", [2.0, 5.0, 20.0])
def test_chords_lie_within_five_thousandths_of_the_curves(word: str, size: float) -> None:
    face = face_of(shipped(word))
    scale = size / face.cap
    for char in "S&8Ø@":
        number = face.font.get_nominal_glyph(ord(char))
        coarse, fine = glyph_shape(face, number, tolerance_for(1 / scale)), glyph_shape(face, number, 0.01)
        assert shapely.hausdorff_distance(coarse.boundary, fine.boundary) * scale <= FLAT_MM


@pytest.mark.parametrize("word", FONTS)
def test_pieces_and_holes_of_letters(word: str) -> None:
    face = face_of(shipped(word))
    for count, chars in PIECES.items():
        for char in chars:
            assert _pieces(face, char)[0] == count, char
    for count, chars in HOLES.items():
        for char in chars:
            assert _pieces(face, char)[1] == OPEN.get((word, char), count), char


def _pieces(face, char: str) -> tuple[int, int]:
    shape = set_along(char, Type(face, 5.0, 0.5), Line(5.0))
    return len(shape.geoms), sum(len(piece.interiors) for piece in shape.geoms)


def test_rings_that_cross_are_filled_by_the_non_zero_rule() -> None:
    turns = np.array([90, 234, 18, 162, 306]) * np.pi / 180
    star = np.column_stack([np.cos(turns), np.sin(turns)])
    shape = filled([star])  # a pentagram: its middle is wound round twice
    assert len(shape.geoms) == 1
    assert not shape.geoms[0].interiors
    square = np.array([[0, 0], [9, 0], [9, 9], [0, 9]], dtype=float)
    inner = square[::-1] / 3 + 3
    assert filled([square, inner]).area == 72
    assert filled([square, inner[::-1]]).area == 81


def test_composed_and_decomposed_letters_are_the_same() -> None:
    face = face_of(shipped("sans"))
    for word in ("Zoë", "Dvořák", "Ångström", "Łukasz", "Ñandú"):
        assert shaped(face, plain_text(unicodedata.normalize("NFD", word))) == shaped(face, plain_text(word))


def test_a_mark_without_a_letter_of_its_own_rides_on_its_letter() -> None:
    (first, second) = shaped(face_of(shipped("sans")), plain_text("q\u0301x"))
    assert (first.characters, second.characters) == ("q\u0301", "x")
    assert len(first.glyphs) == 2
    assert first.advance == shaped(face_of(shipped("sans")), "q")[0].advance


def test_letters_stand_apart_by_the_gap_whatever_the_kerning() -> None:
    for word in FONTS:
        how = Type(face_of(shipped(word)), 4.0, 0.5)
        for text in ("LARKWATER", "AVATAR", "rtf Ty", "Marabel 7"):
            pieces = shapely.get_parts(set_along(text, how, Line(4.0)))
            letters = [piece for piece in pieces if piece.area > 0.8]  # without dots and commas
            gaps = [one.distance(other) for i, one in enumerate(letters) for other in letters[:i]]
            assert min(gaps) >= 0.5 - 1e-9


@pytest.mark.parametrize("word", FONTS)
@pytest.mark.parametrize("size", [2.5, 5.0, 12.0])
def test_touching_letters_are_one_shape_and_words_stay_apart(word: str, size: float) -> None:
    how = Type(face_of(shipped(word)), size, 0.5, overlap_mm=0.15)
    for text in ("LARKWATER", "AVATAR", "MARABEL", "Tom", "Lu"):
        assert len(set_along(text, how, Line(size)).geoms) == 1, text
        apart = set_along(text, replace(how, overlap_mm=0.0), Line(size))
        assert len(apart.geoms) == len(text)
        assert set_along(text, how, Line(size)).bounds[2] < apart.bounds[2]
    assert len(set_along("TAW VAL", how, Line(size)).geoms) == 2


def test_touching_letters_reach_so_far_into_one_another() -> None:
    how = Type(face_of(shipped("sans")), 5.0, 0.5, overlap_mm=0.15)
    single = set_along("H", how, Line(5.0)).bounds
    pair = set_along("HH", how, Line(5.0)).bounds
    assert pair[2] - pair[0] == pytest.approx(2 * (single[2] - single[0]) - 0.15, abs=2e-3)


def test_joined_letters_that_break_are_named_as_they_are_read() -> None:
    how = Type(face_of(shipped("sans")), 5.0, 0.5)
    with pytest.raises(RecipeError, match="letters of '\u0644\u0633\u0644\u0627' break on this arc"):
        set_along("\u0627\u0644\u0633\u0644\u0627\u0645", how, Arc(8.0, 5.0, is_below=False))


def test_text_from_the_right_stands_in_the_order_of_its_readers() -> None:
    letters = [item.characters for item in shaped(face_of(shipped("sans")), "Kite \u05d0\u05d1\u05d2 7")]
    assert letters == [*"Kite 7 ", "\u05d2", "\u05d1", "\u05d0"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        (" \u200d ", "empty"),
        ("a\nb", "control character"),
        ("x" * 65, "65 characters, 64 at most"),
        ("a\u202eb", "right-to-left override"),
    ],
)
def test_what_is_no_text_is_refused_in_one_line(text: str, words: str) -> None:
    with pytest.raises(RecipeError, match=words) as caught:
        plain_text(text)
    assert "\n" not in str(caught.value)


def test_a_missing_letter_is_named() -> None:
    face = face_of(shipped("rounded"))
    for text, words in (("Wow 😀", "U\\+1F600 \\(grinning face\\)"), ("漢", "U\\+6F22"), ("Жук", "U\\+0416")):
        with pytest.raises(RecipeError, match=f"Fredoka SemiBold has no glyph for .*{words}"):
            shaped(face, text)


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
