"""Texts at length: Unicode's whole file, eight scripts against the fonts' tables, random areas, 200 names."""

from __future__ import annotations

import random
import subprocess
import time
import unicodedata
from pathlib import Path

import numpy as np
import pytest
import shapely
import uharfbuzz

import reliefsmith as rs
from openart import cache_folder
from reliefsmith.findings import Severity
from reliefsmith.model import FontFile
from reliefsmith.plan.inscriptions.compose import Composer
from reliefsmith.plan.inscriptions.printable import Mending
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.recipe.sections import Inscription
from reliefsmith.typeset.along import Arc, Line, set_along
from reliefsmith.typeset.bidi import levels_of, visual_order
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.shaping import plain_text, shaped
from reliefsmith.typeset.standing import Type
from reliefsmith.typeset.textfit import places_for
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore
from typefaces import open_font, shipped, tables

pytestmark = pytest.mark.deep

KITE = Path(__file__).parents[2] / "samples" / "kite.png"
STRINGS = {
    "sans": [
        *("AVATAR", "Larkwater", "Ångström", "Łódź 7", "Zażółć", "Dvořák", "To. Ty, We", "q\u0301x\u0308"),
        *("Ключ", "Жёлтый змей", "Їжак", "Найдёнов 12"),
        *("שלום", "דג נחש", "עֲפִיפוֹן", "Kite עפיפון 7"),
    ],
    "rounded": ["AVATAR", "Ty. Wa", "Noémie", "ñandú"],
    "arabic": ["طائرة", "سلام", "لا إله", "بَيْت", "محمد ١٢٣", "Kite طائرة"],
    "devanagari": ["पतंग", "हिन्दी", "क्षत्रिय", "विद्या", "रुपया"],
    "script": ["Larkwater", "Kite Day", "office"],
    "greek": ["Χαρταετός", "Άνεμος", "Ωμέγα"],
    "thai": ["ว่าว", "ปู่", "น้ำ"],
    "armenian": ["Օդապարուկ", "Արև"],
    "georgian": ["ფრანი", "მზე"],
}
CASES = [(font, text) for font, texts in STRINGS.items() for text in texts]
_RUNS = {"Arab": "ARABIC", "Hebr": "HEBREW"}


def _font(name: str) -> FontFile:
    return shipped(name) if name in ("sans", "rounded") else open_font(name)


def test_levels_and_order_of_all_cases_that_unicode_publishes() -> None:
    """BidiCharacterTest.txt of Debian's package of Unicode's data, 15.0: 91,707 cases."""
    folder = cache_folder()
    archive = next(folder.glob("unicode-data_*.deb"), None)
    if archive is None:
        subprocess.run(["apt-get", "download", "-q", "unicode-data"], check=True, cwd=folder)
        archive = next(folder.glob("unicode-data_*.deb"))
    subprocess.run(["dpkg-deb", "-x", archive.name, "unicode-data"], check=True, cwd=folder)
    lines = (folder / "unicode-data/usr/share/unicode/BidiCharacterTest.txt").read_text().splitlines()
    cases = [line.split(";") for line in lines if line.strip() and not line.startswith("#")]
    assert len(cases) > 90_000
    for codes, asked, level, levels, order in cases:
        text = "".join(chr(int(code, 16)) for code in codes.split())
        base, found = levels_of(text, None if asked == "2" else int(asked))
        assert (base, found) == (int(level), [None if x == "x" else int(x) for x in levels.split()]), codes
        assert visual_order(found) == [int(word) for word in order.split()], codes


def test_there_are_forty_strings_in_eight_scripts() -> None:
    names = {unicodedata.name(char).split()[0] for _, text in CASES for char in text if char.isalpha()}
    assert len(CASES) >= 40
    assert len(names) >= 8


@pytest.mark.parametrize(("name", "text"), CASES)
def test_glyphs_advances_and_marks_are_those_of_the_shaping_library_and_the_tables(
    name: str, text: str
) -> None:
    """The whole line, each of its stretches shaped by the library alone, its glyphs measured by fontTools."""
    file = _font(name)
    face, font = face_of(file), tables(file)
    order, widths = font.getGlyphOrder(), font["hmtx"].metrics
    letters = shaped(face, plain_text(text))
    ours = [glyph.number for letter in letters for glyph in letter.glyphs]
    theirs, advance = _alone(file, plain_text(text))
    assert ours == theirs
    assert sum(letter.advance for letter in letters) == advance
    for letter in letters:
        own = sum(widths[order[glyph.number]][0] for glyph in letter.glyphs)
        marks = (
            [
                glyph
                for glyph in letter.glyphs
                if font["GDEF"].table.GlyphClassDef.classDefs.get(order[glyph.number]) == 3
            ]
            if "GDEF" in font and font["GDEF"].table.GlyphClassDef
            else []
        )
        kerned = abs(letter.advance - own) / face.upem
        assert kerned < 0.35 + len(marks), letter


def _alone(file: FontFile, text: str) -> tuple[list[int], int]:
    """Shape stretches of one direction, found by a strong letter's class alone, and put them in order."""
    levels = levels_of(text)[1]
    font = uharfbuzz.Font(uharfbuzz.Face(file.data))
    runs: list[list[int]] = []
    for place in visual_order(levels):
        if (
            runs
            and levels[runs[-1][-1]] == levels[place]
            and _script(text, runs[-1][-1]) == _script(text, place)
        ):
            runs[-1].append(place)
        else:
            runs.append([place])
    glyphs, advance = [], 0
    for run in runs:
        buffer = uharfbuzz.Buffer()
        buffer.add_codepoints([ord(char) for char in text], min(run), max(run) + 1 - min(run))
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if (levels[run[0]] or 0) % 2 else "ltr"
        uharfbuzz.shape(font, buffer)
        glyphs += [info.codepoint for info in buffer.glyph_infos]
        advance += sum(place.x_advance for place in buffer.glyph_positions)
    return glyphs, advance


def _script(text: str, place: int) -> str:
    before = (char for char in text[place::-1] if char.isalpha())
    after = (char for char in text[place:] if char.isalpha())
    return unicodedata.name(next(before, None) or next(after)).split()[0]


def test_a_font_that_joins_its_letters_breaks_on_no_arc_unsaid() -> None:
    """Many parts of a joined word, on a line and on arcs: the same number, or refused."""
    for name, text in (("script", "Larkwater"), ("arabic", "طائرة")):
        face = face_of(open_font(name))
        how = Type(face, 5.0, 0.5)
        straight = len(set_along(text, how, Line(5.0)).geoms)
        refused = 0
        for radius in (9.0, 12.0, 20.0, 40.0, 200.0):
            try:
                bent = set_along(text, how, Arc(radius, 5.0, is_below=False))
            except ValueError as error:
                assert "break on this arc" in str(error)  # noqa: PT017 - either is right
                refused += 1
            else:
                assert len(bent.geoms) == straight
        assert refused < 5


def _area(lot: random.Random) -> shapely.Polygon:
    """Return a random area, some with a notch or an opening."""
    count = lot.randint(5, 40)
    turns = np.sort([lot.uniform(0, 2 * np.pi) for _ in range(count)])
    reach = np.array([lot.uniform(8, 30) for _ in range(count)])
    shape = shapely.Polygon(np.column_stack([reach * np.cos(turns) * 1.5, reach * np.sin(turns)])).buffer(0)
    shape = max(shapely.get_parts(shape), key=shapely.area)
    if lot.random() < 0.4:
        shape = shape - shapely.Point(lot.uniform(-9, 9), lot.uniform(-9, 9)).buffer(lot.uniform(1, 4))
    return max(shapely.get_parts(shape.buffer(-1).buffer(1)), key=shapely.area)


@pytest.mark.parametrize("seed", range(300))
def test_a_text_lies_in_its_area_and_could_not_be_two_percent_larger(seed: int) -> None:
    lot = random.Random(seed)
    room = _area(lot)
    text = lot.choice(["Mirabel", "Bo", "Larkwater", "Zoë 7", "Ada & Tobin"])
    limits = Limits(0.6, 0.5, 1.0, 0.4)
    made = None
    composer = Composer(1, Inscription(text), shipped("sans"), limits)
    try:
        made = composer.within(room, "its area")
    except ValueError as error:
        assert "does not fit" in str(error)  # noqa: PT017 - some areas have no room
    if made is not None:
        assert shapely.covers(room, made.letters)
    size = 1.02 * (1.5 if made is None else made.size_mm)
    how = Type(face_of(shipped("sans")), size, 0.5, Mending.fitted(limits, size))
    assert shapely.area(places_for(room, shapely.convex_hull(set_along(text, how, Line(size))))) < 1e-3


def _names(count: int) -> list[str]:
    lot = random.Random(7)
    latin = "Mira Bel Zoë Øl Jür Łu Noé Björk Åsa Íñi Siân řák Max"
    cyrillic = "Ан на Ми ра Пе тя Да ша Ле Жа нна"
    found = []
    while len(found) < count:
        own = (cyrillic if lot.random() < 0.3 else latin).split()
        name = "".join(lot.choice(own) for _ in range(lot.randint(1, 8)))[:40].capitalize()
        if len(name) >= 2:
            found.append(name)
    return found


@pytest.mark.parametrize(
    ("where", "most"), [({"box_mm": [-45, -54, 90, 9]}, 40), ({"place": "back"}, 10)], ids=["box", "back"]
)
def test_two_hundred_names_on_one_artwork_are_sound_and_share_one_trace(where: dict, most: int) -> None:
    ran: list[str] = []

    class Watched(MemoryStore):
        def put(self, stage: str, key: str, value: object) -> None:
            ran.append(stage)
            super().put(stage, key, value)

    start = time.process_time()
    whole = rs.make(KITE)
    whole_s = time.process_time() - start
    job = Job(KITE, Watched())
    first, later = 0.0, []
    for number, name in enumerate(name[:most] for name in _names(200)):
        start = time.process_time()
        relief = job.relief(rs.Recipe().with_values({"lettering": [{"text": name, **where}]}))
        spent = time.process_time() - start
        later.append(spent) if number else None
        first = first or spent
        stops = [item for item in relief.findings if item.severity is Severity.STOP]
        assert stops == [], name
        assert relief.plan.texts[0].text == name
    assert ran.count("traced") == ran.count("mended") == ran.count("hung") == 1
    mean = float(np.mean(later))
    print(f"whole {whole_s:.2f} s, first {first:.2f} s, later {mean:.3f} s: {mean / whole_s:.3f}")
    assert whole.parts
