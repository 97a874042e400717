"""Speckled pictures: what no nozzle can print is merged into its neighbors before anything costly is done."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ...errors import GeometryError
from ...findings import Note, note
from ...polygons import polygons_of, shared_lengths, union_of_faces

__all__ = ["without_specks"]

SPECK_MM2 = 0.04
"""A square of half the usual nozzle's width: repair would give it away in the end."""

_FEW = 100
"""Up to this many specks are left to repair, which looks at each and notes its place."""

_MOST_VERTICES, _MOST_PIECES = 150_000, 4_000
"""Far beyond any drawing: traced pictures have some 5,000 points, sheets of 36 artworks 100,000. Planning
would take minutes, and strokes would be lost in it."""


def without_specks(
    polygons: Sequence[shapely.MultiPolygon], width: float, kept: Sequence[BaseGeometry] = ()
) -> tuple[tuple[shapely.MultiPolygon, ...], tuple[Note, ...]]:
    """Merge specks of a speckled picture into the neighbors with the longest shared boundary.

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
        The same polygons where there are few specks. Specks beside the background only are left out.

    Raises
    ------
    GeometryError
        If what is left is still too intricate to plan.
    """
    parts = [polygons_of(polygon) for polygon in polygons]
    pieces = np.asarray([piece for group in parts for piece in group], dtype=object)
    owner = np.repeat(np.arange(len(parts)), [len(group) for group in parts])
    specks = shapely.area(pieces) < SPECK_MM2
    for zone in kept:
        specks &= ~shapely.intersects(zone, shapely.point_on_surface(pieces))
    notes: tuple[Note, ...] = ()
    if np.count_nonzero(specks) > _FEW:
        owner = _merged_owners(pieces, owner, specks)
        polygons = tuple(union_of_faces(pieces[owner == index]) for index in range(len(parts)))
        words = f"{np.count_nonzero(specks)} specks under {SPECK_MM2:g} mm2 were given to their neighbors."
        notes = (note("area-removed", words),)
    vertices = int(shapely.get_num_coordinates(np.asarray(polygons, dtype=object)).sum())
    count = sum(len(polygon.geoms) for polygon in polygons)
    if vertices > _MOST_VERTICES or count > _MOST_PIECES:
        raise GeometryError(
            f"the artwork has {count} areas with {vertices} points on {width:.0f} mm, too intricate to print;"
            " use fewer colors, more smoothing, or a calmer picture"
        )
    return tuple(polygons), notes


def _merged_owners(
    pieces: np.ndarray[tuple[int], np.dtype[np.object_]],
    owner: np.ndarray[tuple[int], np.dtype[np.int64]],
    specks: np.ndarray[tuple[int], np.dtype[np.bool_]],
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
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
