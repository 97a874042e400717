"""A text as letters in the order of the line: bidirectional, shaped by HarfBuzz, missing glyphs refused."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import shapely
from shapely import affinity

from ..errors import RecipeError
from ..polygons import as_multi
from ..recipe.sections.limits import MOST_CHARACTERS
from .bidi import levels_of, visual_order
from .fonts import Face, shaping_library
from .glyphs import glyph_shape

__all__ = ["Glyph", "Letter", "is_shown", "lacks_nothing", "plain_text", "shaped"]

_STRIPPED = {"\u00ad", "\ufeff", "\u2060", "\u200b"}
"""Soft hyphens and other marks of where lines may break, which is none of ours."""

_ZERO_WIDTH = {*"\u200c\u200d\u200e\u200f\u061c\u2066\u2067\u2068\u2069"}
"""Joiners, direction marks and isolates: they shape and order letters, and show nothing themselves."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One glyph at its place on the line, in units of the font, x to the right, y up from the baseline."""

    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Letter:
    """What stands for one or a few characters together: a letter with its marks, or a ligature.

    Parameters
    ----------
    glyphs : tuple of Glyph
        From the letter's own start.
    advance : float
        From its start to that of the next letter, kerning counted, in units.
    characters : str
    """

    glyphs: tuple[Glyph, ...]
    advance: float
    characters: str

    def shape(self, face: Face, tolerance: float) -> shapely.MultiPolygon:
        """Return its outline in units, flattened within a tolerance in units; empty for a space."""
        return _letter_shape(face, self.glyphs, tolerance)


def is_shown(char: str) -> bool:
    """Return whether a character is seen: no space, and no mark that only joins or orders letters."""
    return char not in _ZERO_WIDTH and not char.isspace()


def plain_text(text: str) -> str:
    r"""Return a text in composed form (NFC), spaces at its ends and invisible marks of breaks taken out.

    Raises
    ------
    RecipeError
        If nothing is left, it is too long, or it holds control characters.

    Examples
    --------
    >>> plain_text(" Zoe\u0308 ")
    'Zoë'
    """
    kept = "".join(char for char in unicodedata.normalize("NFC", text) if char not in _STRIPPED)
    kept = " ".join(kept.split(" ")).strip(" \u00a0\u3000")
    if not any(map(is_shown, kept)):
        raise RecipeError("the text is empty; write what is to be read")
    if len(kept) > MOST_CHARACTERS:
        raise RecipeError(f"the text has {len(kept)} characters, {MOST_CHARACTERS} at most; shorten it")
    for char in kept:
        if unicodedata.category(char) in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp") or (
            unicodedata.category(char) == "Cf" and char not in _ZERO_WIDTH
        ):
            raise RecipeError(f"the text holds {_named(char)}, which is no letter; take it out")
    return kept


@lru_cache(maxsize=1024)
def shaped(face: Face, text: str) -> tuple[Letter, ...]:
    """Return the letters of a text from left to right.

    Parameters
    ----------
    face : Face
    text : str
        As `plain_text` gives it.

    Raises
    ------
    RecipeError
        If the font has no glyph for a character; it is named.
    """
    _, levels = levels_of(text)
    places = visual_order(levels)
    letters: list[Letter] = []
    for run in _runs(text, levels, places):
        letters += _shaped_run(face, text, run, backward=bool((levels[run[0]] or 0) % 2))
    return tuple(letters)


def lacks_nothing(face: Face, text: str) -> bool:
    """Return whether a font has every glyph of a text."""
    try:
        shaped(face, text)
    except RecipeError:
        return False
    return True


def _runs(text: str, levels: Sequence[int | None], places: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield stretches of one direction and one script, in the order of the line, as first and end places.

    What the order puts beside each other in one level had nothing between them but what has none (L2).
    """
    scripts = _scripts(text)
    for _, group in groupby(places, key=lambda place: (levels[place], scripts[place])):
        own = list(group)
        yield min(own), max(own) + 1


def _scripts(text: str) -> list[str]:
    """Return a word for the script of each character: the first one of the name of the letter before it.

    Python knows no scripts, but names of letters begin with them. Digits, marks and signs belong to the
    letter before them, at the start to the first letter.
    """
    own = [unicodedata.name(char, "").partition(" ")[0] if char.isalpha() else "" for char in text]
    first = next((word for word in own if word), "")
    found: list[str] = []
    for word in own:
        found.append(word or (found[-1] if found else first))
    return found


def _shaped_run(face: Face, text: str, run: tuple[int, int], *, backward: bool) -> list[Letter]:
    """Shape one stretch, the text round it known, so that letters join across its ends."""
    library = shaping_library()
    buffer = library.Buffer()
    buffer.add_codepoints([ord(char) for char in text], run[0], run[1] - run[0])
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if backward else "ltr"
    library.shape(face.font, buffer, {})
    pairs = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
    starts = sorted({info.cluster for info, _ in pairs})
    ends = dict(zip(starts, [*starts[1:], run[1]], strict=True))
    letters = []
    for start, group in groupby(pairs, key=lambda pair: pair[0].cluster):
        glyphs, pen = [], 0.0
        for info, place in group:
            if info.codepoint == 0:
                _refuse(face, text[start : ends[start]])
            glyphs.append(Glyph(info.codepoint, pen + place.x_offset, float(place.y_offset)))
            pen += place.x_advance
        letters.append(Letter(tuple(glyphs), pen, text[start : ends[start]]))
    return letters


def _refuse(face: Face, characters: str) -> None:
    """Name the character that a font lacks."""
    lacking = [char for char in characters if not face.font.get_nominal_glyph(ord(char))]
    char = (lacking or list(characters))[0]
    raise RecipeError(f"the font {face.title} has no glyph for {_named(char)}; take another font or letter")


def _named(char: str) -> str:
    name = unicodedata.name(char, "a control character")
    said = f"{char!r} " if char.isprintable() else ""
    return f"{said}U+{ord(char):04X} ({name.lower()})"


@lru_cache(maxsize=4096)
def _letter_shape(face: Face, glyphs: tuple[Glyph, ...], tolerance: float) -> shapely.MultiPolygon:
    parts = [
        affinity.translate(glyph_shape(face, glyph.number, tolerance), glyph.x, glyph.y) for glyph in glyphs
    ]
    drawn = [part for part in parts if not part.is_empty]
    return drawn[0] if len(drawn) == 1 else as_multi(shapely.union_all(drawn))
