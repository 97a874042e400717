"""The gap between parts: one width everywhere, through base and motifs, and round keys below the face.

A part that comes earlier keeps its edge; the gap is taken from those after it. Everything is put on the grid
twice: first edges, motifs and keys, then what is drawn at a distance from them, together with them. So only
the far side of a gap is rounded, and its width is off by less than a grid step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...errors import GeometryError
from ...model import Motif
from ...model.arrays import Flags, Shapes
from ...model.plan import in_shapes
from ...polygons import as_multi, faces_by_shape, grow, merged, polygons_of, shrink, union_of_faces, without
from .jointkeys import Key

__all__ = ["Parted", "parted_cells"]


@dataclass(frozen=True, slots=True)
class Parted:
    """Parts with the gap between them, all unions of faces of one coverage.

    Parameters
    ----------
    outlines : tuple of Polygon
        What of the base each part has; keys in it only where they go through the whole height.
    motifs : tuple of Motif
        Cut with the base.
    tabs, sockets : MultiPolygon
        Where keys are, and what stays open round them beyond their own part.
    """

    outlines: tuple[shapely.Polygon, ...]
    motifs: tuple[Motif, ...]
    tabs: shapely.MultiPolygon
    sockets: shapely.MultiPolygon

    @property
    def base(self) -> shapely.MultiPolygon:
        """The base in parts."""
        return as_multi(self.outlines)


def parted_cells(
    cells: Sequence[shapely.Polygon],
    motifs: Sequence[Motif],
    keys: Sequence[Key],
    gap_mm: float,
    *,
    through: bool,
    nozzle_mm: float,
) -> Parted:
    """Part cells by a gap.

    Parameters
    ----------
    cells : sequence of Polygon
        In the order of assembly, a coverage.
    motifs : sequence of Motif
    keys : sequence of Key
    gap_mm : float
    through : bool
        Whether keys go through the whole height; else the outlines are those of the cells.
    nozzle_mm : float
        Strips of motifs along a seam that are narrower are left out.

    Raises
    ------
    GeometryError
        If the gap breaks a part.
    """
    shapes = [*cells, *(item.polygon for item in motifs), *(key.shape for key in keys)]
    faces, inside = faces_by_shape(shapes)
    drawn = [union_of_faces(faces[there]) for there in inside]
    own, shown = drawn[: len(cells)], drawn[len(cells) : len(cells) + len(motifs)]
    tabs = drawn[len(cells) + len(motifs) :]
    bounds = _keyed(own, keys, tabs) if through else own
    far = [_strip(bounds, index, gap_mm) for index in range(len(cells))]
    open_round = [
        without(grow(tab, gap_mm, "miter"), own[key.owner]) for key, tab in zip(keys, tabs, strict=True)
    ]
    groups = (bounds, far, shown, tabs, open_round)
    faces, inside = faces_by_shape([shape for group in groups for shape in group])
    ends = np.cumsum([len(group) for group in groups])
    in_bound, in_far, in_shown, in_tabs, in_open = np.split(inside, ends[:-1])
    in_cell = in_bound & ~in_far
    outlines = tuple(_one(faces[own], number, gap_mm) for number, own in enumerate(in_cell, start=1))
    kept: Flags = np.any(in_cell, axis=0)
    cut = [_printed(faces, own, kept, nozzle_mm) for own in in_shown]
    sockets = union_of_faces(faces[in_open.any(axis=0)])
    return Parted(
        outlines,
        in_shapes(motifs, cut),
        union_of_faces(faces[in_tabs.any(axis=0)]),
        _with_islets(outlines, sockets),
    )


def _with_islets(outlines: Sequence[shapely.Polygon], sockets: shapely.MultiPolygon) -> shapely.MultiPolygon:
    """Return sockets with what they would cut off from the part that they are in."""
    islets: list[shapely.Polygon] = []
    for outline in outlines if not sockets.is_empty else ():
        left = sorted(polygons_of(shapely.difference(outline, sockets)), key=lambda piece: -piece.area)
        islets += left[1:]
    return merged([sockets, *islets]) if islets else sockets


def _keyed(
    cells: Sequence[shapely.MultiPolygon], keys: Sequence[Key], tabs: Sequence[shapely.MultiPolygon]
) -> list[shapely.MultiPolygon]:
    """Return cells with their keys, and without those that reach into them."""
    found = []
    for index, cell in enumerate(cells):
        own = [tab for key, tab in zip(keys, tabs, strict=True) if key.owner == index]
        others = [tab for key, tab in zip(keys, tabs, strict=True) if key.other == index]
        whole = merged([cell, *own]) if own else cell
        found.append(without(whole, merged(others)) if others else whole)
    return found


def _strip(cells: Sequence[shapely.MultiPolygon], index: int, gap_mm: float) -> shapely.MultiPolygon:
    """Return what a cell gives to the gap: what lies near a cell before it."""
    near = [one for one in cells[:index] if shapely.dwithin(one, cells[index], gap_mm)]
    return merged([grow(one, gap_mm, "miter") for one in near]) if near else shapely.MultiPolygon()


def _one(faces: Shapes, number: int, gap_mm: float) -> shapely.Polygon:
    """Return the one piece that a part is; crumbs no wider than the gap are left out."""
    pieces = [piece for piece in polygons_of(union_of_faces(faces)) if not shrink(piece, gap_mm).is_empty]
    if len(pieces) == 1:
        return pieces[0]
    where = ""
    if pieces:
        place = min(pieces, key=lambda piece: piece.area).representative_point()
        where = f" near ({place.x:.1f}, {place.y:.1f}) mm"
    raise GeometryError(f"part {number}{where} falls apart along the cut; cut elsewhere (seams.lines)")


def _printed(faces: Shapes, own: Flags, kept: Flags, nozzle_mm: float) -> shapely.MultiPolygon:
    """Return what of a motif stays: strips beside the gap that no nozzle lays go with it."""
    left = union_of_faces(faces[own & kept])
    if not (own & ~kept).any():
        return left
    gone = union_of_faces(faces[own & ~kept])
    return as_multi(
        [
            piece
            for piece in polygons_of(left)
            if not shapely.dwithin(piece, gone, nozzle_mm) or not shrink(piece, nozzle_mm / 2).is_empty
        ]
    )
