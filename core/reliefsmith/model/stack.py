"""Heights on layers: which polygon of which part fills which interval of z."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from ..findings import Finding, Note
from .arrays import Area, ByContent, Color, Floats
from .parts import ColorChange

__all__ = ["Contours", "Field", "Sculpted", "Slab", "Stack"]


@dataclass(frozen=True, slots=True, eq=False)
class Field(ByContent):
    """A height for each point of a grid: values (h, w) float32 in mm, row 0 at the smallest y.

    Walls stand upright up to `edge_mm`, which is the least of the values where it is not given.
    """

    values: npt.NDArray[np.float32]
    origin_mm: tuple[float, float]
    step_mm: float
    edge_mm: float | None = None

    @property
    def upright_mm(self) -> float:
        """Up to which height walls stand upright."""
        return float(self.values.min()) if self.edge_mm is None else self.edge_mm

    @property
    def places(self) -> Floats:
        """Places (h w, 2) of the points in mm, row by row."""
        x, y = np.meshgrid(*self.lines)
        return np.column_stack([x.reshape(-1), y.reshape(-1)])

    @property
    def lines(self) -> tuple[Floats, Floats]:
        """Where in mm the columns (w,) and the rows (h,) lie."""
        rows, columns = self.values.shape
        x, y = np.arange(columns, dtype=np.float64), np.arange(rows, dtype=np.float64)
        return x * self.step_mm + self.origin_mm[0], y * self.step_mm + self.origin_mm[1]

    def at(self, places: Floats) -> Floats:
        """Return the heights (n,) at places (n, 2) in mm, bilinear between the points of the grid.

        Examples
        --------
        >>> ramp = Field(np.array([[0, 1], [0, 1]], dtype=np.float32), (0.0, 0.0), 2.0)
        >>> ramp.at(np.array([[0.5, 1.0], [9.0, 0.0]])).tolist()
        [0.25, 1.0]
        """
        last = np.array(self.values.shape[::-1]) - 1
        steps = np.clip((places - self.origin_mm) / self.step_mm, 0, last)
        cell = np.minimum(steps.astype(np.intp), np.maximum(last - 1, 0))
        (right, up), (column, row) = (steps - cell).T, cell.T
        next_column, next_row = np.minimum(column + 1, last[0]), np.minimum(row + 1, last[1])
        values = self.values.astype(np.float64)
        # Differences from one corner: equal values at all corners give just that value.
        low = values[row, column]
        along = (values[row, next_column] - low) * right
        high = values[next_row, column]
        found = low + along
        found += ((high - low) + (values[next_row, next_column] - high) * right - along) * up
        return np.asarray(found, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Contours:
    """A sloped top: what lies within each contour is at its height or above, with slopes in between.

    Parameters
    ----------
    shapes : tuple of MultiPolygon
        On the grid, each within the one before, without touching it; the first is the outline of the slab.
    levels_mm : tuple of float
        Rising heights of the shapes; walls stand upright up to the first. The first two may be the same: a
        level rim round the slope.
    """

    shapes: tuple[shapely.MultiPolygon, ...]
    levels_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Sculpted:
    """A generated top with hand relief on it; walls end wherever the relief does.

    Parameters
    ----------
    plain : float, Field or Contours
        The top as generated.
    hand : Field
        Heights above it, 0 where the hand left it.
    ground : MultiPolygon
        Where it lies; elsewhere the generated top stays: something stands there, or nothing was sculpted.
    floor_mm : float
        Below this it is not carved; what was generated lower stays.
    lowest_mm, highest_mm : float
        Between which heights it lies.
    even : bool
        Whether it has all points of its lattice, also where it is level: a skin for a brush.
    """

    plain: float | Field | Contours
    hand: Field
    ground: shapely.MultiPolygon
    floor_mm: float
    lowest_mm: float
    highest_mm: float
    even: bool = False

    def raised(self, places: Floats, plain_mm: Floats | float) -> Floats:
        """Return the heights (n,) at places (n, 2) in mm whose generated heights are given."""
        bottom = np.minimum(plain_mm, self.floor_mm)
        return np.clip(plain_mm + self.hand.at(places), bottom, self.highest_mm)

    def counted_from(self, level_mm: float) -> Sculpted:
        """Return the same top with its heights counted from a level: equal for tops that differ in that only.

        A floor that the relief does not come down to is none.
        """
        plain = self.plain
        if isinstance(plain, float):
            plain = round(plain - level_mm, 6)
        elif isinstance(plain, Contours):
            plain = replace(plain, levels_mm=tuple(round(level - level_mm, 6) for level in plain.levels_mm))
        else:
            values = (plain.values.astype(np.float64) - level_mm).astype(np.float32)
            plain = replace(plain, values=values, edge_mm=round(plain.upright_mm - level_mm, 6))
        floor, lowest, highest = (
            round(height - level_mm, 6) for height in (self.floor_mm, self.lowest_mm, self.highest_mm)
        )
        deepest = min(float(self.hand.values.min()), 0.0)
        return replace(self, plain=plain, floor_mm=max(floor, deepest), lowest_mm=lowest, highest_mm=highest)


@dataclass(frozen=True, slots=True)
class Slab:
    """One piece of one part, from `bottom_mm` up to `top`: a prism where that is a number."""

    part: str
    role: str
    color: Color
    polygon: Area
    bottom_mm: float
    top: float | Field | Contours | Sculpted

    @property
    def highest_mm(self) -> float:
        """Height of the highest point.

        Examples
        --------
        >>> Slab("red", "motif", (211, 32, 32), shapely.box(0, 0, 4, 2), 2.0, 2.6).highest_mm
        2.6
        """
        if isinstance(self.top, Contours):
            return self.top.levels_mm[-1]
        if isinstance(self.top, Sculpted):
            return self.top.highest_mm
        return float(self.top.values.max()) if isinstance(self.top, Field) else self.top

    @property
    def upright_mm(self) -> float:
        """Up to which height it is a prism."""
        return self.top.lowest_mm if isinstance(self.top, Sculpted) else self.rim_mm

    @property
    def plain_top(self) -> float | Field | Contours:
        """The top as generated, without hand relief."""
        return self.top.plain if isinstance(self.top, Sculpted) else self.top

    @property
    def rim_mm(self) -> float:
        """Up to which height its walls were generated."""
        plain = self.plain_top
        if isinstance(plain, Contours):
            return plain.levels_mm[0]
        return plain.upright_mm if isinstance(plain, Field) else plain

    def turned_over(self, height_mm: float) -> Slab:
        """Return it with below and above exchanged within a height, rounded so that equal heights stay so."""
        bottom, top = round(height_mm - self.highest_mm, 6), round(height_mm - self.bottom_mm, 6)
        return replace(self, bottom_mm=bottom, top=top)


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
    style : str
        How motifs stand in the base.
    style_reason : str
        Why this style was taken; empty where the recipe asked for it.
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
    style: str = "raised"
    style_reason: str = ""

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
        return (x1 - x0, y1 - y0, max(slab.highest_mm for slab in self.piece))

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
