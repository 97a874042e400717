"""What the piece hangs on, drawn in behind and before it: rings, ball chain, cord, strap."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import shapely
from PIL import Image

from ..model import Result
from ..polygons.cover import View
from ..recipe.sections import HangSettings
from .paint import paint

__all__ = [
    "CORD",
    "METAL",
    "RINGS",
    "WEB",
    "Hardware",
    "bail_mm",
    "draw_bail",
    "draw_hardware",
    "hardware_named",
    "hardware_of",
    "path_of",
]

LOOP_MM = 26.0
"""Length of a loop of chain or cord, for the picture."""

METAL = ((96, 101, 108), (176, 181, 187), (228, 231, 234))
WEB = ((58, 66, 78), (96, 106, 122), (150, 160, 176))
CORD = ((92, 78, 62), (164, 143, 116), (196, 178, 152))
"""Edge, body and light."""

RINGS = ("split-ring", "jump-ring")
_STEPS = 96
_ROUNDING_MM = 1e-6

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
    play_mm : float
        Clearance that lets it swing.
    use : str
        "loop" through a hole, "slot", "screw", "magnet", "pin" or "tape".
    size_mm : tuple of float
        Width of a strap; thread and head of a screw; diameter and height of a magnet; length, width and
        height of a pin's bar; length and width of a strip of tape and how deep it lies in.
    """

    kind: str
    words: str
    outer_mm: float
    wire_mm: float
    turns: int
    play_mm: float = 0.0
    use: str = "loop"
    size_mm: tuple[float, ...] = ()

    @property
    def noun(self) -> str:
        """What it is called in a sentence, without its size.

        Examples
        --------
        >>> hardware_named("ball-chain").noun
        'ball chain'
        """
        return "strip of tape" if self.kind == "tape" else self.kind.replace("-", " ")


def hardware_of(result: Result) -> Hardware | None:
    """Return what a job hangs on, as its plan resolved it; None where it hangs on nothing.

    Plans of version 0.1.0 name no hardware; there the recipe does, and "auto" is the first of the table.
    """
    hole, hang = result.plan.hole, result.recipe.hang
    if hole is None:
        kinds = [pocket.kind for pocket in result.plan.pockets]
        return _sized(hardware_named(kinds[0]), hang) if kinds else None
    kind = hole.hardware or hang.hardware
    if kind == "none":
        return None
    return _sized(hardware_named(next(iter(_table())) if kind == "auto" else kind), hang)


def hardware_named(kind: str) -> Hardware:
    """Return hardware of the table.

    Examples
    --------
    >>> hardware_named("split-ring").words
    'split ring, 24 mm inside, 2.0 mm wire'
    """
    row = _table()[kind]
    wire = float(row.get("wire_mm", 0.0))
    outer = 2 * (float(row["reach_mm"]) + 2 * wire) if kind in RINGS else LOOP_MM
    size = tuple(float(side) for side in row.get("size_mm", ()))
    play = float(row.get("play_mm", 0.0))
    return Hardware(
        kind, str(row["title"]), outer, wire, int(row.get("turns", 1)), play, str(row["use"]), size
    )


def _sized(hardware: Hardware, hang: HangSettings) -> Hardware:
    """Return hardware in the size that the recipe asks for."""
    if hardware.use == "screw":
        row = _table()["screw"]
        passing = [
            pair for pair in row["heads_mm"] if pair[0] + row["play_mm"] <= hang.hole_mm + _ROUNDING_MM
        ]
        thread, head = (float(value) for value in max(passing))
        words = f"countersunk screw of {thread:g} mm, its head {head:g} mm"
        return replace(hardware, words=words, size_mm=(thread, head), outer_mm=head)
    if hardware.use == "magnet":
        size = hang.magnet_mm or hardware.size_mm
        return replace(hardware, words=f"magnet of {size[0]:g} x {size[1]:g} mm", size_mm=size)
    if hardware.use in ("pin", "tape"):
        own, what = (hang.pin_mm, "brooch pin with a bar") if hardware.use == "pin" else (hang.tape_mm, "")
        length, width = sorted(own or hardware.size_mm[:2], reverse=True)
        words = f"{what or hardware.words} of {length:g} x {width:g} mm"
        return replace(hardware, words=words, size_mm=(length, width, hardware.size_mm[2]))
    if hardware.use == "slot" and hang.slot_mm is not None:
        width = max(hang.slot_mm) - hardware.play_mm
        return replace(hardware, words=f"{hardware.noun} of {width:g} mm", size_mm=(width,))
    return hardware


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
    behind, before = Image.new("RGBA", view.size_px), Image.new("RGBA", view.size_px)
    if hardware.use == "slot":
        for picture in (behind, before):
            _web(picture, hardware, rest_mm, view)
        return behind, before
    path = path_of(hardware, rest_mm)
    half = len(path) // 2
    shades = CORD if hardware.kind == "cord" else METAL
    if hardware.kind == "ball-chain":
        _beads(behind, path[half:], hardware.wire_mm, view)
        _beads(before, path[: half + 1], hardware.wire_mm, view)
        return behind, before
    _wire(behind, path, hardware.wire_mm, shades, view)  # whole, so that no seam shows where the halves meet
    _wire(before, path[: half + 1], hardware.wire_mm, shades, view)
    if hardware.kind == "split-ring":
        _wire_end(before, path, hardware.wire_mm, view)
    return behind, before


def draw_bail(
    hardware: Hardware, rests_mm: Sequence[tuple[float, float]], view: View
) -> tuple[Image.Image, Image.Image]:
    """Draw cord or chain from two holes up to one knot; it comes through the holes from behind."""
    (left, low), (right, _) = rests_mm
    wire = hardware.wire_mm
    apex = ((left + right) / 2, low + bail_mm(hardware, rests_mm))
    behind, before = Image.new("RGBA", view.size_px), Image.new("RGBA", view.size_px)
    for x in (left, right):
        path = [(x, low - wire * 0.6), (x, low), apex]
        if hardware.kind == "ball-chain":
            _beads(before, path, wire, view)
        else:
            _wire(before, path, wire, CORD if hardware.kind == "cord" else METAL, view)
    for share, shade in ((1.5, 0), (1.2, 1), (0.4, 2)):
        shades = METAL if hardware.kind == "ball-chain" else CORD
        paint(before, shapely.Point(apex).buffer(share * wire), view, (*shades[shade], 255))
    return behind, before


def bail_mm(hardware: Hardware, rests_mm: Sequence[tuple[float, float]]) -> float:
    """Return how high above two holes the knot of a cord between them is drawn."""
    return max(hardware.outer_mm / 2, 0.4 * abs(rests_mm[1][0] - rests_mm[0][0]))


def _web(picture: Image.Image, hardware: Hardware, rest_mm: tuple[float, float], view: View) -> None:
    """Draw a strap that goes up from its slot, folded over the bridge, with a seam above it."""
    half = hardware.size_mm[0] / 2
    (x, y), top = rest_mm, rest_mm[1] + hardware.outer_mm
    for share, shade in ((1.0, WEB[0]), (0.9, WEB[1])):
        paint(picture, shapely.box(x - share * half, y - 0.5, x + share * half, top), view, (*shade, 255))
    for place in (-0.66, 0.66):
        seam = shapely.LineString([(x + place * half, y), (x + place * half, top)])
        paint(picture, seam.buffer(0.2), view, (*WEB[2], 255))
    for rise in (0.52, 0.62):
        seam = shapely.LineString(
            [(x - 0.66 * half, y + rise * (top - y)), (x + 0.66 * half, y + rise * (top - y))]
        )
        paint(picture, seam.buffer(0.25), view, (*WEB[2], 255))


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


def path_of(hardware: Hardware, rest_mm: tuple[float, float]) -> list[tuple[float, float]]:
    """Return the middle line of a ring or loop in its own plane, from its lowest point round and back."""
    return _PATHS[hardware.kind](hardware, rest_mm)


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
    paint(picture, line.buffer(bead_mm * 0.12), view, (*METAL[0], 255))
    count = max(int(line.length / (bead_mm * 1.35)), 2)
    spots = shapely.line_interpolate_point(line, np.linspace(0, line.length, count))
    for share, shade, shift in ((1.0, METAL[0], 0.0), (0.82, METAL[1], 0.0), (0.3, METAL[2], 0.18)):
        moved = shapely.transform(
            spots, lambda points, move=shift * bead_mm: points + np.array([-move, move])
        )
        beads = shapely.union_all(shapely.buffer(moved, share * bead_mm / 2))
        paint(picture, beads, view, (*shade, 255))


def _wire_end(picture: Image.Image, path: Sequence[tuple[float, float]], wire_mm: float, view: View) -> None:
    """Mark the end of the wire across the ring, by which a split ring is known."""
    x, y = path[len(path) // 4]
    stroke = shapely.LineString([(x - wire_mm / 2, y + 0.1), (x + wire_mm / 2, y - 0.25)]).buffer(0.12)
    paint(picture, stroke, view, (*METAL[0], 255))
