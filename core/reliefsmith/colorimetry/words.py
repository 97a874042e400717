"""Colors in words and in "#rrggbb": plain lower-case names that also serve in file names."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from functools import cache

import numpy as np

from ..errors import RecipeError
from ..model.arrays import Color
from .difference import ciede2000
from .spaces import Floats, srgb_to_lab

__all__ = ["color_phrase", "color_word", "parse_hex", "to_hex", "unique_names"]

_HEX = re.compile(r"#[0-9a-fA-F]{6}")

# Everyday words and typical colors for them, a few where a word spans a wide range; our own choice.
_WORDS: tuple[tuple[str, str], ...] = (
    ("black", "#000000 #111111 #1e1e1e"),
    ("grey", "#444444 #6a6a6a #8c8c8c #ababab #c4c4c4 #dcdcdc #5b6670 #9aa7b0"),
    ("white", "#ffffff #f2f2f2 #f4f1ea #e8eef2"),
    ("red", "#ff0000 #d32020 #b01515 #f24444 #e23a2c"),
    ("maroon", "#800000 #5c1414 #6d1a2b"),
    ("pink", "#ff9eb8 #ffc0cb #ec5f8e #ff69b4 #e85a9b #f3a6b2"),
    ("orange", "#ff8c00 #f57a1f #ff6a1a #ffa533"),
    ("brown", "#8b4513 #6b4226 #5a3515 #3e2715 #a0622d #7a5230"),
    ("tan", "#d2b48c #c49a6c #b08a5e"),
    ("cream", "#fff3d0 #f5deb3 #fbe7c6"),
    ("yellow", "#ffff00 #ffd500 #f7c923 #ffe35c #fff08a"),
    ("gold", "#c9a227 #b8860b #d4a017"),
    ("olive", "#808000 #6b7a1e #55601c"),
    ("lime", "#b4e61e #a4d42a #c8f050"),
    ("green", "#008000 #00c000 #22a04a #4fb04c #1b6b35 #7bc47f #0a4a22 #00ff00"),
    ("teal", "#008080 #0f6b6b #1f8a86 #0a4d4d"),
    ("turquoise", "#40d5c8 #1cc4c0 #7fe0d8 #00ffff"),
    ("blue", "#0000ff #1f5fd0 #3384e6 #0047ab #3aa0e8 #8ec5f0 #4a6fb5 #b9dcf5"),
    ("navy", "#000080 #14213d #1b2a55 #0c1e3e"),
    ("purple", "#800080 #6a2c91 #4b1a6b #7d3cb5 #552a70"),
    ("violet", "#8f5bd8 #a678e2 #c3a3ee #9370db"),
    ("magenta", "#ff00ff #d81b9a #c2188b"),
)


def parse_hex(text: str) -> Color:
    """Read a color such as "#1e8a8a".

    Raises
    ------
    RecipeError
        If the text is not "#" and six hexadecimal digits.

    Examples
    --------
    >>> parse_hex("#1E8a8a")
    (30, 138, 138)
    """
    if not _HEX.fullmatch(text):
        raise RecipeError(f'a color is written like "#1e8a8a", got {text!r}')
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def to_hex(color: Iterable[int]) -> str:
    """Write a color of three numbers 0 to 255 as "#rrggbb".

    Examples
    --------
    >>> to_hex((30, 138, 138))
    '#1e8a8a'
    """
    red, green, blue = (int(value) for value in color)
    return f"#{red:02x}{green:02x}{blue:02x}"


def color_word(color: Iterable[int]) -> str:
    """Name a color with one plain word: that of the nearest typical color by CIEDE2000.

    Examples
    --------
    >>> color_word((200, 30, 40)), color_word((250, 250, 250))
    ('red', 'white')
    """
    words, labs = _typical()
    lab = srgb_to_lab(np.array([int(value) for value in color], dtype=np.uint8))
    return words[int(np.argmin(ciede2000(labs, lab)))]


def color_phrase(color: Iterable[int]) -> str:
    """Name a color for a sentence: by its word, and exactly.

    Examples
    --------
    >>> color_phrase((200, 30, 40))
    'red (#c81e28)'
    """
    red, green, blue = (int(value) for value in color)
    return f"{color_word((red, green, blue))} ({to_hex((red, green, blue))})"


def unique_names(colors: Iterable[Iterable[int]]) -> tuple[str, ...]:
    """Name each of several colors; the second red is "red-2".

    Examples
    --------
    >>> unique_names([(255, 0, 0), (0, 0, 255), (211, 32, 32)])
    ('red', 'blue', 'red-2')
    """
    seen: Counter[str] = Counter()
    names = []
    for color in colors:
        word = color_word(color)
        seen[word] += 1
        names.append(word if seen[word] == 1 else f"{word}-{seen[word]}")
    return tuple(names)


@cache
def _typical() -> tuple[tuple[str, ...], Floats]:
    pairs = [(word, text) for word, texts in _WORDS for text in texts.split()]
    labs = srgb_to_lab(np.array([parse_hex(text) for _, text in pairs], dtype=np.uint8))
    return tuple(word for word, _ in pairs), labs
