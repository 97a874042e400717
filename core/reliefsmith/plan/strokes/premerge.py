"""Before anything is planned: specks go to their neighbors, and hairlines on the background are left out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ...errors import GeometryError
from ...findings import Note, count_words, note
from ...model.arrays import Flags, Ints, Shapes
from ...polygons import polygons_of, shared_lengths, union_of_faces

__all__ = ["without_specks"]

SPECK_MM2 = 0.04
"""A square of half the usual nozzle's width: repair would give it away in the end."""

HAIRLINE_MM = 0.05
"""An eighth of the usual nozzle's width. Thinner lines, as of ruled paper, are not thickened, so nothing has
to carry them."""

_BESIDE_SHARE = 0.25
"""A line with less of its boundary beside other areas lies on the background."""

_FEW = 100
"""Up to this many specks are left to repair, which looks at each and notes its place."""

_MOST_VERTICES, _MOST_PIECES = 150_000, 4_000
"""Far beyond any drawing: traced pictures have some 5,000 points, sheets of 36 artworks 100,000. Planning
would take minutes, and strokes would be lost in it."""


def without_specks(
    polygons: Sequence[shapely.MultiPolygon], width: float, kept: Sequence[shapely.Geometry] = ()
) -> tuple[tuple[shapely.MultiPolygon, ...], tuple[Note, ...]]:
    """Merge specks of a speckled picture into the neighbors with the longest shared boundary; drop hairlines.

    Parameters
    ----------
    polygons : sequence of MultiPolygon
        One for each color, a valid coverage on the grid.
    width : float
        Of the artwork in mm, for the message.
    kept : sequence of geometries
        What meets one of these is no speck.

    Returns
    -------
    (tuple of MultiPolygon, tuple of Note)
        The same polygons where there are few specks and no hairlines. Specks beside the background only are
        left out.

    Raises
    ------
    GeometryError
        If what is left is still too intricate to plan.
    """
    parts = [polygons_of(polygon) for polygon in polygons]
    pieces = np.asarray([piece for group in parts for piece in group], dtype=object)
    owner = np.repeat(np.arange(len(parts)), [len(group) for group in parts])
    specks = shapely.area(pieces) < SPECK_MM2
    hairlines = _hairlines(pieces)
    for zone in kept:
        outside = ~shapely.intersects(zone, shapely.point_on_surface(pieces))
        specks, hairlines = specks & outside, hairlines & outside
    words: list[str] = []
    if hairlines.any():
        owner[hairlines] = -1
        some = count_words(int(hairlines.sum()), "piece")
        words.append(f"{some} thinner than {HAIRLINE_MM:g} mm on the background left out.")
    if np.count_nonzero(specks) > _FEW:
        owner = _merged_owners(pieces, owner, specks)
        words.append(
            f"{np.count_nonzero(specks)} specks under {SPECK_MM2:g} mm2 were given to their neighbors."
        )
    if words:
        polygons = tuple(union_of_faces(pieces[owner == index]) for index in range(len(parts)))
    vertices = int(shapely.get_num_coordinates(np.asarray(polygons, dtype=object)).sum())
    count = sum(len(polygon.geoms) for polygon in polygons)
    if vertices > _MOST_VERTICES or count > _MOST_PIECES:
        raise GeometryError(
            f"the artwork has {count} areas with {vertices} points on {width:.0f} mm, too intricate to print;"
            " use fewer colors, more smoothing, or a calmer picture"
        )
    return tuple(polygons), tuple(note("area-removed", said) for said in words)


def _hairlines(
    pieces: Shapes,
) -> Flags:
    """Return which pieces are hairlines on the background; none where there is nothing else."""
    length = shapely.length(pieces)
    thin = 2 * shapely.area(pieces) < HAIRLINE_MM * length
    if not thin.any() or thin.all():
        return np.zeros(len(pieces), dtype=bool)
    beside = np.zeros(len(pieces))
    for one, other, shared in shared_lengths(list(pieces)):
        beside[[int(one), int(other)]] += shared
    return np.asarray(thin & (beside < _BESIDE_SHARE * length))


def _merged_owners(
    pieces: Shapes,
    owner: Ints,
    specks: Flags,
) -> Ints:
    """Return the owners after every speck went to the piece beside it, no speck, with the longest boundary.

    What touches specks or background only becomes background, -1.
    """
    table = shared_lengths(list(pieces))
    ends = np.concatenate([table[:, :2], table[:, 1::-1]]).astype(np.int64)
    length = np.concatenate([table[:, 2], table[:, 2]])
    wanted = specks[ends[:, 0]] & ~specks[ends[:, 1]]
    here, there, length = ends[wanted, 0], ends[wanted, 1], length[wanted]
    order = np.lexsort((there, length))  # the longest boundary is written last
    merged = owner.copy()
    merged[specks] = -1
    merged[here[order]] = owner[there[order]]
    return merged
