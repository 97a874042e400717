"""The base about as later stages make it, for judging it before: its slits closed, its pieces linked."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from ...polygons import closed_fills, merged, polygons_of
from ...recipe.sections import PieceSettings, PrinterSettings
from ..links.bars import links_between, spanning_pairs
from .width import SLIT_NOZZLES

__all__ = ["AS_IT_IS", "Foreseen"]

_MOST_PIECES = 40
"""Of more pieces the links are not foreseen: they take long, and lie all over whatever color the base has
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What becomes of the base's outline.

    Parameters
    ----------
    slit_mm : float
        Slits narrower than this close.
    link_mm : float
        Width of the links between its pieces; 0 for none.
    """

    slit_mm: float = 0.0
    link_mm: float = 0.0

    @classmethod
    def of(cls, printer: PrinterSettings, pieces: PieceSettings) -> Foreseen:
        """Return what the recipe makes of it."""
        link_mm = pieces.link_mm if pieces.connect == "links" else 0.0
        return cls(SLIT_NOZZLES * printer.nozzle_mm, link_mm)

    def base(self, shape: shapely.Geometry) -> shapely.Geometry:
        """Return a base as it will be seen from above.

        Examples
        --------
        >>> import shapely
        >>> halves = shapely.MultiPolygon([shapely.box(0, 0, 30, 4), shapely.box(0, 6, 30, 10)])
        >>> [len(polygons_of(Foreseen(0.8, link).base(halves))) for link in (0.0, 3.0)]
        [2, 1]
        """
        if self.slit_mm > 0:
            shape = merged([shape, *closed_fills(shape, self.slit_mm / 2)])
        pieces = polygons_of(shape)
        if self.link_mm == 0.0 or not 1 < len(pieces) <= _MOST_PIECES:
            return shape
        pairs = [(pieces[one], pieces[other]) for one, other in spanning_pairs(pieces)]
        bars = [link.bar for pair in pairs for link in links_between(*pair, self.link_mm)]
        return merged([shape, *bars])


AS_IT_IS = Foreseen()
