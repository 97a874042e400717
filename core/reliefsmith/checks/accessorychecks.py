"""Findings on what goes with a piece: its solids, its layers, whether it fits the bed."""

from __future__ import annotations

from dataclasses import replace

import shapely

from ..findings import Finding, Severity
from ..model import Accessory
from ..progress import Steps
from .handling import bed_findings
from .independent import solid_findings
from .layerchecks import layer_findings_steps
from .layerstack import layers_of_stack

__all__ = ["accessory_findings_steps"]


def accessory_findings_steps(
    accessory: Accessory, *, nozzle_mm: float, bed_mm: tuple[float, float], audience: str
) -> Steps[tuple[Finding, ...]]:
    """Judge an accessory as printed: what layers show begins with its name and names no place of the piece.

    Lamps are refused for children.
    """
    layers = layers_of_stack(accessory.stack, accessory.parts)
    outline = shapely.union_all([slab.polygon for slab in accessory.stack.slabs])
    found = list(solid_findings(accessory.parts))
    found += yield from layer_findings_steps(layers, nozzle_mm=nozzle_mm, motifs=())
    found += bed_findings(outline, bed_mm)
    name = accessory.name.capitalize()
    named = [replace(item, message=f"{name}: {item.message}", at_mm=None) for item in found]
    strict = {"lamp-caution"} if audience == "children" else set()
    own = [
        replace(item, severity=Severity.STOP) if item.code in strict else item for item in accessory.findings
    ]
    return (*own, *named)
