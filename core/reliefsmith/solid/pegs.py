"""Pegs that set two plates on each other: where there is room for them, how thick, how long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..findings import Finding, finding
from ..model.arrays import Floats
from ..polygons import as_multi, disc, shrink, snapped
from .layergrid import LayerGrid

__all__ = ["Pegs", "peg_findings", "pegs_in"]

DIAMETERS_MM = (4.0, 3.0, 2.0)
"""Tried from the thickest: under 2 mm a peg shears off when the plates are pressed together
(common practice, no source)."""

CLEARANCE_MM = 0.1
"""Between peg and hole on each side: a press fit (common practice, no source)."""

PEG_WALL_MM = 0.8
"""Least plastic round the hole of a peg: two beads."""

CLOSED_MM = 0.4
"""Least floor below the hole of a peg, so that the back stays plain: two usual layers."""

LONGEST_MM = 2.0
"""A longer peg holds no better."""

MOST = 3
APART = 3.0
"""Pegs stand apart by this many diameters at least; nearer ones set no direction."""

_EQUAL_MM = 1e-6
_NOTHING = shapely.MultiPolygon()


@dataclass(frozen=True, slots=True)
class Pegs:
    """Pegs on the front plate and their holes in the back plate; none where there is no room."""

    pegs: shapely.MultiPolygon = _NOTHING
    holes: shapely.MultiPolygon = _NOTHING
    count: int = 0
    diameter_mm: float = 0.0
    layers: int = 0
    hole_layers: int = 0
    clearance_mm: float = CLEARANCE_MM


def pegs_in(contact: shapely.MultiPolygon, grid: LayerGrid, *, back_layers: int) -> Pegs:
    """Place up to three pegs as far from each other as there is room.

    Parameters
    ----------
    contact : MultiPolygon
        Where the plates lie on each other.
    grid : LayerGrid
    back_layers : int
        Layers of the back plate, into which the holes go; two of them, or 0.4 mm, stay closed. Holes are one
        layer deeper than pegs are long, where there is room.
    """
    depth = min(back_layers - max(grid.count(CLOSED_MM), 1), grid.count(LONGEST_MM))
    if depth < 1:
        return Pegs()
    for diameter in DIAMETERS_MM:
        room = shrink(contact, diameter / 2 + CLEARANCE_MM + PEG_WALL_MM)
        places = _spread(room, APART * diameter)
        if len(places) > 1:
            pegs, holes = (_discs(places, diameter / 2 + more) for more in (0.0, CLEARANCE_MM))
            return Pegs(pegs, holes, len(places), diameter, max(depth - 1, 1), depth)
    return Pegs()


def peg_findings(pegs: Pegs) -> tuple[Finding, ...]:
    """Say where there is no room for pegs."""
    if pegs.count:
        return ()
    words = (
        f"There is no room for two pegs of {DIAMETERS_MM[-1]:g} mm, so only the floors in their recesses set"
        " the plates on each other; a wider border or a higher base gives room."
    )
    return (finding("pegs-missing", words),)


def _spread(room: shapely.MultiPolygon, apart_mm: float) -> list[tuple[float, float]]:
    """Return up to three corners of a shape, each as far as can be from those before it."""
    corners = np.unique(snapped(shapely.get_coordinates(room)), axis=0)
    if len(corners) == 0:
        return []
    middle = corners.mean(axis=0)
    chosen = [_farthest(corners, [middle])]
    while len(chosen) < MOST:
        place = _farthest(corners, chosen)
        if min(np.hypot(*(place - other)) for other in chosen) < apart_mm - _EQUAL_MM:
            break
        chosen.append(place)
    return [(float(x), float(y)) for x, y in chosen]


def _farthest(
    corners: Floats,
    places: list[Floats],
) -> Floats:
    """Return the corner whose nearest place is farthest; of equal ones the first by x, then y."""
    gaps = np.min([np.hypot(*(corners - place).T) for place in places], axis=0)
    best: Floats = corners[int(np.argmax(np.round(gaps, 6)))]
    return best


def _discs(places: list[tuple[float, float]], radius: float) -> shapely.MultiPolygon:
    rings = [snapped(shapely.get_coordinates(disc(x, y, radius))) for x, y in places]
    return as_multi([shapely.Polygon(ring) for ring in rings])
