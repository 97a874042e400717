"""Which color the base has: one of the artwork's own, or an extra one that sets it off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...colorimetry import color_phrase, parse_hex
from ...colorimetry.difference import SAME_COLOR, differences
from ...findings import Note, note
from ...model.arrays import Color, Floats, Ints, Shapes
from ...polygons import as_multi, opened_parts
from ...polygons.edges import rim_edges
from .foreseen import AS_IT_IS, Foreseen
from .ground import Art
from .legible import edges_on

__all__ = ["BaseColor", "base_color", "same_color"]

THIN_RADIUS_MM = 1.2
"""What a disc of this radius cannot reach is a line; a border of 1 mm in its color would drown it."""

MOST_THIN_SHARE = 0.6
"""Share of a color's boundary that may be thin and face the background: an outline round colored fields
faces it with one side of two (0.5), an ink line with both (1.0)."""

MOST_FACING = 0.05
"""Share of the outline that a plate's color may face before the figure loses its outline."""

PLAIN_DIFFERENCE = 10.0
"""CIEDE2000 that is plain to see at a glance."""

FAR_DIFFERENCE = 20.0
"""CIEDE2000 by which a drawing of one color stands out from what it lies on."""

_EVEN_LOSS = 0.01
"""Share of the picture's edges: colors that lose no more than this beside the best one are as good as it.
Where it was 2 %, 7 of 89 open artworks lost 1.1 to 2.3 % of them (tests/benchmarks/makers.py, seed 11)."""

_SAMPLE_MM = 0.5
_NEAR_MM = 0.05
"""Allowance for the chords of the opening's arcs."""

_MANY, _REACH = 4000, 2.6
"""Of areas with more vertices only the rim is opened, as far as two radii and a margin reach."""


_EXTRA: tuple[tuple[str, Color], ...] = (
    ("white", (255, 255, 255)),
    ("near black", (26, 26, 26)),
    ("light grey", (200, 200, 200)),
    ("dark grey", (90, 90, 90)),
    ("sand", (222, 200, 160)),
    ("deep blue", (24, 48, 110)),
)
"""Colors that every filament maker sells, for a base of its own."""


@dataclass(frozen=True, slots=True)
class BaseColor:
    """The base's color and which of the artwork's colors it is (None for an extra one)."""

    color: Color
    index: int | None
    notes: tuple[Note, ...] = ()


def base_color(
    picture: Art,
    base: shapely.Geometry,
    wanted: str = "auto",
    *,
    is_plate: bool = False,
    later: Foreseen = AS_IT_IS,
) -> BaseColor:
    """Choose the color of the base.

    Parameters
    ----------
    picture : Art
        At least one color.
    base : Polygon or MultiPolygon
        The base, seen from above.
    wanted : str
        "auto" or "#rrggbb". A wanted color within CIEDE2000 3 of one of the artwork's own is that one.
    is_plate : bool
        Whether the base also fills much of the background, as a plate does.
    later : Foreseen
        What becomes of the base: by that it is judged.

    Notes
    -----
    The rule for "auto". Where the art encloses ground, the base has the ground's own color and shows it: that
    takes no more parts than ground on a base of another color, and nothing of the art is lost in it. A
    one-color artwork gets the ground's color if that is plainly another (CIEDE2000 20), else white or near
    black, whichever differs more. Else the color by contact (`_by_contact`) is taken, if in an opaque picture
    a base of it keeps the picture's edges within 1 % of the best color, the ground's among them; if not, of
    the art's colors within 1 % the one with the longest contact with the background; if there is none, the
    ground's.
    """
    if wanted != "auto":
        return _wanted(picture.colors, wanted)
    if picture.enclosed is not None and not picture.is_part:
        return BaseColor(picture.colors[picture.enclosed], picture.enclosed)
    art = [index for index in range(len(picture.colors)) if index != picture.enclosed]
    if len(art) == 1:
        return _under_one(picture, art[0])
    ends, owner = rim_edges(picture.polygons)
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    contacts = np.bincount(owner, weights=lengths, minlength=len(picture.polygons)).tolist()
    if is_plate:
        usual = _under_plate(picture.polygons, picture.colors, contacts)
    else:
        usual = _by_contact(picture, ends, owner, contacts)
    return usual if picture.ground is None else _legible(usual, picture, later.base(base), contacts)


def _legible(usual: BaseColor, picture: Art, base: shapely.Geometry, contacts: Sequence[float]) -> BaseColor:
    """Return the usual color of an opaque picture's base, or a better one where it loses too many edges."""
    ground = picture.ground or usual.color
    art = [index for index in range(len(picture.colors)) if index != picture.enclosed]
    kept = edges_on(picture, base, [*(picture.colors[index] for index in art), ground])
    by_color = dict(zip(art, kept, strict=False))
    best = max(by_color.values()) if picture.is_part else max(kept)
    if usual.index in by_color and by_color[usual.index] >= best - _EVEN_LOSS:
        return usual
    near = [index for index in art if by_color[index] >= best - _EVEN_LOSS]
    if not near:
        return _of_ground(ground, "in one of the artwork's own some of it would vanish")
    chosen = _longest(near, picture, contacts)
    return BaseColor(picture.colors[chosen], chosen)


def _by_contact(picture: Art, ends: Floats, owner: Ints, contacts: Sequence[float]) -> BaseColor:
    """Return the color with the longest contact with the background in which lines do not vanish.

    A color is eligible if the picture stays legible when the border takes it: the share of its whole
    boundary that is thin (out of reach of a disc of 1.2 mm radius inside the color) and faces the background
    is at most 0.6. So the lines of an ink drawing are not eligible; a dark outline round colored fields is,
    and so is a solid field. Of the eligible colors the one with the longest contact with the background
    wins, ties by area, then by color value. If none is eligible the base gets an extra color: of a short
    list the one whose least CIEDE2000 to the artwork's colors is largest.
    """
    touching = [
        index
        for index, polygon in enumerate(picture.polygons)
        if contacts[index] > 0 and _stays_legible(polygon, ends[owner == index], contacts[index])
    ]
    if not touching:
        return _extra(picture.colors, _EXTRA, "its lines would vanish in a base of one of its own colors")
    best = _longest(touching, picture, contacts)
    return BaseColor(picture.colors[best], best)


def _longest(choices: Sequence[int], picture: Art, contacts: Sequence[float]) -> int:
    return min(
        choices,
        key=lambda index: (
            -round(contacts[index], 3),
            -round(picture.polygons[index].area, 3),
            picture.colors[index],
        ),
    )


def _under_plate(
    polygons: Sequence[shapely.MultiPolygon], colors: Sequence[Color], contacts: Sequence[float]
) -> BaseColor:
    """Return a color of the art that differs most from those that face the background.

    On a plate a color that faces the background would melt into it and take the figure's outline along: there
    only colors with at most 5 % of the outline are eligible, and they must differ by CIEDE2000 10 from all
    colors that have more.
    """
    facing = [index for index, contact in enumerate(contacts) if contact > MOST_FACING * sum(contacts)]
    rivals = [colors[index] for index in facing]
    least = {
        index: round(float(differences(colors[index], rivals).min()), 6)
        for index in range(len(colors))
        if index not in facing
    }
    eligible = [index for index, difference in least.items() if difference >= PLAIN_DIFFERENCE]
    if not eligible:
        return _extra(colors, _EXTRA, "on a plate of one of its own colors the figure would lose its outline")
    best = min(eligible, key=lambda index: (-least[index], -round(polygons[index].area, 3), colors[index]))
    return BaseColor(colors[best], best)


def _wanted(colors: Sequence[Color], wanted: str) -> BaseColor:
    color = parse_hex(wanted)
    same = same_color(color, colors)
    if same is not None:
        return BaseColor(colors[same], same)
    added = note("base-color-added", f"The base has the wanted color {wanted}, which the artwork has not.")
    return BaseColor(color, None, (added,))


def _under_one(picture: Art, index: int) -> BaseColor:
    """Return a base that sets one color off: the ground, as in the picture, where that is plainly another."""
    reason, color, ground = "the artwork has one color", picture.colors[index], picture.ground
    if picture.is_part or ground is None or float(differences(color, [ground])[0]) < FAR_DIFFERENCE:
        return _extra(picture.colors, _EXTRA[:2], reason)
    return _of_ground(ground, reason)


def _of_ground(ground: Color, reason: str) -> BaseColor:
    words = f"The base is {color_phrase(ground)}, the color of the ground: {reason}."
    return BaseColor(ground, None, (note("base-color-added", words),))


def same_color(color: Color, colors: Sequence[Color]) -> int | None:
    """Return which of the colors is one with another, None if none is."""
    apart = differences(color, colors)
    nearest = int(np.argmin(apart))
    return nearest if apart[nearest] < SAME_COLOR else None


def _extra(colors: Sequence[Color], offered: Sequence[tuple[str, Color]], reason: str) -> BaseColor:
    least = [float(differences(color, colors).min()) for _, color in offered]
    word, color = offered[int(np.argmax(least))]
    added = note("base-color-added", f"The base is {word}, a color of its own: {reason}.")
    return BaseColor(color, None, (added,))


def _stays_legible(polygon: shapely.MultiPolygon, facing: Floats, contact: float) -> bool:
    """Tell whether little enough of a color's boundary is thin and faces the background."""
    whole = max(float(polygon.length), _NEAR_MM)
    if contact <= MOST_THIN_SHARE * whole:  # even if all of it were thin
        return True
    return _thin_length(polygon, facing) <= MOST_THIN_SHARE * whole


def _thin_length(polygon: shapely.MultiPolygon, facing: Floats) -> float:
    """Return the length of what of the edges `facing` (n, 2 ends, 2) no disc inside the polygon reaches."""
    edges = shapely.linestrings(facing)
    points, line = shapely.get_coordinates(shapely.segmentize(edges, _SAMPLE_MM), return_index=True)
    inside = line[1:] == line[:-1]
    middle = ((points[1:] + points[:-1]) / 2)[inside]
    length = np.hypot(*(points[1:] - points[:-1])[inside].T)
    if shapely.get_num_coordinates(polygon) > _MANY:  # what the discs at the rim can reach is enough
        lines = shapely.line_merge(shapely.multilinestrings(edges))  # one buffer for each edge takes minutes
        rim = shapely.buffer(shapely.simplify(lines, _NEAR_MM), _REACH * THIN_RADIUS_MM, quad_segs=2)
        polygon = as_multi(polygon.intersection(rim))
    bodies = np.asarray(opened_parts(polygon, THIN_RADIUS_MM), dtype=object)
    length[_reached(shapely.points(middle), bodies)] = 0.0
    return float(length.sum())


def _reached(points: Shapes, bodies: Shapes) -> Ints:
    """Return which points lie in bodies, or hardly outside."""
    if len(bodies) == 0:
        return np.empty(0, dtype=np.int64)
    left, low, right, high = shapely.bounds(bodies).T
    boxes = shapely.box(left - _NEAR_MM, low - _NEAR_MM, right + _NEAR_MM, high + _NEAR_MM)
    body, point = shapely.STRtree(points).query(boxes)
    shapely.prepare(bodies)
    return np.unique(point[shapely.dwithin(bodies[body], points[point], _NEAR_MM)])
