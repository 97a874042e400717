"""What a layer lays over nothing: bridges that are held all round, and overhangs that are not."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..polygons import inscribed, openings, polygons_of
from .layerstack import Layer

__all__ = ["LONGEST_BRIDGE_MM", "OVERHANG_MM2", "unsupported"]

OVERHANG_MM2 = 0.25
"""Smaller patches beyond the reach of the layer below are bridged by a single bead."""

LONGEST_BRIDGE_MM = 10.0
"""Beads sag over a wider gap (common practice, no source)."""

_NEAR_MM = 0.02
"""Ends of beads on a round wall lie so much farther from it than its chords."""


def unsupported(over: BaseGeometry, layer: Layer, below: Layer, nozzle_mm: float) -> list[Finding]:
    """Judge the patches of a layer beyond the reach of the layer below.

    A patch inside an opening of the layer below, such as the ceiling of a pocket, is a bridge: its beads are
    held at both ends. Its span is the shorter side of the smallest rectangle round it, or the widest place of
    one that is bent, such as a sunk letter. So is one between two walls, open at an end, such as the ceiling
    of a socket: its span is the longest bead from wall to wall.

    Parameters
    ----------
    over : geometry
        What lies more than the nozzle's width beyond the layer below.
    layer, below : Layer
    nozzle_mm : float
    """
    patches = [patch for patch in polygons_of(over) if patch.area > OVERHANG_MM2]
    if not patches:
        return []
    gaps = np.asarray(openings(below.union), dtype=object)
    found = []
    for patch in patches:
        held = len(gaps) > 0 and bool(shapely.covers(gaps, patch).any())
        between = None if held else _from_wall_to_wall(patch, below.union, nozzle_mm)
        held = held or between is not None
        span = (between or _span(patch)) + 2 * nozzle_mm
        if held and span <= LONGEST_BRIDGE_MM:
            continue
        place = patch.representative_point()
        at = (round(place.x, 2), round(place.y, 2), round(layer.bottom_mm, 3))
        if held:
            words = f"Layer {layer.first} bridges {span:.1f} mm; over {LONGEST_BRIDGE_MM:g} mm beads sag."
            found.append(finding("long-bridge", words, at))
        else:
            words = f"Layer {layer.first} reaches {patch.area:.1f} mm2 beyond the layer below."
            found.append(finding("overhang", words, at))
    return found


def _from_wall_to_wall(patch: shapely.Polygon, below: BaseGeometry, nozzle_mm: float) -> float | None:
    """Return the longest of parallel beads over a patch whose ends all lie at the layer below, else None.

    Beads run along a side of the smallest rectangle round the patch, whichever side needs the shorter ones.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(patch))
    lengths = []
    for start, end, across in ((0, 1, 3), (0, 3, 1)):
        count = max(2, int(np.hypot(*(corners[across] - corners[0])) / nozzle_mm) + 1)
        shares = (np.arange(count) + 0.5) / count
        begins = corners[start] + shares[:, None] * (corners[across] - corners[0])
        lines = shapely.linestrings(np.stack([begins, begins + corners[end] - corners[start]], axis=1))
        beads = shapely.get_parts(shapely.intersection(lines, patch))
        beads = beads[shapely.length(beads) > 0]
        ends = shapely.get_point(beads, np.repeat([[0], [-1]], len(beads), axis=1))
        if len(beads) and (shapely.distance(ends, below) <= nozzle_mm + _NEAR_MM).all():
            lengths.append(float(shapely.length(beads).max()))
    return min(lengths, default=None)


def _span(patch: shapely.Polygon) -> float:
    """Return the shorter side of the smallest rectangle round a patch, or its widest place if less."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(patch))
    side = float(np.hypot(*np.diff(corners[:3], axis=0).T).min())
    return min(side, 2 * inscribed(patch).radius)
