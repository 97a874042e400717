"""Font files: what is read of one, what is refused, and how high its capitals are."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path
from types import ModuleType
from typing import Any

from ..errors import RecipeError
from ..model import FontFile

__all__ = ["MOST_FONT_MIB", "Face", "checked_font", "face_of", "read_font", "shaping_library", "shipped_font"]

MOST_FONT_MIB = 16
"""Larger files have ten thousands of glyphs; they are refused unparsed (common practice, no source)."""

_PACKED = {b"wOFF": "WOFF", b"wOF2": "WOFF2"}
_KINDS = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf")
_OUTLINES = {"glyf", "CFF ", "CFF2"}
_COLORED = {"COLR", "CBDT", "sbix", "SVG "}

_USUAL_CAP = 0.7
"""Height of capitals, as a share of the em, of a font that has neither an H nor says it (common practice,
no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A font as its outlines are drawn.

    Parameters
    ----------
    title : str
        Its own name, such as "Lato Bold".
    digest : str
        SHA-256 of its file.
    upem : int
        Units of the em.
    cap : float
        Height of the capitals in units: that of the H.
    font : object
        The shaping library's.
    """

    title: str
    digest: str
    upem: int
    cap: float
    font: Any


def shaping_library() -> ModuleType:
    """Return HarfBuzz.

    Raises
    ------
    RecipeError
        Where there is none: on Windows on ARM nobody has built it.
    """
    try:
        import uharfbuzz  # noqa: PLC0415 - most jobs have no lettering, and one platform has no library
    except ImportError as error:
        raise RecipeError(
            "lettering needs the package uharfbuzz, which Windows on ARM does not have; leave lettering empty"
        ) from error
    library: ModuleType = uharfbuzz
    return library


def read_font(path: Path) -> FontFile:
    """Return a font's file.

    Raises
    ------
    RecipeError
        If there is no such file, it cannot be read, or it is no font.
    """
    try:
        if not path.is_file():
            raise RecipeError(f"there is no font {path}; give a TTF or OTF file, or a shipped font")
        if path.stat().st_size > MOST_FONT_MIB << 20:
            most = f"{MOST_FONT_MIB} MiB"
            raise RecipeError(f"font {path.name} is larger than {most}; take one of fewer scripts")
        data = path.read_bytes()
    except OSError as error:
        raise RecipeError(f"cannot read the font {path.name}: {error.strerror or error}") from error
    checked_font(path.name, data)
    return FontFile(path.name, data)


@cache
def shipped_font(word: str, file: str) -> FontFile:
    """Return a font of the data, known by a word."""
    return FontFile(word, (files("reliefsmith_data") / "fonts" / file).read_bytes())


def checked_font(name: str, data: bytes) -> None:
    """Refuse a file by its first bytes.

    Raises
    ------
    RecipeError
        If it is no font, or packed for the web.
    """
    if data[:4] in _PACKED:
        kind = _PACKED[data[:4]]
        raise RecipeError(f"font {name} is packed for the web ({kind}); take its TTF or OTF file")
    if data[:4] not in _KINDS:
        raise RecipeError(f"{name} is no font that can be read; take a TTF or OTF file")
    if data[:4] != b"ttcf" and _end_of_tables(data) > len(data):
        raise RecipeError(f"the font {name} is cut off or damaged; get the file again")


def _end_of_tables(data: bytes) -> int:
    """Return up to where the tables of a font reach (OpenType, "Table Directory")."""
    count = int.from_bytes(data[4:6], "big")
    records = (data[12 + 16 * number :][8:16] for number in range(count))
    return max(
        (int.from_bytes(one[:4], "big") + int.from_bytes(one[4:], "big") for one in records), default=0
    )


@lru_cache(maxsize=16)
def face_of(file: FontFile) -> Face:
    """Return the face of a font file, the first one of a collection.

    Raises
    ------
    RecipeError
        If it cannot be read, has no outlines, or its glyphs are colored.
    """
    checked_font(file.name, file.data)
    library = shaping_library()
    face = library.Face(file.data)
    tables = set(face.table_tags)
    if face.glyph_count == 0 or face.upem == 0 or not tables:
        raise RecipeError(f"{file.name} is no font that can be read; take a TTF or OTF file")
    if tables & _COLORED:
        raise RecipeError(f"font {file.name} has colored glyphs; take one of plain outlines")
    if not tables & _OUTLINES:
        raise RecipeError(f"font {file.name} has no outlines, only bitmaps; take one of plain outlines")
    font = library.Font(face)
    family, style = (face.get_name(getattr(library.OTNameIdPredefined, key)) for key in _NAMES)
    title = " ".join(word for word in (family, style) if word and word != "Regular") or file.name
    digest = hashlib.sha256(file.data).hexdigest()
    return Face(title, digest, face.upem, _cap_height(library, font, face), font)


_NAMES = ("FONT_FAMILY", "FONT_SUBFAMILY")


def _cap_height(library: ModuleType, font: Any, face: Any) -> float:
    """Return the height of the H; else what the font says; else what is usual."""
    glyph = font.get_nominal_glyph(ord("H"))
    extents = font.get_glyph_extents(glyph) if glyph else None
    if extents is not None and extents.y_bearing > 0:
        return float(extents.y_bearing)
    said = font.get_metric_position(library.OTMetricsTag.CAP_HEIGHT)
    return float(said) if said and said > 0 else _USUAL_CAP * face.upem
