"""A handle: enclosed ground that may be opened to hang the piece by it, the one such place of a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely

from ...model import Plan
from ...polygons import as_multi, grow, inscribed, merged, polygons_of, shrink
from ...recipe.sections import BaseSettings
from ..base.ground import WIDE_MM, Art
from ..register import in_register
from .bore import SLACK_MM, largest

__all__ = ["handle_of", "is_bar", "with_handle_open"]

_MOST_SHARE = 0.2
"""Of the picture's area: what is larger is the picture itself, such as the inside of a balloon."""

_BAR_SHARE = 0.5
"""A handle is a bar: round so much of its inside the way out is no farther than hardware reaches."""

_SAMPLE_MM = 0.5
_KEPT = 4
"""Handles that are remembered: a changed height opens none otherwise."""


def handle_of(picture: Art, kept: Sequence[shapely.Geometry]) -> shapely.MultiPolygon:
    """Return the highest piece of enclosed ground that could be a handle's inside, or nothing.

    It is empty of art, wide enough to have been meant as an opening, a small share of the picture, and not
    among what marks keep.
    """
    if picture.enclosed is None:
        return shapely.MultiPolygon()
    most = _MOST_SHARE * sum(polygon.area for polygon in picture.polygons)
    wide = [
        piece
        for piece in polygons_of(picture.polygons[picture.enclosed])
        if not piece.interiors and piece.area <= most and 2 * inscribed(piece).radius >= WIDE_MM
    ]
    free = [piece for piece in wide if not any(zone.intersects(piece) for zone in kept)]
    return as_multi(max(free, key=lambda piece: (piece.bounds[3], piece.bounds))) if free else as_multi([])


@lru_cache(maxsize=_KEPT)
def _opening(
    handle: shapely.MultiPolygon, motifs: tuple[shapely.Geometry, ...], base: BaseSettings
) -> shapely.Polygon | None:
    """Return what of a handle's inside is free within the border."""
    inside = shrink(handle, max(base.border_mm, base.margin_mm))
    room = polygons_of(inside.difference(grow(merged(motifs), base.margin_mm + SLACK_MM)))
    return max(room, key=lambda piece: (piece.area, piece.bounds), default=None)


def with_handle_open(plan: Plan, base: BaseSettings) -> tuple[Plan, shapely.Polygon] | None:
    """Return the plan with its handle open, the border left inside it, and the opening; None without one."""
    opening = _opening(plan.handle, tuple(motif.polygon for motif in plan.motifs), base)
    if opening is None:
        return None
    whole, kept = in_register(plan.base.difference(opening), plan.motifs)
    body = largest(whole)
    place = shapely.point_on_surface(opening)
    ring = next((ring for ring in body.interiors if shapely.Polygon(ring).contains(place)), None)
    if ring is None or len(polygons_of(whole)) != len(polygons_of(plan.base)):
        return None
    opened = body if len(polygons_of(whole)) == 1 else whole
    return replace(plan, base=opened, motifs=kept), shapely.Polygon(ring)


def is_bar(opening: shapely.Polygon, body: shapely.Polygon, reach_mm: float) -> bool:
    """Tell whether the body round an opening is mostly a bar that hardware of this reach swings round."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(opening.exterior, _SAMPLE_MM))[:-1])
    return float(np.mean(shapely.distance(points, body.exterior) <= reach_mm)) >= _BAR_SHARE
