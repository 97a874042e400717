"""Keys of a piece that is cut: tabs in the lowest layers of its base, sockets below the other parts for them.

The face shows straight seams only: over a socket lies a roof of the other part, which is set down on the tab.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from ..errors import GeometryError
from ..model import Division, Slab
from ..model.arrays import Flags
from ..polygons import as_single, faces_by_shape, union_of_faces
from ..recipe.sections import HeightSettings
from .layergrid import SAME_MM, LayerGrid
from .levels import Levels

__all__ = ["jointed"]

ROOF_MM = 0.6
"""Least roof over a socket: three usual layers, which bridge its width (common practice, no source)."""

LEAST_TAB_MM = 0.6
"""A lower tab shears off (common practice, no source)."""


def jointed(levels: Levels, division: Division | None, grid: LayerGrid, heights: HeightSettings) -> Levels:
    """Return levels whose base has the keys of a piece that is cut; one layer stays free over each tab.

    Raises
    ------
    GeometryError
        If the base is too low for a tab, a free layer and a roof.
    """
    if division is None or division.tabs.is_empty:
        return levels
    shapes = [*(slab.polygon for slab in levels.slabs), division.tabs, division.sockets]
    faces, (*own, in_tab, in_socket) = faces_by_shape(shapes)
    tab_to, open_to = _heights(levels, own, in_socket, grid)
    if tab_to < LEAST_TAB_MM - SAME_MM:
        least = heights.base_mm + LEAST_TAB_MM - tab_to
        raise GeometryError(
            f"the base is too low for keys below the face; set heights.base_mm to {least:.1f} mm or more, or"
            " seams.joint to plain"
        )
    slabs: list[Slab] = []
    for slab, there in zip(levels.slabs, own, strict=True):
        if slab.part != "base":
            slabs.append(replace(slab, polygon=as_single(union_of_faces(faces[there]))))
            continue
        inner = [high for high in (tab_to, open_to) if slab.bottom_mm < high < slab.upright_mm]
        for low, high in pairwise([slab.bottom_mm, *inner, slab.upright_mm]):
            kept = there & ~in_socket if high <= open_to else there
            kept = kept | in_tab if high <= tab_to else kept
            slabs.append(
                replace(slab, polygon=as_single(union_of_faces(faces[kept])), bottom_mm=low, top=high)
            )
    return replace(levels, slabs=tuple(slabs))


def _heights(levels: Levels, own: Sequence[Flags], in_socket: Flags, grid: LayerGrid) -> tuple[float, float]:
    """Return up to which height tabs reach, and sockets: a roof below the plain base's top."""
    plain = [
        slab.upright_mm if slab.part == "base" and slab.bottom_mm == 0 else slab.bottom_mm
        for slab, there in zip(levels.slabs, own, strict=True)
        if (there & in_socket).any()
    ]
    most = min(plain) - ROOF_MM + SAME_MM
    open_layers = sum(grid.top_mm(layer) <= most for layer in range(1, levels.layers + 1))
    return grid.top_mm(max(open_layers - 1, 0)), grid.top_mm(open_layers)
