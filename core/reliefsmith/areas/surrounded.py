"""Ground that belongs to the picture though the art does not quite enclose it: pockets and channels.

A face drawn with a pen that did not close its outline has paper inside, and the white stripe of a waving flag
lies between two of its stripes. Both hang together with the ground outside, by a mouth that is narrow for
what lies behind it. Taken for outside they would be air, with links across.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from ..model import TracedAreas
from ..polygons import (
    as_multi,
    merged,
    noded_coverage,
    openings,
    polygons_of,
    union_of_faces,
)
from ..progress import Progress, Steps, drained
from ..recipe.sections import BackgroundSettings, ColorSettings

__all__ = ["surround", "surround_steps", "surrounded"]

NARROW = 3.0
"""A mouth is narrow where the pocket behind it is this many times as wide; a channel is long where it is this
many times as long as wide. With 3 the rule takes 11 of 144 open artworks: rails, stripes of a tank, a dashed
frame, the streams of a fountain."""

NEAR_SHARE = 1 / 35
"""Of the longest side: pieces nearer than this are one. Of a piece of 70 mm it is 2 mm, which two borders of
1 mm close."""

WIDEST_SHARE = 1 / 4
"""Of the longest side: a wider mouth or channel is ground between things, whatever its length. The middle of
three stripes of a flag of 2 : 3 is 2 / 9."""

WIDTHS = 9
"""So many widths of mouths and channels are tried, each 1.4 times the one before."""

_EXACT_SHARE = 1e-3
"""Of the longest side: so far art is simplified while it is looked at, .07 mm of 70."""
_ARC = 8
"""Segments of a quarter circle. Art is grown from one width to the next, which dissolves what overlaps."""
_SURELY = 1.02
"""What is just as wide as a width that is tried closes in part: what is found is taken a little wider."""
_MOST_PIECES = 40
"""Art in more pieces is a pattern; what lies between them is its ground."""


def surround_steps(
    areas: TracedAreas, *, background: BackgroundSettings, flat_colors: ColorSettings
) -> Steps[TracedAreas]:
    """Add to enclosed ground what the art all but encloses; `open` marks and the setting take it out.

    Parameters
    ----------
    areas : TracedAreas
    background : BackgroundSettings
        Nothing is added where enclosed ground is to be open, or the background was picked.
    flat_colors : ColorSettings
        Nothing is added where colors are left out: what they were may be open.

    Returns
    -------
    TracedAreas
        A valid coverage again; where anything was added its points lie on a thousandth of a pixel.
    """
    yield Progress("looking for ground that is the picture's", 0.0)
    by_hand = background.enclosed == "remove" or background.color != "auto" or bool(flat_colors.omit)
    if areas.ground is None or by_hand:
        return areas
    found = surrounded(union_of_faces(areas.polygons))
    if found.is_empty:
        return areas
    if areas.enclosed is None:
        ground = np.array(areas.ground, dtype=np.uint8)
        colors, pieces, enclosed = np.vstack([areas.colors, ground]), [*areas.polygons], len(areas.polygons)
        pieces.append(found)
    else:
        colors, pieces, enclosed = areas.colors, [*areas.polygons], areas.enclosed
        pieces[enclosed] = as_multi([*polygons_of(pieces[enclosed]), *polygons_of(found)])
    return replace(areas, polygons=noded_coverage(pieces), colors=colors, enclosed=enclosed)


surround = drained(surround_steps)


def surrounded(art: shapely.MultiPolygon) -> shapely.MultiPolygon:
    """Return the ground in pockets of the art, and in channels between its pieces.

    Parameters
    ----------
    art : MultiPolygon
        Enclosed ground included, in any unit: the rule goes by proportions.

    Notes
    -----
    For each width w of a mouth: art grown by w / 2 closes every mouth up to w. Ground that this encloses is a
    pocket if the largest disc in it is three times as wide as the mouth. What the closing by w / 2 adds
    between two pieces is a channel if its area is that of three squares as wide as it.

    Examples
    --------
    >>> ring = shapely.Point(0, 0).buffer(30).difference(shapely.Point(0, 0).buffer(27))
    >>> open_ring = ring.difference(shapely.box(20, -2, 40, 2))
    >>> round(surrounded(as_multi(open_ring)).area / shapely.Point(0, 0).buffer(27).area, 2)
    1.0
    >>> stripes = shapely.MultiPolygon([shapely.box(0, 0, 60, 10), shapely.box(0, 20, 60, 30)])
    >>> round(surrounded(stripes).area, -1)
    600.0
    >>> surrounded(as_multi(shapely.box(0, 0, 60, 30))).is_empty
    True
    """
    if art.is_empty:
        return art
    left, low, right, high = art.bounds
    longest = max(right - left, high - low)
    exact = _EXACT_SHARE * longest
    plain = shapely.simplify(art, exact)
    holes = shapely.MultiPolygon(openings(plain))
    shapely.prepare(holes)
    pieces = _pieces(plain, NEAR_SHARE * longest)
    found = shapely.MultiPolygon()
    grown, before = plain, 0.0
    for radius in (np.geomspace(NEAR_SHARE / 4, WIDEST_SHARE / 2, WIDTHS) * longest).tolist():
        fresh: list[shapely.MultiPolygon] = []
        for width in (radius, _SURELY * radius):
            grown = shapely.simplify(shapely.buffer(grown, width - before, quad_segs=_ARC), exact / 10)
            before = width
            new = [*_pockets(grown, holes, width), *_channels(grown, plain, pieces, width)]
            fresh = [part for part in new if not part.intersects(found)]
            if not fresh:
                break
        found = merged([found, *(_up_to(art, part, 2 * exact) for part in fresh)]) if fresh else found
    return found


def _pieces(art: shapely.Geometry, near: float) -> list[shapely.Geometry]:
    """Return the pieces of the art, those near each other as one; none where they are too many, or one."""
    grown = polygons_of(shapely.buffer(art, near / 2, quad_segs=_ARC))
    return list(grown) if 1 < len(grown) <= _MOST_PIECES else []


def _pockets(
    grown: shapely.Geometry, holes: shapely.Geometry, radius: float
) -> Iterator[shapely.MultiPolygon]:
    """Yield the ground behind each narrow mouth that growing by a radius closed."""
    least = (NARROW - 1) * radius
    for hole in openings(grown):
        if hole.area < math.pi * least**2 or holes.contains(hole.representative_point()):
            continue
        if _holds_disc(hole, least):
            yield as_multi(shapely.buffer(hole, radius))


def _channels(
    grown: shapely.Geometry, art: shapely.Geometry, pieces: list[shapely.Geometry], radius: float
) -> Iterator[shapely.MultiPolygon]:
    """Yield the ground in each long channel between two pieces that growing by a radius closed."""
    if not pieces:
        return
    for part in polygons_of(shapely.buffer(grown, -radius).difference(art)):
        between = int(shapely.intersects(part, pieces).sum()) > 1
        if between and not _holds_disc(part, math.sqrt(part.area / NARROW) / 2):
            yield as_multi(part)


def _holds_disc(part: shapely.Polygon, radius: float) -> bool:
    """Return whether a disc lies in a part: a tenth of the work of looking for the largest one."""
    return not shapely.buffer(part, -radius, quad_segs=_ARC).is_empty


def _up_to(art: shapely.MultiPolygon, part: shapely.MultiPolygon, over: float) -> shapely.MultiPolygon:
    """Return a part of the ground up to the art's own boundary, its mouths closed by straight lines."""
    mouths = shapely.get_parts(shapely.line_merge(part.boundary.difference(shapely.buffer(art, over))))
    lids = [shapely.make_valid(shapely.Polygon(line.coords)) for line in mouths if len(line.coords) > 2]
    ground = polygons_of(shapely.buffer(merged([part, *lids]), over).difference(art))
    within = shapely.buffer(part, -over)
    return as_multi([piece for piece in ground if piece.intersects(within)])
