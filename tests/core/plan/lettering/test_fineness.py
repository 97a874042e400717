"""Lines of letters among areas: found however they lie, judged by their strokes and gaps, three ways out."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw, ImageFont
from shapely.affinity import rotate, scale, translate

import reliefsmith as rs
from reliefsmith.documents.letterlist import leaving_out
from reliefsmith.documents.report import report_mapping
from reliefsmith.documents.sheet.sheet import sheet_html
from reliefsmith.model import FlatAreas, Frame, Lettering
from reliefsmith.plan.lettering.fineness import lettering
from reliefsmith.recipe.sections import MotifSettings, PrinterSettings, SizeSettings
from reliefsmith.walk.pipeline import find_areas
from reliefsmith.walk.store import decode, encode

NAVY, WHITE, RED = (20, 40, 110), (250, 250, 250), (200, 30, 40)
SIDE, FINE = 800, 3


def _font(size: float, name: str = "Lato-Bold") -> ImageFont.FreeTypeFont:
    from importlib.resources import files

    return ImageFont.truetype(
        io.BytesIO((files("reliefsmith_data") / "fonts" / f"{name}.ttf").read_bytes()), round(size * FINE)
    )


def _picture(*, clear: bool = False) -> Image.Image:
    """Draw a navy disc with a line round its top and a small one across, and a red line below it."""
    image = Image.new("RGBA", (SIDE * FINE, SIDE * FINE), (*WHITE, 0 if clear else 255))
    pen = ImageDraw.Draw(image)
    pen.ellipse([c * FINE for c in (150, 40, 650, 540)], fill=NAVY)
    _arc(image, "LARKWATER", 70, (400, 290), 195, clear=clear)
    if not clear:
        pen.text(
            (400 * FINE, 300 * FINE), "Kite Day", fill=WHITE, font=_font(28, "Lato-Regular"), anchor="mm"
        )
        pen.text((400 * FINE, 650 * FINE), "HERON CREW", fill=RED, font=_font(90), anchor="mm")
    return image.resize((SIDE, SIDE), Image.Resampling.BOX)


def _arc(
    image: Image.Image, text: str, size: float, middle: tuple[float, float], radius: float, *, clear: bool
) -> None:
    font, step = _font(size), 0.36
    for number, letter in enumerate(text):
        turn = step * (number - (len(text) - 1) / 2)
        tile = Image.new("L", (round(size * 3) * FINE,) * 2)
        ImageDraw.Draw(tile).text((tile.width / 2,) * 2, letter, fill=255, font=font, anchor="mm")
        tile = tile.rotate(-math.degrees(turn), Image.Resampling.BICUBIC)
        x, y = middle[0] + radius * math.sin(turn), middle[1] - radius * math.cos(turn)
        corner = (round(x * FINE - tile.width / 2), round(y * FINE - tile.height / 2))
        image.paste((*WHITE, 0 if clear else 255), corner, tile)


@cache
def _png(*, clear: bool = False) -> bytes:
    out = io.BytesIO()
    picture = _picture(clear=clear)
    (picture if clear else picture.convert("RGB")).save(out, "PNG")
    return out.getvalue()


@cache
def _areas(*, clear: bool = False) -> FlatAreas:
    return find_areas(_png(clear=clear))


def _lettering(areas: FlatAreas, base: tuple[int, int, int] = (0, 0, 0), **size: float) -> Lettering:
    return lettering(
        areas,
        base,
        areas.size_mm,
        motif=MotifSettings(),
        printer=PrinterSettings(),
        size=SizeSettings(**size),
    )


def _flat(*polygons: shapely.Geometry) -> FlatAreas:
    """Return areas of these polygons in colors that differ."""
    colors = np.array([NAVY, RED, WHITE][: len(polygons)], np.uint8)
    frame = Frame(0.1, (0.0, 0.0), 0.0, (700, 700))
    return FlatAreas(
        tuple(shapely.multipolygons(shapely.get_parts(p)) for p in polygons), colors, frame, (68, 68)
    )


def test_lines_and_arcs_are_found_letter_by_letter() -> None:
    areas = _areas()
    small, arc, below = sorted(_lettering(areas).lines, key=lambda line: line.height_mm)
    assert (small.count, arc.count, below.count) == (7, 9, 9)
    assert (small.ground, arc.ground) == (_color(areas, NAVY),) * 2
    assert below.ground is None
    font = _font(90)
    capitals = -font.getbbox("H", anchor="ls")[1] / FINE * areas.frame.mm_per_px
    assert below.height_mm == pytest.approx(capitals, rel=0.03)
    assert below.stroke_mm > arc.stroke_mm > small.stroke_mm


def _color(areas: FlatAreas, like: tuple[int, int, int]) -> tuple[int, ...]:
    return tuple(areas.colors[_index(areas, like)].tolist())


@pytest.mark.parametrize("turn", [0.0, 33.0, 90.0, 200.0])
@pytest.mark.parametrize(("x", "y"), [(1.0, 1.0), (-1.0, 1.0), (0.4, 0.4), (2.5, -2.5)])
def test_turning_mirroring_and_scaling_give_the_same_lines(turn: float, x: float, y: float) -> None:
    areas = _areas()

    def moved(shape: shapely.Geometry) -> shapely.Geometry:
        return rotate(scale(shape, x, y, origin=(0, 0)), turn, origin=(0, 0))

    other = replace(
        areas,
        polygons=tuple(moved(polygon) for polygon in areas.polygons),
        size_mm=(areas.size_mm[0] * abs(x), areas.size_mm[1] * abs(x)),
    )
    before, after = _lettering(areas).lines, _lettering(other).lines
    assert len(before) == len(after)
    for line in before:
        place = moved(shapely.Point(line.at_mm))
        near = min(after, key=lambda item: place.distance(item.outline))
        assert near.count == line.count
        assert near.outline.buffer(0.01).contains(place)
        assert near.height_mm == pytest.approx(line.height_mm * abs(x), rel=0.02)
        assert near.stroke_mm == pytest.approx(line.stroke_mm * abs(x), rel=0.03)
        assert near.gap_mm == pytest.approx(line.gap_mm * abs(x), rel=0.05)
        assert (near.color, near.ground) == (line.color, line.ground)


def test_what_stands_in_a_row_is_no_lettering() -> None:
    bars = [shapely.box(4 * n, 0, 4 * n + 1, 5) for n in range(12)]
    crosses = [shapely.union(bar, translate(bar, 0, 0).envelope.buffer(0.5)) for bar in bars]
    hooks = [
        shapely.difference(shapely.box(4 * n, 9, 4 * n + 3, 14), shapely.box(4 * n + 1, 10, 4 * n + 3, 14))
        for n in range(9)
    ]
    leaves = [shapely.Point(5 * n, 20).buffer(1.2 + 0.1 * (n % 4)) for n in range(9)]
    for row in (bars, crosses, hooks, leaves):
        assert _lettering(_flat(shapely.union_all(row))).lines == ()


def test_pieces_of_several_pens_are_no_lettering() -> None:
    """The same letters, each other one twice as bold, as ribs and keys are."""
    areas = _areas()
    own = list(shapely.get_parts(areas.polygons[_index(areas, RED)]))
    bold = [piece.buffer(0.5) if number % 2 else piece for number, piece in enumerate(own)]
    assert len(_lettering(_flat(shapely.union_all(own))).lines) == 1
    assert _lettering(_flat(shapely.union_all(bold))).lines == ()


def _index(areas: FlatAreas, color: tuple[int, int, int]) -> int:
    return int(np.abs(areas.colors.astype(int) - color).sum(axis=1).argmin())


def test_a_line_that_would_not_print_says_so_and_from_which_size_it_does() -> None:
    areas = _areas()
    result = _lettering(areas)
    assert [line.count for line in result.lost] == [7]
    (told,) = result.findings
    assert told.code == "lettering-thin"
    assert told.at_mm[:2] == result.lost[0].at_mm
    assert "7 letters in white" in told.message
    assert "set anew in heavier letters, as artwork of its own" in told.message
    width = int(re.search(r"size\.width_mm = (\d+)", told.message)[1])
    assert _lettering(find_areas(_png(), {"size": {"width_mm": width}})).lost == ()
    assert _lettering(find_areas(_png(), {"size": {"width_mm": 0.95 * width}})).lost != ()


def test_where_the_height_is_asked_for_it_is_the_height_that_helps() -> None:
    (told,) = _lettering(_areas(), height_mm=_areas().size_mm[1]).findings
    assert "size.height_mm = " in told.message


def test_letters_that_show_the_base_are_gaps() -> None:
    areas = _areas()
    small = next(line for line in _lettering(areas).lines if line.count == 7)
    same = next(line for line in _lettering(areas, small.color).lines if line.count == 7)
    assert (small.least_mm, same.least_mm) == ((0.6, 0.5), (0.5, 0.6))


def test_openings_that_a_base_of_their_grounds_color_fills_are_not_called_too_fine() -> None:
    areas = _areas(clear=True)
    plate = tuple(areas.colors[0].tolist())
    filled, shown = _lettering(areas, plate), _lettering(areas)
    assert [line.shown for line in filled.lines] == [False]
    assert [line.color for line in shown.lines] == [None]
    assert shown.lines[0].shown
    assert filled.findings == ()


@pytest.mark.parametrize("clear", [False, True])
def test_the_marks_leave_the_line_out_and_all_else_as_it_was(clear: bool) -> None:
    areas = _areas(clear=clear)
    for line in _lettering(areas).lines:
        marks = leaving_out(line)
        after = find_areas(_png(clear=clear), {"marks": [mark_table(mark) for mark in marks]})
        kept = [item.count for item in _lettering(after).lines]
        assert sorted([*kept, line.count]) == sorted(item.count for item in _lettering(areas).lines)
        outside = [shapely.union_all(item.polygons).difference(line.outline) for item in (areas, after)]
        assert outside[0].symmetric_difference(outside[1]).area < 0.05


def mark_table(mark) -> dict:
    names = ("kind", "at_mm", "polygon_mm", "value")
    return {name: getattr(mark, name) for name in names if getattr(mark, name) is not None}


def test_report_sheet_and_findings_name_the_lines() -> None:
    relief = rs.make(_png())
    report = report_mapping(relief.result, {})
    rows = report["lettering"]
    assert [row["letters"] for row in rows] == [9, 9, 7]
    assert [row["prints"] for row in rows] == [True, True, False]
    assert rows[2]["without"][0]["kind"] == "recolor"
    json.dumps(rows, allow_nan=False)
    assert "lettering-thin" in {item.code for item in relief.findings}
    sheet = sheet_html(relief.result, proof_png=b"").decode()
    assert "Recipe lines that leave it out" in sheet
    assert sheet.count("letters, white") == 2


def test_lines_are_kept_and_come_back() -> None:
    found = _lettering(_areas())
    assert decode(encode(found)) == found
