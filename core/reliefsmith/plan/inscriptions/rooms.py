"""Rooms for texts: areas of one color in front, the back without its pockets."""

from __future__ import annotations

import shapely

from ...errors import GeometryError
from ...model import Plan
from ...polygons import grow, inscribed, merged, piece_at, polygons_of, shrink, without_openings
from ...recipe.sections import BaseSettings
from ..base.outline import MARGIN_SLACK_MM
from ..base.plates import field_box
from ..register import rest_of
from ..strokes.leastwidths import Limits

__all__ = ["BACK_WALL_MM", "FIELD_GAP_MM", "back_room", "front_room"]

BACK_WALL_MM = 0.8
"""Left between letters on the back and edges, holes and pockets: two beads (common practice, no source)."""

FIELD_GAP_MM = 2.0
"""Left between the artwork's box and texts in the field below it (common practice, no source)."""

_NOTHING = shapely.MultiPolygon()

_TRIED = 4
"""Of so many areas, those with the widest places, the one that takes the text largest is chosen; each takes a
search of its own (common practice, no source)."""


def front_room(
    plan: Plan, at_mm: tuple[float, float] | None, base: BaseSettings, limits: Limits
) -> list[shapely.Polygon]:
    """Return areas of one color in which a text may stand, drawn in by the gap from all other colors.

    Parameters
    ----------
    plan : Plan
    at_mm : (float, float) or None
        A point in the area that is meant; None for the widest ones, within the base's field if it has one.
    base : BaseSettings
    limits : Limits

    Raises
    ------
    GeometryError
        If there is no area at the point.
    """
    others = [item.letters for item in plan.texts if item.side == "front"]
    others += [without_openings(pocket.polygon) for pocket in plan.pockets if pocket.side == "front"]
    taken = grow(merged(others), limits.gap)
    bare = rest_of(plan.base, plan.motifs)
    shapes = [bare, *(motif.polygon for motif in plan.motifs)]
    margin = max(limits.gap, base.margin_mm + MARGIN_SLACK_MM)
    if at_mm is not None:
        found = piece_at(shapes, at_mm)
        if found is None:
            x, y = at_mm
            where = f"({x:.2f}, {y:.2f}) mm"
            raise GeometryError(f"there is no area for a text at {where}; choose a point inside one")
        pieces = [found[1]]
    else:
        pieces = sorted(
            (piece for shape in shapes for piece in polygons_of(shape)), key=lambda item: -item.area
        )[: 4 * _TRIED]
    shrunk = [shrink(piece, margin).difference(taken) for piece in pieces]
    if at_mm is None and base.field_mm is not None:
        left, low, right, high = field_box(plan.artwork_mm, base.field_mm).bounds
        field = shapely.box(left, low, right, high - FIELD_GAP_MM)
        shrunk = [shape.intersection(field) for shape in shrunk]
    rooms = polygons_of(shrunk)
    return sorted(rooms, key=lambda room: -inscribed(room).radius)[:_TRIED]


def back_room(
    plan: Plan, base: BaseSettings, limits: Limits, kept: shapely.MultiPolygon = _NOTHING
) -> shapely.Geometry:
    """Return where the back may be cut: away from edges, holes, pockets, texts, second picture, `kept`."""
    wall = max(BACK_WALL_MM, base.margin_mm, limits.gap)
    others = [pocket.polygon for pocket in (*plan.pockets, *plan.inlays)]
    others += [item.letters for item in plan.texts if item.side == "back"]
    others += [kept] if not kept.is_empty else []
    room = shrink(plan.base, wall)
    return room.difference(grow(merged(others), wall)) if others else room
