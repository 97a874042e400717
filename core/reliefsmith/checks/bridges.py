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


def unsupported(over: BaseGeometry, layer: Layer, below: Layer, nozzle_mm: float) -> list[Finding]:
    """Judge the patches of a layer beyond the reach of the layer below.

    A patch inside an opening of the layer below, such as the ceiling of a pocket, is a bridge: its beads are
    held at both ends. Its span is the shorter side of the smallest rectangle round it, or the widest place of
    one that is bent, such as a sunk letter.

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
        span = _span(patch) + 2 * nozzle_mm
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


def _span(patch: shapely.Polygon) -> float:
    """Return the shorter side of the smallest rectangle round a patch, or its widest place if less."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(patch))
    side = float(np.hypot(*np.diff(corners[:3], axis=0).T).min())
    return min(side, 2 * inscribed(patch).radius)
