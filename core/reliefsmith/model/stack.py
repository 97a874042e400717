"""Heights on layers: which polygon of which part fills which interval of z."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from ..findings import Finding, Note
from .arrays import Color
from .parts import ColorChange

__all__ = ["Field", "Slab", "Stack"]


@dataclass(frozen=True, slots=True)
class Field:
    """A height for each point of a grid: values (h, w) float32 in mm, row 0 at the smallest y."""

    values: npt.NDArray[np.float32]
    origin_mm: tuple[float, float]
    step_mm: float


@dataclass(frozen=True, slots=True)
class Slab:
    """One prism of one part, from `bottom_mm` up to `top`."""

    part: str
    role: str
    color: Color
    polygon: shapely.Polygon | shapely.MultiPolygon
    bottom_mm: float
    top: float | Field


@dataclass(frozen=True, slots=True)
class Stack:
    """All slabs of the piece and the layer grid they stand on.

    Parameters
    ----------
    slabs : tuple of Slab
        Base first, then motifs in filament order; part names are unique words such as "red-2".
    layer_tops_mm : tuple of float
        Top of each layer, from the first one up.
    color_changes : tuple of ColorChange
        In printing order; empty for one color.
    by_height : bool
        Whether every layer holds one color only, so that no purge is needed.
    """

    slabs: tuple[Slab, ...]
    layer_tops_mm: tuple[float, ...]
    color_changes: tuple[ColorChange, ...]
    by_height: bool
    findings: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
