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
    piece : tuple of Slab
        The finished piece with its front up, in the artwork's frame, where the slabs lie otherwise on the
        bed: turned over, or in two plates. Empty where the slabs are the piece.
    jobs : tuple of tuple of str
        Parts of each print, where colors or plates are printed one after another; empty for one print.
    back_at_mm : (float, float) or None
        How far the back plate was moved beside the front plate; None for a piece of one plate.
    """

    slabs: tuple[Slab, ...]
    layer_tops_mm: tuple[float, ...]
    color_changes: tuple[ColorChange, ...]
    by_height: bool
    findings: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
    piece: tuple[Slab, ...] = ()
    jobs: tuple[tuple[str, ...], ...] = ()
    back_at_mm: tuple[float, float] | None = None

    @property
    def seen(self) -> tuple[Slab, ...]:
        """The finished piece with its front up, in the artwork's frame."""
        return self.piece or self.slabs

    @property
    def piece_size_mm(self) -> tuple[float, float, float] | None:
        """Width, depth and height of the finished piece; None where the slabs are the piece."""
        if not self.piece:
            return None
        x0, y0, x1, y1 = shapely.total_bounds([slab.polygon for slab in self.piece]).tolist()
        return (x1 - x0, y1 - y0, max(slab.top for slab in self.piece if isinstance(slab.top, float)))

    def on_piece(self, at_mm: tuple[float, float, float]) -> tuple[float, float, float]:
        """Return a place on the bed as one on the finished piece, front up, in the artwork's frame.

        Examples
        --------
        >>> slab = Slab("base", "base", (0, 0, 0), shapely.box(0, 0, 4, 2), 0.0, 1.0)
        >>> Stack((slab,), (1.0,), (), True, piece=(slab,)).on_piece((-3.0, 1.0, 0.0))
        (3.0, 1.0, 1.0)
        """
        x, y, z = at_mm
        size = self.piece_size_mm
        if size is None:
            return at_mm
        if self.back_at_mm is not None and self._is_beside(x, y):
            return (x - self.back_at_mm[0], y - self.back_at_mm[1], z)
        return (-x + 0.0, y, round(size[2] - z, 6))

    def _is_beside(self, x: float, y: float) -> bool:
        """Tell whether a place lies on the back plate, beyond the far edges of the front plate."""
        assert self.back_at_mm is not None
        front = shapely.total_bounds([slab.polygon for slab in self.slabs if slab.part == "base"])
        return bool(x > front[2] if self.back_at_mm[0] > 0 else y > front[3])
