"""What is checked of parts of any origin: their solids are cut within every layer and judged as printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, finding
from ..mesh import box, mesh_faults
from ..model import Part
from ..progress import Progress, Steps, drained
from ..recipe.sections import HeightSettings, PrinterSettings
from .contrast import color_findings
from .handling import bed_findings, handling_findings
from .hanging import found_hole, hole_findings
from .layerchecks import layer_findings_steps
from .layerstack import Layer, cut_layers_steps, turned_over
from .strips import strip_findings_steps

__all__ = ["center_of_mass", "check_parts", "check_parts_steps", "one_set", "solid_findings"]

BACK = "back"
"""Name of the back plate of a piece in two plates, which nothing joins to the front plate on the bed."""


def check_parts_steps(
    parts: Sequence[Part],
    *,
    printer: PrinterSettings,
    heights: HeightSettings,
    audience: str = "adults",
    hangs: bool = True,
) -> Steps[tuple[Finding, ...]]:
    """Check solids as they were read from files, taken together as one piece.

    Parameters
    ----------
    parts : sequence of Part
        At least one; of several files each has its own base, of which one is kept (see `one_set`).
    printer, heights : settings
        Nozzle, bed, layers.
    audience : str
        "adults" or "children".
    hangs : bool
        Whether the piece hangs; else an opening of the artwork is no hole.

    Raises
    ------
    GeometryError
        If the piece has far more layers than a flat piece can have.
    """
    parts = one_set(parts)
    found: list[Finding] = []
    for part in parts:
        yield Progress(f"looking whether {part.name} is closed", 0.0)
        found += solid_findings([part])
    layers = yield from cut_layers_steps(parts, heights=heights)
    if not any(layer.shapes for layer in layers):
        return tuple(found)
    motifs = {part.name for part in parts if part.role == "motif"}
    plates = 2 if any(part.name == BACK or part.name.endswith(f"-{BACK}") for part in parts) else 1
    found += yield from layer_findings_steps(
        layers, nozzle_mm=printer.nozzle_mm, motifs=motifs, plates=plates
    )
    found += yield from strip_findings_steps(layers, printer.nozzle_mm)
    outline: BaseGeometry = shapely.MultiPolygon()
    for layer in layers:
        yield Progress("measuring the hanging hole", 0.9)
        outline = _with_layer(outline, layer)
    if hangs:
        hole = found_hole(outline)
        found += hole_findings(hole, None, center_of_mass(layers), layers[-1].top_mm)
    yield Progress("looking at colors, tips and size", 0.95)
    seen = turned_over(layers) if heights.face == "down" and plates == 1 else layers
    found += color_findings(seen, {part.name: part.color for part in parts}, heights.layer_mm)
    yield Progress("looking at tips and size", 0.97)
    found += handling_findings(outline, audience=audience)
    found += bed_findings(outline, printer.bed_mm)
    return tuple(found)


check_parts = drained(check_parts_steps)


def one_set(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return parts with unique names and one base, as they come from several files.

    The base is the one that is called so, else the lowest, else the largest there.
    """
    names: list[str] = []
    for part in parts:
        same = (f"{part.name}-{number}" for number in count(2))
        names.append(part.name if part.name not in names else next(n for n in same if n not in names))
    bases = [index for index, part in enumerate(parts) if part.role == "base"] or list(range(len(parts)))
    base = min(bases, key=lambda index: (*_rank(parts[index]), index))
    return tuple(
        replace(part, name=name, role="base" if index == base else "motif")
        for index, (part, name) in enumerate(zip(parts, names, strict=True))
    )


def _rank(part: Part) -> tuple[bool, float, float]:
    called = part.name == "base" or part.name.endswith("-base")
    low, high = box(part.vertices)
    return not called, round(float(low[2]), 3), -float(np.prod((high - low)[:2]))


def solid_findings(parts: Sequence[Part]) -> tuple[Finding, ...]:
    """Return a finding for each part that is no closed solid with its outside outward."""
    found = []
    for part in parts:
        faults = mesh_faults(part.vertices, part.triangles)
        if not faults.closed:
            counts = f"{faults.open_edges} open edges, {faults.doubled_edges} edges used twice"
            found.append(finding("not-watertight", f"{part.name} is not closed: {counts}."))
        elif faults.volume_mm3 <= 0:
            found.append(finding("not-watertight", f"{part.name} is inside out: its volume is not positive."))
    return tuple(found)


def center_of_mass(layers: Sequence[Layer]) -> tuple[float, float]:
    """Return the centre of mass seen from above, all parts of one density."""
    weight = x = y = 0.0
    for layer in layers:
        for shape in layer.shapes.values():
            mass = shape.area * (layer.top_mm - layer.bottom_mm)
            middle = shape.centroid
            weight, x, y = weight + mass, x + mass * middle.x, y + mass * middle.y
    return (x / weight, y / weight)


def _with_layer(outline: BaseGeometry, layer: Layer) -> BaseGeometry:
    """Return what is seen from above with one more layer; most lie on those below."""
    shapely.prepare(outline)
    return outline if shapely.covers(outline, layer.union) else shapely.union(outline, layer.union)
