"""The solids of a piece that is cut, part by part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..mesh import mesh_pieces
from ..model import Division, Part
from ..polygons import face_down

__all__ = ["parts_by_segment"]


def parts_by_segment(
    parts: Sequence[Part], division: Division, *, mirrored: bool
) -> tuple[tuple[Part, ...], ...]:
    """Return for each segment of a division what of each solid belongs to it, names and places as they are.

    Parameters
    ----------
    parts : sequence of Part
        As printed; the connected bodies of a solid lie in one segment each, since gaps part them.
    division : Division
    mirrored : bool
        Whether they are printed face down.
    """
    outlines = [one.outline for one in division.segments]
    if mirrored:
        outlines = [face_down(one) for one in outlines]
    tree = shapely.STRtree(outlines)
    found: list[list[Part]] = [[] for _ in outlines]
    for part in parts:
        count, body = mesh_pieces(len(part.vertices), part.triangles)
        first = np.unique(body, return_index=True)[1]
        corners = part.vertices[part.triangles[first, 0], :2]
        segment = tree.nearest(shapely.points(corners))
        of_triangle = segment[body]
        assert len(segment) == count
        for index in np.unique(of_triangle).tolist():
            own = part.triangles[of_triangle == index]
            used, triangles = np.unique(own, return_inverse=True)
            solid = replace(
                part,
                vertices=part.vertices[used],
                triangles=triangles.reshape(-1, 3).astype(np.int32),
            )
            found[index].append(solid)
    return tuple(map(tuple, found))
