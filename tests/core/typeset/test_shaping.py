"""Letters in the order of the line, with the advances of the fonts' own tables as fontTools reads them."""

from __future__ import annotations

import unicodedata

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe.sections import SHIPPED_FONTS
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.shaping import is_shown, lacks_nothing, plain_text, shaped
from typefaces import shipped, tables

FONTS = list(SHIPPED_FONTS)
ALEF_BET = "\u05d0\u05d1"


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


def test_composed_and_decomposed_letters_are_the_same() -> None:
    face = face_of(shipped("sans"))
    for word in ("Zoë", "Dvořák", "Ångström", "Łukasz", "Ñandú"):
        assert shaped(face, plain_text(unicodedata.normalize("NFD", word))) == shaped(face, plain_text(word))


def test_a_mark_without_a_letter_of_its_own_rides_on_its_letter() -> None:
    (first, second) = shaped(face_of(shipped("sans")), plain_text("q\u0301x"))
    assert (first.characters, second.characters) == ("q\u0301", "x")
    assert len(first.glyphs) == 2
    assert first.advance == shaped(face_of(shipped("sans")), "q")[0].advance


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
    ("text", "kept"),
    [
        ("  Mo  ", "Mo"),
        ("\u3000Mo\u00a0", "Mo"),
        ("M\u00ado\u200b", "Mo"),
        ("Zoe\u0308", "Zo\u00eb"),
        ("a\u200db", "a\u200db"),
        ("x" * 64, "x" * 64),
    ],
)
def test_a_text_loses_its_outer_spaces_and_marks_of_breaks(text: str, kept: str) -> None:
    assert plain_text(text) == kept
    assert plain_text(kept) == kept


def test_what_is_seen_is_neither_space_nor_joiner() -> None:
    assert [is_shown(char) for char in "a\u0301\u05d0- \u00a0\u200d\u200f\u2067"] == [True] * 4 + [False] * 5


def test_kerning_belongs_to_the_letter_before() -> None:
    """A font's table pulls V under A; alone both have their own advance."""
    face = face_of(shipped("sans"))
    first, second = shaped(face, "AV")
    alone = [shaped(face, char)[0].advance for char in "AV"]
    assert first.advance < alone[0]
    assert second.advance == alone[1]


def test_letters_cover_the_text_once_each_in_both_directions() -> None:
    face = face_of(shipped("sans"))
    for text in (f"Kite {ALEF_BET} 7", f"{ALEF_BET} Kite", "Kite \u041a\u0438 7", f"{ALEF_BET} 12, 3"):
        assert sorted("".join(letter.characters for letter in shaped(face, text))) == sorted(text)


@pytest.mark.parametrize("word", ["\u0633\u0644", "\u0633\u064e\u0644"])
def test_each_script_is_shaped_by_itself_with_its_marks(word: str) -> None:
    """Arabic letters join beside Hebrew ones as by themselves, and a mark belongs to the letter before it."""
    face = face_of(shipped("sans"))
    *beside, last = shaped(face, "\u05d0" + word)
    assert tuple(beside) == shaped(face, word)
    assert last.characters == "\u05d0"


def test_letters_that_are_one_glyph_are_one_letter() -> None:
    """Lam before alef is one glyph; the same letters apart by a space are two, and the first is read last."""
    face = face_of(shipped("sans"))
    assert len(shaped(face, "\u0644\u0627")) == 1
    apart = shaped(face, "\u0644 \u0627")
    assert [letter.characters for letter in apart] == ["\u0627", " ", "\u0644"]


def test_whether_a_font_has_all_of_a_text_agrees_with_its_table_of_characters() -> None:
    for word in FONTS:
        known = tables(shipped(word)).getBestCmap()
        for char in "Az7\u05d0\u0416\u00df\u6f22":
            assert lacks_nothing(face_of(shipped(word)), char) == (ord(char) in known)


@pytest.mark.parametrize("char", ["q", "Q"])
def test_a_mark_lies_above_the_middle_of_its_letter(char: str) -> None:
    face = face_of(shipped("sans"))
    (letter,), (bare,) = shaped(face, plain_text(f"{char}\u0307")), shaped(face, char)
    left, _, right, high = bare.shape(face, 4.0).bounds
    dot = max(letter.shape(face, 4.0).geoms, key=lambda piece: piece.bounds[1])
    assert dot.bounds[1] > high
    assert dot.centroid.x == pytest.approx((left + right) / 2, abs=0.1 * face.upem)
    assert shaped(face, " ")[0].shape(face, 4.0).is_empty


def test_of_two_marks_the_second_lies_above_the_first() -> None:
    face = face_of(shipped("sans"))
    (one,), (two,) = (shaped(face, plain_text("q" + marks)) for marks in ("\u0307", "\u0307\u0307"))
    first, second = (letter.shape(face, 4.0) for letter in (one, two))
    assert len(second.geoms) == len(first.geoms) + 1
    assert second.bounds[3] > first.bounds[3]
