"""What hand relief costs in color changes, and where it is too narrow to print."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import shapely

from ..findings import Finding, finding
from ..model import Field, Sculpted, Slab, Stack
from ..model.arrays import Color
from ..polygons import nodes_within
from ..recipe.sections import PrinterSettings
from .changes import Schedule, hand_loads, schedule
from .estimate import colors_by_layer
from .layerstack import in_printing_order, layers_of_stack

__all__ = ["hand_changes", "hand_thin"]

_KEPT = 16
"""Reliefs that are remembered, of two pieces and more: another height leaves them as wide as they are."""

_LEAST_NOZZLES = 2
"""Narrow places count from an area of so many squares as wide as the nozzle."""


def hand_changes(
    stack: Stack, colors: dict[str, Color], order: Schedule, printer: PrinterSettings
) -> tuple[Finding, ...]:
    """Return a finding where hand relief makes more color changes than the tops as generated.

    Parameters
    ----------
    stack : Stack
    colors : dict of part name -> color
    order : Schedule
        Of the piece as it is.
    printer : PrinterSettings
    """
    sculpted = [slab.part for slab in stack.slabs if isinstance(slab.top, Sculpted)]
    if not sculpted:
        return ()
    plain = replace(stack, slabs=tuple(replace(slab, top=slab.plain_top) for slab in stack.slabs))
    layers = in_printing_order(layers_of_stack(plain), stack.jobs)
    before = schedule(colors_by_layer(layers, colors))
    more = order.changes - before.changes
    if more <= 0:
        return ()
    by_hand = hand_loads(order.colors, printer.filaments) - hand_loads(before.colors, printer.filaments)
    parts = ", ".join(dict.fromkeys(sculpted))
    words = (
        f"Hand relief on {parts} lies in layers of other colors: {more} more color changes,"
        f" {order.changes} instead of {before.changes}, {max(by_hand, 0)} more by hand."
    )
    return (finding("hand-changes", words),)


def hand_thin(slab: Slab, nozzle_mm: float, layer_mm: float) -> tuple[Finding, ...]:
    """Find walls and points of hand relief on a slab that are narrower than the nozzle lays.

    They are what an opening of the heights by a disc as wide as the nozzle takes away, if it is more than a
    layer (grey-scale opening, Serra 1982, from memory). Beside its ground a top goes on at any height: where
    that is narrow, it is the part.

    Parameters
    ----------
    slab : Slab
    nozzle_mm, layer_mm : float
    """
    if not isinstance(slab.top, Sculpted):
        return ()
    area, most, place = _narrow(slab.top.hand, slab.top.ground, nozzle_mm, layer_mm)
    if area < _LEAST_NOZZLES * nozzle_mm**2:
        return ()
    words = (
        f"{area:.1f} mm2 of the hand relief on {slab.part}, up to {most:.2f} mm high, are"
        f" narrower than the nozzle of {nozzle_mm:g} mm and print broken; broaden them."
    )
    return (finding("hand-thin", words, (*place, slab.highest_mm)),)


@lru_cache(maxsize=_KEPT)
def _narrow(
    field: Field, ground: shapely.MultiPolygon, nozzle_mm: float, layer_mm: float
) -> tuple[float, float, tuple[float, float]]:
    """Return the area in mm2 that is too narrow, how high it is at most in mm, and where."""
    inside = nodes_within(ground, *field.lines)
    heights = np.where(inside, field.values.astype(np.float64), np.inf)
    with np.errstate(invalid="ignore"):  # infinite beside the ground, before and after
        narrow = np.where(inside, heights - _opened(heights, nozzle_mm / 2 / field.step_mm), 0.0)
    x, y = np.round(field.places[int(narrow.argmax())], 2).tolist()
    return float((narrow > layer_mm).sum()) * field.step_mm**2, float(narrow.max()), (x, y)


def _opened(heights: npt.NDArray[np.float64], radius: float) -> npt.NDArray[np.float64]:
    """Return the highest surface below heights on which a disc of a radius in nodes lies flat."""
    return -_lowest(-_lowest(heights, radius), radius)


def _lowest(heights: npt.NDArray[np.float64], radius: float) -> npt.NDArray[np.float64]:
    """Return the lowest height within a radius of each node; beyond the grid it is of no account."""
    reach = int(radius)
    rows, columns = heights.shape
    wide = np.pad(heights, reach, constant_values=np.inf)
    found = heights.copy()
    for up in range(-reach, reach + 1):
        for right in range(-reach, reach + 1):
            if up * up + right * right <= radius * radius:
                window = wide[reach + up : reach + up + rows, reach + right : reach + right + columns]
                np.minimum(found, window, out=found)
    return found
