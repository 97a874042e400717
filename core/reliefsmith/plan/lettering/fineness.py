"""Lettering: lines of letters among the areas, and which of them are too fine to print at this size.

Used for findings only: what is paint and what carries it is decided without it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from ...colorimetry import color_word
from ...findings import Finding, finding
from ...model import FlatAreas, Lettering, LetterLine
from ...model.arrays import Color, Floats, Ints
from ...polygons import as_multi, enclosed, grow, longest_neighbor, polygons_of, shared_lengths
from ...progress import Progress, Steps, drained
from ...recipe.sections import MotifSettings, PrinterSettings, SizeSettings
from ...recipe.sections.limits import WIDEST_MM
from ..strokes.leastwidths import Limits
from .letterlines import lines_of
from .letters import Letters, letters
from .letterwidths import stroke_and_gap

__all__ = ["lettering", "lettering_steps"]

_BESIDE = 0.6
"""Dots and accents lie nearer to their letters than this share of the height."""

_LOOSE_MM = 0.1
_CORNERS = 400
"""How far the outline of a line stands off its letters, and its corners at most, where a mark takes 500."""

_MOST_TOLD = 8
"""Findings on single lines; more are counted in the last."""


def lettering_steps(
    areas: FlatAreas,
    base_color: Color,
    piece_mm: tuple[float, float],
    *,
    motif: MotifSettings,
    printer: PrinterSettings,
    size: SizeSettings,
) -> Steps[Lettering]:
    """Find lines of letters and tell which would not print.

    Parameters
    ----------
    areas : FlatAreas
        After marks: what is dropped there is not told.
    base_color : (int, int, int)
        Letters in it are gaps between motifs, as openings are.
    piece_mm : (float, float)
        Width and height of the whole piece, for the size at which a line would print.
    """
    limits = Limits.of(motif, printer)
    lines: list[LetterLine] = []
    groups = [(pieces, color) for pieces, color in _groups(areas) if pieces]
    for number, (pieces, color) in enumerate(groups):
        yield Progress("looking for lettering", number / len(groups))
        found = letters(pieces, max(areas.size_mm))
        shows_base = color in (None, base_color)
        least = (limits.gap, limits.stroke) if shows_base else (limits.stroke, limits.gap)
        for chain in lines_of(found):
            line = _line(areas, pieces, found, chain, (color, least))
            lines.append(replace(line, shown=color is not None or line.ground != base_color))
    result = Lettering(tuple(sorted(lines, key=lambda line: -line.count)))
    return replace(result, findings=tuple(_findings(result.lost, areas, piece_mm, size)))


lettering = drained(lettering_steps)


def _groups(areas: FlatAreas) -> Iterator[tuple[list[shapely.Polygon], Color | None]]:
    """Give the pieces of each color, and the openings that the art encloses."""
    for polygon, (red, green, blue) in zip(areas.polygons, areas.colors.tolist(), strict=True):
        yield polygons_of(polygon), (red, green, blue)
    yield enclosed(areas.polygons), None


def _line(
    areas: FlatAreas,
    pieces: Sequence[shapely.Polygon],
    found: Letters,
    chain: Ints,
    kind: tuple[Color | None, tuple[float, float]],
) -> LetterLine:
    own = list(found.polygons[chain])
    height = _height(own, found.center[chain])
    whole = [*own, *_small_parts(pieces, own, height)]
    middle = found.center[chain[len(chain) // 2]]
    stroke, gap = stroke_and_gap(own, float(np.median(found.stroke[chain])))
    places = shapely.get_coordinates(shapely.point_on_surface(whole)).round(3)
    return LetterLine(
        count=len(chain),
        color=kind[0],
        ground=_ground(areas, own, kind[0]),
        at_mm=(round(float(middle[0]), 3), round(float(middle[1]), 3)),
        places_mm=tuple((float(x), float(y)) for x, y in places),
        outline=_outline(own, whole),
        height_mm=height,
        stroke_mm=stroke,
        gap_mm=gap,
        least_mm=kind[1],
    )


def _height(own: Sequence[shapely.Polygon], centers: Floats) -> float:
    """Return the median extent of letters across the line's direction at each."""
    along = np.gradient(centers, axis=0)
    normal = np.column_stack((-along[:, 1], along[:, 0])) / np.hypot(*along.T)[:, None]
    points, letter = shapely.get_coordinates(own, return_index=True)
    across = (points * normal[letter]).sum(axis=1)
    low, high = np.full(len(own), np.inf), np.full(len(own), -np.inf)
    np.minimum.at(low, letter, across)
    np.maximum.at(high, letter, across)
    return float(np.median(high - low))


def _small_parts(
    pieces: Sequence[shapely.Polygon], own: Sequence[shapely.Polygon], height: float
) -> list[shapely.Polygon]:
    """Return what belongs to letters and is none: dots, accents, points between words."""
    tree = shapely.STRtree(pieces)
    near = np.unique(tree.query(own, predicate="dwithin", distance=_BESIDE * height)[1])
    least = float(np.median(shapely.area(own)))
    among = {id(item) for item in own}
    return [pieces[i] for i in near if id(pieces[i]) not in among and pieces[i].area < least]


def _outline(own: Sequence[shapely.Polygon], whole: Sequence[shapely.Polygon]) -> shapely.Polygon:
    """Return one polygon that follows the line from letter to letter."""
    pairs = shapely.multipolygons([[one, other] for one, other in pairwise(own)])
    spans = list(shapely.convex_hull(pairs))
    for part in whole[len(own) :]:
        nearest = own[int(np.argmin(shapely.distance(part, own)))]
        spans.append(as_multi([part, nearest]).convex_hull)
    outline = grow(shapely.Polygon(shapely.union_all(spans).exterior), _LOOSE_MM, "bevel")
    tolerance = _LOOSE_MM / 4
    plain = shapely.simplify(outline, tolerance)
    while shapely.get_num_coordinates(plain) > _CORNERS:
        tolerance *= 2
        plain = shapely.simplify(outline, tolerance)
    return polygons_of(plain)[0]


def _ground(areas: FlatAreas, own: Sequence[shapely.Polygon], color: Color | None) -> Color | None:
    """Return the color that the letters share most of their outsides with; None where that is no area."""
    outsides = as_multi([shapely.Polygon(letter.exterior) for letter in own])
    others = [
        as_multi([]) if tuple(other) == color else polygon
        for polygon, other in zip(areas.polygons, areas.colors.tolist(), strict=True)
    ]
    table = shared_lengths([outsides, *others])
    number = longest_neighbor(table, 0)
    length = float(table[table[:, 0] == 0][:, 2].max()) if number is not None else 0.0
    if number is None or length < outsides.length / 2:
        return None
    red, green, blue = areas.colors[number - 1].tolist()
    return red, green, blue


def _findings(
    lost: Sequence[LetterLine], areas: FlatAreas, piece_mm: tuple[float, float], size: SizeSettings
) -> Iterator[Finding]:
    for line in lost[:_MOST_TOLD]:
        side, length = size.enlarged(areas.size_mm, piece_mm, line.enough)
        words = f"{_trouble(line)} {_ways_out(side, math.ceil(length))}"
        yield finding("lettering-thin", words, (*line.at_mm, 0.0))
    if (more := len(lost) - _MOST_TOLD) > 0:
        words = f"{more} more lines of letters are too fine to print; the report has them all."
        yield finding("lettering-thin", words)


def _trouble(line: LetterLine) -> str:
    left, low, right, high = line.box_mm
    what = "cut out" if line.color is None else f"in {color_word(line.color)}"
    over = max(right - left, high - low)
    widths = zip(("strokes", "gaps"), (line.stroke_mm, line.gap_mm), line.least_mm, strict=True)
    fine = "; ".join(f"{name} {own:.2f} mm, least {least:.2f}" for name, own, least in widths if own < least)
    size = f"{line.height_mm:.1f} mm high over {over:.0f} mm"
    return f"{line.count} letters {what}, {size}, would not print: {fine}."


def _ways_out(side: str, enough: int) -> str:
    larger = f"larger ({side} = {enough}); " if enough <= WIDEST_MM else ""
    return (
        f"Ways out: {larger}left out (the marks for it are on the sheet); "
        "or set anew in heavier letters, as artwork of its own."
    )
