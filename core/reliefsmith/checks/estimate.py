"""What a print takes: plastic, filament, color changes, time, hand work, price."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..mesh import signed_volume
from ..model import Estimate, Part
from ..model.arrays import Color
from ..recipe.sections import CostSettings, PrinterSettings
from .changes import hand_loads, schedule
from .layerstack import Layer

__all__ = [
    "colors_by_layer",
    "estimate",
    "filament_length",
    "filament_section",
    "printing_s",
]

_GRAMS_PER_KG = 1000.0


def filament_section(diameter_mm: float) -> float:
    """Return the cross-section of a filament in mm2.

    Examples
    --------
    >>> round(filament_section(1.75), 6)
    2.405282
    """
    return math.pi * diameter_mm**2 / 4


def filament_length(volume_mm3: float, diameter_mm: float) -> float:
    """Return the length of filament in mm that a volume takes."""
    return volume_mm3 / filament_section(diameter_mm)


def printing_s(volume_mm3: float, layers: int, changes: int, printer: PrinterSettings) -> float:
    """Return the time in s for a volume at mean flow, and for its layers and color changes, without warm-up.

    Examples
    --------
    >>> printing_s(600.0, 10, 1, PrinterSettings(flow_mm3_s=6.0, layer_s=5.0, change_s=60.0))
    210.0
    """
    return volume_mm3 / printer.flow_mm3_s + (layers * printer.layer_s + changes * printer.change_s)


def estimate(
    parts: Sequence[Part], layers: Sequence[Layer], *, printer: PrinterSettings, cost: CostSettings
) -> Estimate:
    """Estimate one piece, printed solid.

    Parameters
    ----------
    parts : sequence of Part
    layers : sequence of Layer
        The layers that the parts fill, in the order of printing: of several prints one after another, so
        that a change from print to print is one between layers.

    Notes
    -----
    Time is volume over mean flow, purge included, plus a time for each layer and each color change; warm-up
    and hand work are apart. Purge is counted for changes within a layer: a change between layers needs none
    but the few millimetres pushed through by hand. With `printer.filaments` loaded at once only the loads
    beyond them are hand work. The price counts filament, machine time without warm-up, and hand work.
    """
    volume = {part.name: signed_volume(part.vertices, part.triangles) for part in parts}
    order = schedule(colors_by_layer(layers, {part.name: part.color for part in parts}))
    purge = order.inside * printer.purge_mm3
    total = math.fsum(volume.values()) + purge
    grams = printer.mass_g(total)
    seconds = printing_s(total, sum(layer.count for layer in layers), order.changes, printer)
    attended = hand_loads(order.colors, printer.filaments) * printer.change_attended_min
    price = grams / _GRAMS_PER_KG * cost.filament_per_kg
    price += seconds / 3600 * cost.machine_per_hour + attended / 60 * cost.hand_per_hour
    return Estimate(
        volume_mm3=volume,
        mass_g={name: printer.mass_g(value) for name, value in volume.items()},
        filament_mm={name: filament_length(value, printer.filament_mm) for name, value in volume.items()},
        purge_mm3=purge,
        time_min=seconds / 60,
        attended_min=attended,
        changes=order.changes,
        mass_g_total=grams,
        cost=price,
    )


def colors_by_layer(layers: Sequence[Layer], colors: dict[str, Color]) -> list[list[Color]]:
    """Return the colors of every single layer, from the bed up."""
    return [[colors[name] for name in layer.shapes] for layer in layers for _ in range(layer.count)]
