"""What the piece hangs on, drawn in: split ring, jump ring, ball chain or cord, behind and before it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import shapely
from PIL import Image

from ..model import Result
from .masks import View, paint

__all__ = ["Hardware", "draw_hardware", "hardware_named", "hardware_of"]

LOOP_MM = 26.0
"""Length of a loop of chain or cord, for the picture."""

_METAL = ((96, 101, 108), (176, 181, 187), (228, 231, 234))
_CORD = ((92, 78, 62), (164, 143, 116), (196, 178, 152))
"""Edge, body and light."""

_RINGS = ("split-ring", "jump-ring")
_STEPS = 96

Shades = tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]


@dataclass(frozen=True, slots=True)
class Hardware:
    """What hangs in the hole, from the hardware table of the data.

    Parameters
    ----------
    kind : str
        As in the recipe, never "auto".
    words : str
        For captions.
    outer_mm : float
        Outer diameter of a ring, length of a loop.
    wire_mm : float
        Thickness of wire, cord or ball.
    turns : int
        How many lie side by side in the hole.
    """

    kind: str
    words: str
    outer_mm: float
    wire_mm: float
    turns: int


def hardware_of(result: Result) -> Hardware | None:
    """Return what a job hangs on, as its plan resolved it; None where it hangs on nothing.

    Plans of version 0.1.0 name no hardware; there the recipe does, and "auto" is the first of the table.
    """
    hole = result.plan.hole
    if hole is None:
        return None
    kind = hole.hardware or result.recipe.hang.hardware
    return None if kind == "none" else hardware_named(next(iter(_table())) if kind == "auto" else kind)


def hardware_named(kind: str) -> Hardware:
    """Return hardware of the table.

    Examples
    --------
    >>> hardware_named("split-ring").words
    'split ring, 24 mm inside, 1.8 mm wire'
    """
    row = _table()[kind]
    wire = float(row["wire_mm"])
    outer = 2 * (float(row["reach_mm"]) + 2 * wire) if kind in _RINGS else LOOP_MM
    return Hardware(kind, str(row["title"]), outer, wire, int(row["turns"]))


@cache
def _table() -> dict[str, dict[str, Any]]:
    text = (files("reliefsmith_data") / "hardware.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def draw_hardware(
    hardware: Hardware, rest_mm: tuple[float, float], view: View
) -> tuple[Image.Image, Image.Image]:
    """Draw the hardware hanging from above through the hole: the half behind the piece and the half before.

    Parameters
    ----------
    rest_mm : (float, float)
        Where it bears: the top edge of the hole as the piece hangs.
    """
    path = _PATHS[hardware.kind](hardware, rest_mm)
    half = len(path) // 2
    shades = _CORD if hardware.kind == "cord" else _METAL
    behind, before = Image.new("RGBA", view.size_px), Image.new("RGBA", view.size_px)
    if hardware.kind == "ball-chain":
        _beads(behind, path[half:], hardware.wire_mm, view)
        _beads(before, path[: half + 1], hardware.wire_mm, view)
        return behind, before
    _wire(behind, path, hardware.wire_mm, shades, view)  # whole, so that no seam shows where the halves meet
    _wire(before, path[: half + 1], hardware.wire_mm, shades, view)
    if hardware.kind == "split-ring":
        _wire_end(before, path, hardware.wire_mm, view)
    return behind, before


def _circle(hardware: Hardware, rest_mm: tuple[float, float]) -> list[tuple[float, float]]:
    """Return a closed ring from its lowest point round, its wire below the place where it bears."""
    radius = (hardware.outer_mm - hardware.wire_mm) / 2
    center = (rest_mm[0], rest_mm[1] - hardware.wire_mm / 2 + radius)
    angles = [math.pi * (-0.5 - 2 * step / _STEPS) for step in range(_STEPS + 1)]
    return [(center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles]


def _loop(hardware: Hardware, rest_mm: tuple[float, float]) -> list[tuple[float, float]]:
    """Return a drop-shaped loop that closes above, from its lowest point round."""
    low = rest_mm[1] - hardware.wire_mm / 2
    turns = np.linspace(0.0, 2 * np.pi, _STEPS + 1)
    x = rest_mm[0] - 0.42 * hardware.outer_mm * np.sin(turns) * np.cos(turns / 2) ** 2
    y = low + hardware.outer_mm * (1 - np.cos(turns)) / 2
    return list(zip(x.tolist(), y.tolist(), strict=True))


_PATHS: dict[str, Callable[[Hardware, tuple[float, float]], list[tuple[float, float]]]] = {
    "split-ring": _circle,
    "jump-ring": _circle,
    "ball-chain": _loop,
    "cord": _loop,
}


def _wire(
    picture: Image.Image, path: Sequence[tuple[float, float]], wire_mm: float, shades: Shades, view: View
) -> None:
    """Draw a round wire: dark edges, a body, a light line toward the upper left."""
    line = shapely.LineString(path)
    for share, shade, shift in ((1.0, shades[0], 0.0), (0.76, shades[1], 0.0), (0.26, shades[2], 0.16)):
        shape = shapely.transform(
            line.buffer(share * wire_mm / 2, cap_style="flat"),
            lambda points, move=shift * wire_mm: points + np.array([-move, move]),
        )
        paint(picture, shape, view, (*shade, 255))


def _beads(picture: Image.Image, path: Sequence[tuple[float, float]], bead_mm: float, view: View) -> None:
    line = shapely.LineString(path)
    paint(picture, line.buffer(bead_mm * 0.12), view, (*_METAL[0], 255))
    count = max(int(line.length / (bead_mm * 1.35)), 2)
    spots = shapely.line_interpolate_point(line, np.linspace(0, line.length, count))
    for share, shade, shift in ((1.0, _METAL[0], 0.0), (0.82, _METAL[1], 0.0), (0.3, _METAL[2], 0.18)):
        moved = shapely.transform(
            spots, lambda points, move=shift * bead_mm: points + np.array([-move, move])
        )
        beads = shapely.union_all(shapely.buffer(moved, share * bead_mm / 2))
        paint(picture, beads, view, (*shade, 255))


def _wire_end(picture: Image.Image, path: Sequence[tuple[float, float]], wire_mm: float, view: View) -> None:
    """Mark the end of the wire across the ring, by which a split ring is known."""
    x, y = path[len(path) // 4]
    stroke = shapely.LineString([(x - wire_mm / 2, y + 0.1), (x + wire_mm / 2, y - 0.25)]).buffer(0.12)
    paint(picture, stroke, view, (*_METAL[0], 255))
