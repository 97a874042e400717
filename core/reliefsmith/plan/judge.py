"""Judgement of a hanging hole: its wall, its strength, the angle at which the piece hangs."""

from __future__ import annotations

import math

from ..findings import Finding, Note, Severity, finding, note
from ..model import Hole
from ..plane import GRID_MM
from ..sections import HangSettings, HeightSettings
from .eyelet import HANG_LIMIT_DEG
from .hardware import hardware_for
from .strength import LEAST_FACTOR, LOAD_N, Lug

__all__ = ["WALL_STOP_MM", "WALL_WARN_MM", "hole_findings", "hole_notes"]

WALL_WARN_MM, WALL_STOP_MM = 2.0, 1.6
"""Walls round a hole: below the first it may tear, below the second it does (workshop values)."""

CROOKED_WARN_DEG = 8.0

SMALL_HOLE_MM = 3.0
"""A hole for a jump ring; offered where the usual eyelet is large beside the artwork."""

_LARGE_SHARE = 0.3

_LUG_BORE_MM = 5.0
"""Hardware bears on a short part of a wide opening: as on a hole of this width."""


def hole_notes(
    hole: Hole, hang: HangSettings, center: tuple[float, float], artwork: tuple[float, float]
) -> tuple[Note, ...]:
    """Say what hole was made, what hardware it takes, and how much a misplaced hole would turn the piece.

    Parameters
    ----------
    hole : Hole
    hang : HangSettings
    center : (float, float)
        Centre of mass in mm.
    artwork : (float, float)
        Width and height of the artwork in mm.
    """
    hardware = hardware_for(hole.hardware, hole.diameter_mm, hole.wall_mm)
    code, what = ("eyelet-added", "An eyelet") if hole.origin == "eyelet" else ("hole-cut", "A hole inside")
    fits = hardware.fits(hole.diameter_mm, hole.wall_mm)
    does = f"takes a {hardware.title}" if fits else f"was made; a {hardware.title} does not swing in it"
    arm = max(math.dist(hole.center_mm, center), GRID_MM)
    words = f"{what} of {hole.diameter_mm:g} mm {does}. A millimetre aside turns the piece {_per_mm(arm)}."
    across = hole.diameter_mm + 2 * hang.wall_mm
    if hole.origin == "eyelet" and across > _LARGE_SHARE * max(artwork) and hole.diameter_mm > SMALL_HOLE_MM:
        words += f" With hang.hole_mm = {SMALL_HOLE_MM:g} and a jump ring the eyelet would be smaller."
    return (note(code, words, hole.center_mm, hole.diameter_mm),)


def _per_mm(arm: float) -> str:
    return f"{math.degrees(math.atan(1.0 / arm)):.1f} degrees"


def hole_findings(hole: Hole, heights: HeightSettings) -> tuple[Finding, ...]:
    """Judge the wall, the strength and the hanging angle."""
    x, y = hole.center_mm
    found = []
    if hole.wall_mm < WALL_WARN_MM:
        code = "hole-wall-weak" if hole.wall_mm < WALL_STOP_MM else "hole-wall-thin"
        found.append(finding(code, f"The wall round the hanging hole is {hole.wall_mm:.2f} mm.", (x, y, 0.0)))
    found += _weakness(hole, heights)
    if hole.hang_angle_deg > HANG_LIMIT_DEG:
        words = f"The piece hangs {hole.hang_angle_deg:.1f} degrees off the vertical."
        severity = Severity.WARN if hole.hang_angle_deg > CROOKED_WARN_DEG else Severity.NOTE
        if hole.origin != "artwork":
            severity = Severity.WARN
        found.append(finding("hangs-crooked", words, (x, y, 0.0), severity))
    return tuple(found)


def _weakness(hole: Hole, heights: HeightSettings) -> list[Finding]:
    """Judge the hole as a lug as wide as hole and walls; an opening of the art bears on its wall alone."""
    if hole.wall_mm < WALL_STOP_MM:
        return []  # said already
    bore = min(hole.diameter_mm, _LUG_BORE_MM)
    lug = Lug(bore, bore + 2 * hole.wall_mm, bore / 2 + hole.wall_mm, heights.base_mm)
    if lug.factor() >= LEAST_FACTOR:
        return []
    words = (
        f"The wall round the hanging hole holds {lug.factor():.1f} times {LOAD_N:g} N; "
        f"{LEAST_FACTOR:g} times are wanted: make the wall wider or the base higher."
    )
    return [finding("hole-weak", words, (*hole.center_mm, 0.0))]
