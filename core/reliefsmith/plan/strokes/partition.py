"""The sheet that repair works on: every motif color and the ground between them, as one coverage."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from ...polygons import as_multi, merged, noded_coverage, without

__all__ = ["GROUND", "Sheet", "sheet_of"]

GROUND = -1
"""Number of the ground: what no motif covers, inside and outside the base."""

_FRAME_MM = 5.0
"""The ground reaches this far round the motifs, so that a border is never taken for a gap."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Motif colors in register with the ground between and round them.

    Parameters
    ----------
    motifs : tuple of MultiPolygon
    ground : MultiPolygon
        Everything else within `frame`.
    frame : Polygon
        A rectangle well outside of all motifs.
    """

    motifs: tuple[shapely.MultiPolygon, ...]
    ground: shapely.MultiPolygon
    frame: shapely.Polygon

    def entry(self, number: int) -> shapely.MultiPolygon:
        """Return a motif by its number, or the ground."""
        return self.ground if number == GROUND else self.motifs[number]

    def numbers(self) -> list[int]:
        """Return the numbers of all entries: the smallest motif first, the ground last."""
        areas = [motif.area for motif in self.motifs]
        return [*(int(number) for number in np.argsort(areas, kind="stable")), GROUND]

    def with_gain(self, number: int, gain: shapely.Geometry) -> Sheet:
        """Return a sheet in which one entry owns `gain` and no other does."""
        if gain.is_empty:
            return self
        entries = [
            merged([self.entry(index), gain]) if index == number else without(self.entry(index), gain)
            for index in (*range(len(self.motifs)), GROUND)
        ]
        return replace(self, motifs=tuple(entries[:-1]), ground=entries[-1])

    def noded(self) -> Sheet:
        """Return the sheet on the grid, all neighbors sharing vertices."""
        *motifs, ground = noded_coverage([*self.motifs, self.frame])
        return Sheet(tuple(motifs), ground, self.frame)


def sheet_of(motifs: tuple[shapely.MultiPolygon, ...] | list[shapely.MultiPolygon]) -> Sheet:
    """Return the sheet of motif colors that form a coverage."""
    left, low, right, high = shapely.total_bounds(np.asarray(motifs, dtype=object))
    frame = shapely.box(
        np.floor(left) - _FRAME_MM,
        np.floor(low) - _FRAME_MM,
        np.ceil(right) + _FRAME_MM,
        np.ceil(high) + _FRAME_MM,
    )
    covered = shapely.coverage_union_all(list(motifs))
    return Sheet(tuple(motifs), as_multi(frame.difference(covered)), frame)
