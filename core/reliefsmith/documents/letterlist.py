"""Lines of letters in report and sheet: what each is, from which width it prints, how to leave it out."""

from __future__ import annotations

import math

import shapely

from ..colorimetry import color_word, to_hex
from ..model import LetterLine, Result
from ..recipe.recipe import toml_value
from ..recipe.tables import Mark
from .html import Piece, el, join
from .wording import mm

__all__ = ["leaving_out", "lettering_mapping", "lettering_pieces", "texts_mapping"]
__all__ += ["back_pieces", "texts_pieces", "texts_words"]

_MM = 3


def leaving_out(line: LetterLine) -> tuple[Mark, ...]:
    """Return the marks that give a line's place to what lies round it; none where that is nothing.

    Examples
    --------
    >>> white, navy, outline = (255, 255, 255), (20, 40, 110), shapely.box(0, 0, 4, 2)
    >>> line = LetterLine(4, white, navy, (2, 1), (), outline, 2, 0.3, 1, (1, 1))
    >>> [(mark.kind, mark.value, len(mark.polygon_mm)) for mark in leaving_out(line)]
    [('recolor', '#14286e', 4)]
    """
    corners = tuple(
        (round(x, _MM), round(y, _MM)) for x, y in shapely.get_coordinates(line.outline)[:-1].tolist()
    )
    if line.ground is None:
        return (Mark("erase", polygon_mm=corners),) if line.color is not None else ()
    value = to_hex(line.ground)
    if line.color is None:  # a polygon takes what is drawn, a point an opening too
        return tuple(Mark("recolor", at_mm=place, value=value) for place in line.places_mm)
    return (Mark("recolor", polygon_mm=corners, value=value),)


def lettering_mapping(result: Result) -> list[dict[str, object]]:
    """Return the lines of letters as plain values."""
    return [_line(line, result) for line in result.lettering.lines]


def _line(line: LetterLine, result: Result) -> dict[str, object]:
    return {
        "letters": line.count,
        "color": None if line.color is None else to_hex(line.color),
        "ground": None if line.ground is None else to_hex(line.ground),
        "at_mm": list(line.at_mm),
        "box_mm": [round(side, _MM) + 0.0 for side in line.box_mm],
        "height_mm": round(line.height_mm, _MM),
        "stroke_mm": round(line.stroke_mm, _MM),
        "gap_mm": round(line.gap_mm, _MM) if math.isfinite(line.gap_mm) else None,
        "least_mm": [round(width, _MM) for width in line.least_mm],
        "prints": line.prints,
        "prints_from_width_mm": round(result.plan.artwork_mm[0] * line.needs, 1) if line.shown else None,
        "without": [
            {"kind": mark.kind, "value": mark.value}
            | (
                {"at_mm": list(mark.at_mm)}
                if mark.at_mm
                else {"polygon_mm": [list(p) for p in mark.polygon_mm or ()]}
            )
            for mark in leaving_out(line)
        ],
    }


def texts_mapping(result: Result) -> list[dict[str, object]]:
    """Return the texts that were set as plain values, but for their words, which may be names."""
    return [
        {
            "number": item.number,
            "side": item.side,
            "color": None if item.color is None else to_hex(item.color),
            "at_mm": [round(float(value), _MM) for value in item.letters.centroid.coords[0]],
            "capitals_mm": round(item.size_mm, _MM),
            "pieces": len(item.letters.geoms),
            "depth_mm": item.depth_mm,
        }
        for item in result.plan.texts
    ]


def texts_pieces(result: Result) -> list[Piece]:
    """List the texts that were set, to be read back letter by letter."""
    if not result.plan.texts:
        return []
    return [el("h3", "Texts"), el("ul", *(el("li", words) for words in texts_words(result)))]


def back_pieces(result: Result) -> list[Piece]:
    """Tell of the second picture."""
    told = [item.message for item in result.notes if item.code == "picture-laid"]
    return [el("h3", "Back"), *(el("p", words) for words in told)] if told else []


def texts_words(result: Result) -> list[str]:
    """Return what each text says, where it stands and how large it is."""
    return [
        f"{item.text}: {item.side}, {f'sunk {mm(item.depth_mm)} mm' if item.depth_mm else 'raised'},"
        f" capitals {mm(item.size_mm)} mm"
        for item in result.plan.texts
    ]


def lettering_pieces(result: Result) -> list[Piece]:
    """List the lines of letters on the sheet, with marks that leave out those that would not print."""
    lines = result.lettering.lines
    if not lines:
        return []
    items = [el("li", _words(line, result), *_marks(line)) for line in lines]
    return [el("h3", "Lettering"), el("ul", *items)]


def _words(line: LetterLine, result: Result) -> str:
    color = "cut out" if line.color is None else color_word(line.color)
    widths = f"strokes {mm(line.stroke_mm, 2)} mm"
    if math.isfinite(line.gap_mm):
        widths += f", gaps {mm(line.gap_mm, 2)} mm"
    if not line.shown:
        says = "the base has the color round them and fills them"
    elif line.prints:
        says = "prints"
    else:
        says = f"prints from an artwork {mm(result.plan.artwork_mm[0] * line.needs)} mm wide on"
    x, y = (mm(value) for value in line.at_mm)
    return f"{line.count} letters, {color}, {mm(line.height_mm)} mm high at {x}, {y} mm: {widths}; {says}."


def _marks(line: LetterLine) -> list[Piece]:
    marks = leaving_out(line)
    if line.prints or not line.shown or not marks:
        return []
    text = "marks = [\n" + "".join(f"  {toml_value(mark)},\n" for mark in marks) + "]"
    return [el("details", el("summary", "Recipe lines that leave it out"), el("pre", join(text)))]
