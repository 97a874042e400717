"""What hand relief costs in color changes, and where it is too narrow to print."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..findings import Finding, finding
from ..model import Sculpted, Stack
from ..model.arrays import Color
from ..polygons import nodes_within
from ..recipe.sections import PrinterSettings
from .changes import Schedule, hand_loads, schedule
from .estimate import colors_by_layer
from .layerstack import in_printing_order, layers_of_stack

__all__ = ["hand_changes", "hand_thin"]

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


def hand_thin(stack: Stack, nozzle_mm: float, layer_mm: float) -> tuple[Finding, ...]:
    """Find walls and points of hand relief that are narrower than the nozzle lays.

    They are what an opening of the heights by a disc as wide as the nozzle takes away, if it is more than a
    layer (grey-scale opening, Serra 1982, from memory). Beside its ground a top goes on at any height: where
    that is narrow, it is the part.

    Parameters
    ----------
    stack : Stack
    nozzle_mm, layer_mm : float
    """
    found = []
    for slab in stack.slabs:
        if not isinstance(slab.top, Sculpted):
            continue
        field = slab.top.hand
        inside = nodes_within(slab.top.ground, *field.lines)
        heights = np.where(inside, field.values.astype(np.float64), np.inf)
        with np.errstate(invalid="ignore"):  # infinite beside the ground, before and after
            narrow = np.where(inside, heights - _opened(heights, nozzle_mm / 2 / field.step_mm), 0.0)
        area = float((narrow > layer_mm).sum()) * field.step_mm**2
        if area < _LEAST_NOZZLES * nozzle_mm**2:
            continue
        worst = int(narrow.argmax())
        words = (
            f"{area:.1f} mm2 of the hand relief on {slab.part}, up to {narrow.max():.2f} mm high, are"
            f" narrower than the nozzle of {nozzle_mm:g} mm and print broken; broaden them."
        )
        x, y = np.round(field.places[worst], 2).tolist()
        found.append(finding("hand-thin", words, (x, y, slab.highest_mm)))
    return tuple(found)


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
