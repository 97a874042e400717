"""What hand relief costs in color changes."""

from __future__ import annotations

from dataclasses import replace

from ..findings import Finding, finding
from ..model import Sculpted, Stack
from ..model.arrays import Color
from ..sections import PrinterSettings
from .changes import Schedule, hand_loads, schedule
from .estimate import colors_by_layer
from .layerstack import in_printing_order, layers_of_stack

__all__ = ["hand_changes"]


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
