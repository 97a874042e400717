"""Hatches: one pattern of lines or dots for each color number, so that nothing is told by color alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["HATCHES", "Hatch", "hatch_for", "hatch_plane", "hatch_svg"]


@dataclass(frozen=True, slots=True)
class Hatch:
    """A pattern.

    Parameters
    ----------
    words : str
        What it looks like.
    angles_deg : tuple of float
        Directions of its lines, counter-clockwise from the horizontal.
    pitch_mm, line_mm : float
        Distance and width of the lines; of dots, distance and diameter.
    dots : bool
        Dots instead of lines.
    """

    words: str
    angles_deg: tuple[float, ...] = ()
    pitch_mm: float = 1.2
    line_mm: float = 0.22
    dots: bool = False


HATCHES: tuple[Hatch, ...] = (
    Hatch("plain"),
    Hatch("lines rising to the right", (45.0,)),
    Hatch("dots", (), 1.3, 0.55, dots=True),
    Hatch("level lines", (0.0,)),
    Hatch("lines falling to the right", (135.0,)),
    Hatch("upright lines", (90.0,)),
    Hatch("diamonds", (45.0, 135.0), 1.6, 0.18),
    Hatch("squares", (0.0, 90.0), 1.4, 0.18),
    Hatch("dense rising lines", (60.0,), 0.65, 0.25),
    Hatch("dense dots", (), 0.8, 0.45, dots=True),
)


def hatch_for(number: int) -> Hatch:
    """Return the pattern of color number 1, 2, ...; more colors than patterns start again."""
    return HATCHES[(number - 1) % len(HATCHES)]


def hatch_plane(hatch: Hatch, size_px: tuple[int, int], px_per_mm: float) -> npt.NDArray[np.float32]:
    """Return the ink of a pattern, float32 (h, w), 0 to 1 with smooth edges."""
    x = (np.arange(size_px[0], dtype=np.float32) + 0.5)[None, :] / px_per_mm
    y = (np.arange(size_px[1], dtype=np.float32) + 0.5)[:, None] / px_per_mm
    ink = np.zeros((size_px[1], size_px[0]), dtype=np.float32)
    if hatch.dots:
        row = np.floor(y / hatch.pitch_mm)
        shifted = x + (row % 2) * (hatch.pitch_mm / 2)  # rows in quincunx look even
        apart = np.hypot(_from_middle(shifted, hatch.pitch_mm), _from_middle(y, hatch.pitch_mm)).astype(
            np.float32
        )
        ink = _edge(np.float32(hatch.line_mm / 2) - apart, px_per_mm)
    for angle in hatch.angles_deg:
        across = x * math.sin(math.radians(angle)) + y * math.cos(math.radians(angle))
        away = np.abs(_from_middle(across.astype(np.float32), hatch.pitch_mm))
        ink = np.maximum(ink, _edge(np.float32(hatch.line_mm / 2) - away, px_per_mm))
    return ink


def hatch_svg(hatch: Hatch, name: str, ink: str) -> str:
    """Return the SVG pattern element of a hatch, in mm, its ink a color such as "#22262b"."""
    pitch, half = hatch.pitch_mm, hatch.line_mm / 2
    if hatch.dots:
        spots = [(pitch / 2, pitch / 2), (0.0, pitch * 1.5), (pitch, pitch * 1.5)]
        marks = "".join(f'<circle cx="{x:g}" cy="{y:g}" r="{half:g}"/>' for x, y in spots)
        return _pattern(name, (pitch, 2 * pitch), ink, "", marks)
    # Further directions are drawn in the turned square of the first, to which they stand upright.
    marks = f'<path d="M0 {pitch / 2:g}H{pitch:g}"/>' if hatch.angles_deg else ""
    marks += f'<path d="M{pitch / 2:g} 0V{pitch:g}"/>' if len(hatch.angles_deg) > 1 else ""
    lines = f'<g stroke="{ink}" stroke-width="{hatch.line_mm:g}">{marks}</g>'
    turn = f' patternTransform="rotate({-hatch.angles_deg[0]:g})"' if hatch.angles_deg else ""
    return _pattern(name, (pitch, pitch), ink, turn, lines)


def _pattern(name: str, size_mm: tuple[float, float], ink: str, turn: str, marks: str) -> str:
    size = f'width="{size_mm[0]:g}" height="{size_mm[1]:g}" patternUnits="userSpaceOnUse"{turn}'
    return f'<pattern id="{name}" {size} fill="{ink}">{marks}</pattern>'


def _from_middle(values: npt.NDArray[np.float32], pitch: float) -> npt.NDArray[np.float32]:
    away: npt.NDArray[np.float32] = np.mod(values, np.float32(pitch)) - np.float32(pitch / 2)
    return away


def _edge(inside_mm: npt.NDArray[np.float32], px_per_mm: float) -> npt.NDArray[np.float32]:
    ink: npt.NDArray[np.float32] = np.clip(inside_mm * px_per_mm + 0.5, 0.0, 1.0).astype(np.float32)
    return ink
