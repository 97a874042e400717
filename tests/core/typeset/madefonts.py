"""Fonts made for tests, so that every outline and advance is known: bars, a parabola, a comb."""

from __future__ import annotations

from functools import cache
from io import BytesIO

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable

from reliefsmith.model import FontFile

UPEM, CAP = 1000, 700
BOXES = {
    "H": (20, 0, 220, CAP),
    "B": (-20, 0, 260, CAP),
    "O": (20, 0, 220, 600),
    "i": (20, 850, 220, 950),
}
"""Each letter is one box, left, low, right, high in units; all have an advance of 240, a space of 300."""


@cache
def bars(
    letters: str = "HBOi",
    *,
    family: str = "Larkwater",
    style: str = "Bold",
    capitals: int = 0,
    space: int = 0x20,
) -> FontFile:
    """Return a face of boxes."""
    outlines = {letter: [_corners(*BOXES[letter])] for letter in letters}
    return FontFile("bars.ttf", _made(outlines, family, style, capitals, space))


@cache
def drop(*, cubic: bool) -> FontFile:
    """Return a face whose first letter is a parabola, 900 wide and 450 high, on its chord."""
    pen = T2CharStringPen(240, None) if cubic else TTGlyphPen(None)
    pen.moveTo((0, 0))
    if cubic:
        pen.curveTo((300, 600), (600, 600), (900, 0))
    else:
        pen.qCurveTo((450, 900), (900, 0))
    pen.closePath()
    glyph = pen.getCharString() if cubic else pen.glyph()
    return FontFile("drop.otf", _built({"H": glyph}, "Drop", "Regular", 0, 0x20, cubic=cubic))


@cache
def comb(points: int) -> FontFile:
    """Return a face whose first letter has so many corners."""
    upper = [(k, 100 + 50 * (k % 2)) for k in range(points - 2)]
    return FontFile("comb.ttf", _made({"H": [[*upper[::-1], (0, 0), (points - 3, 0)]]}, "Comb", "", 0, 0x20))


def with_table(file: FontFile, table: str) -> FontFile:
    """Return a font with a table more, or, as "no glyf", without its outlines."""
    font = TTFont(BytesIO(file.data))
    if table == "no glyf":
        for tag in ("glyf", "loca"):
            del font[tag]
    else:
        added = newTable("DSIG")  # of any kind: bytes under the tag that is asked for
        font[table] = added
        font[table].__class__ = type("Raw", (), {"compile": lambda *_: bytes(16), "tableTag": table})
    stream = BytesIO()
    font.save(stream)
    return FontFile(file.name, stream.getvalue())


def _corners(left: int, low: int, right: int, high: int) -> list[tuple[int, int]]:
    return [(left, low), (left, high), (right, high), (right, low)]


def _made(
    outlines: dict[str, list[list[tuple[int, int]]]], family: str, style: str, capitals: int, space: int
) -> bytes:
    glyphs = {}
    for letter, rings in outlines.items():
        pen = TTGlyphPen(None)
        for ring in rings:
            pen.moveTo(ring[0])
            for point in ring[1:]:
                pen.lineTo(point)
            pen.closePath()
        glyphs[letter] = pen.glyph()
    return _built(glyphs, family, style, capitals, space)


def _built(
    glyphs: dict[str, object], family: str, style: str, capitals: int, space: int, *, cubic: bool = False
) -> bytes:
    builder = FontBuilder(UPEM, isTTF=not cubic)
    empty = T2CharStringPen(240, None).getCharString() if cubic else TTGlyphPen(None).glyph()
    drawn = {".notdef": empty, **glyphs, "space": empty}
    builder.setupGlyphOrder(list(drawn))
    builder.setupCharacterMap({**{ord(letter): letter for letter in glyphs}, space: "space"})
    starts = dict.fromkeys(drawn, 0)
    if cubic:
        builder.setupCFF(family, {}, drawn, {})
    else:
        builder.setupGlyf(drawn)
        starts |= {name: builder.font["glyf"][name].xMin for name in glyphs}
    builder.setupHorizontalMetrics(
        {name: (240, start) for name, start in starts.items()} | {"space": (300, 0)}
    )
    builder.setupHorizontalHeader(ascent=900, descent=-200)
    builder.setupOS2(sCapHeight=capitals)
    builder.setupNameTable({"familyName": family, "styleName": style})
    builder.setupPost()
    stream = BytesIO()
    builder.save(stream)
    return stream.getvalue()
