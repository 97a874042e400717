"""What is said of a placed hanging hole: its wall, its strength, the angle at which the piece hangs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...findings import Finding, Note, finding, note
from ...model import Hole
from ...model.hanglimits import WALL_STOP_MM, crooked_findings, wall_findings
from ...polygons import GRID_MM
from ...recipe.sections import HangSettings, HeightSettings
from .hardware import Hardware, hardware_for
from .strength import LEAST_FACTOR, LOAD_N, STRENGTH_MPA, Lug, Slot

__all__ = ["hole_findings", "hole_notes", "strength_note"]

SMALL_HOLE_MM = 3.0
"""A hole for a jump ring; offered where the usual eyelet is large beside the artwork."""

_LARGE_SHARE = 0.3

_LUG_BORE_MM = 5.0
"""Hardware bears on a short part of a wide opening: as on a hole of this width."""


def hole_notes(
    holes: Sequence[Hole],
    hang: HangSettings,
    heights: HeightSettings,
    center: tuple[float, float],
    artwork: tuple[float, float],
) -> tuple[Note, ...]:
    """Say what holes were made, what hardware they take, what they hold, and what a misplaced hole would do.

    Parameters
    ----------
    holes : sequence of Hole
        One, or two on one level.
    hang : HangSettings
    heights : HeightSettings
    center : (float, float)
        Centre of mass in mm.
    artwork : (float, float)
        Width and height of the artwork in mm.
    """
    made = tuple(_made(hole, hang, artwork, _turn_words(holes, center)) for hole in holes)
    return (*made, *_strength_notes(holes, heights))


def strength_note(hole: Hole, heights: HeightSettings) -> Note:
    """Say what a pull does to the hole in its weakest mode: one stress, its factor, its source."""
    lug = _lug(hole, heights)
    weakest = lug.weakest()
    if isinstance(lug, Slot):
        source = "lug formulas, its bridge a built-in beam after Roark"
    else:
        source = "lug formulas after Bruhn, D1, planes of shear 40 degrees off the pull"
    words = (
        f"A pull of {LOAD_N:g} N (EN 71-1, 8.4) at the hole does most by {weakest.name}:"
        f" {weakest.stress:.1f} MPa. Plastic of {STRENGTH_MPA:g} MPa, as usually assumed, holds"
        f" {weakest.holds:.1f} there, {weakest.factor:.1f} times that ({source})."
        " Bending at a neck is not in it."
    )
    return note("hole-strength", words, hole.center_mm, round(weakest.factor, 2))


def _strength_notes(holes: Sequence[Hole], heights: HeightSettings) -> tuple[Note, ...]:
    """Return the note of the weakest hole; screws press a piece to the wall, so nothing pulls at theirs."""
    judged = [hole for hole in holes if hole.hardware != "screw" and hole.wall_mm > 0]
    if not judged:
        return ()
    return (strength_note(min(judged, key=lambda hole: _lug(hole, heights).weakest().factor), heights),)


def _lug(hole: Hole, heights: HeightSettings) -> Lug | Slot:
    """Return a hole as a lug as wide as hole and walls; an opening of the art bears on its wall alone."""
    if hole.slot_mm is not None:
        return Slot(hole.slot_mm[0], hole.wall_mm, heights.base_mm)
    bore = min(hole.diameter_mm, _LUG_BORE_MM)
    return Lug(bore, bore + 2 * hole.wall_mm, bore / 2 + hole.wall_mm, heights.base_mm)


def _made(hole: Hole, hang: HangSettings, artwork: tuple[float, float], turns: str) -> Note:
    hardware = hardware_for(hole.hardware, hole.diameter_mm, hole.wall_mm)
    code, what = ("eyelet-added", "An eyelet") if hole.origin == "eyelet" else ("hole-cut", "A hole inside")
    if hole.slot_mm is not None:
        what = "An eyelet with a slot" if hole.origin == "eyelet" else "A slot inside"
        size = f"{hole.slot_mm[0]:g} x {hole.slot_mm[1]:g}"
    else:
        size = f"{hole.diameter_mm:g}"
    words = f"{what} of {size} mm {_takes(hole, hardware, hang)}.{turns}"
    across = hole.diameter_mm + 2 * hang.wall_mm
    large = across > _LARGE_SHARE * max(artwork) and hole.diameter_mm > SMALL_HOLE_MM
    if hole.origin == "eyelet" and large and hardware.use == "loop":
        words += f" With hang.hole_mm = {SMALL_HOLE_MM:g} and a jump ring the eyelet would be smaller."
    return note(code, words, hole.center_mm, hole.diameter_mm)


def _takes(hole: Hole, hardware: Hardware, hang: HangSettings) -> str:
    if hardware.use == "screw":
        thread, head = hardware.screw(hang.hole_mm)
        return f"takes a countersunk screw of {thread:g} mm with a head of {head:g} mm"
    if hole.slot_mm is not None and hardware.fits(hole.diameter_mm, hole.wall_mm):
        return f"takes a {hardware.name} of {hole.slot_mm[0] - hardware.play_mm:g} mm"
    if hardware.fits(hole.diameter_mm, hole.wall_mm):
        return f"takes a {hardware.title}"
    return f"was made; a {hardware.title} does not swing in it"


def _turn_words(holes: Sequence[Hole], center: tuple[float, float]) -> str:
    """Say by how many degrees the piece turns for each millimetre that a hole is aside, or off its level."""
    if holes[0].hardware == "screw" and len(holes) > 1:
        return ""
    if len(holes) > 1:
        apart = max(math.dist(holes[0].center_mm, holes[1].center_mm), GRID_MM)
        return f" A millimetre off the level of the other turns the piece {_per_mm(apart)}."
    arm = max(math.dist(holes[0].center_mm, center), GRID_MM)
    return f" A millimetre aside turns the piece {_per_mm(arm)}."


def _per_mm(arm: float) -> str:
    return f"{math.degrees(math.atan(1.0 / arm)):.1f} degrees"


def hole_findings(holes: Sequence[Hole], heights: HeightSettings) -> tuple[Finding, ...]:
    """Judge the walls, the strength and the hanging angle."""
    found: list[Finding] = []
    for hole in holes:
        found += wall_findings(hole.wall_mm, (*hole.center_mm, 0.0))
        found += _weakness(hole, heights)
    first = holes[0]
    placed = first.origin != "artwork"
    return (*found, *crooked_findings(first.hang_angle_deg, (*first.center_mm, 0.0), placed=placed))


def _weakness(hole: Hole, heights: HeightSettings) -> list[Finding]:
    if hole.wall_mm < WALL_STOP_MM or hole.hardware == "screw":
        return []  # said already, or nothing pulls
    factor = _lug(hole, heights).weakest().factor
    if factor >= LEAST_FACTOR:
        return []
    words = (
        f"The wall round the hanging hole holds {factor:.1f} times {LOAD_N:g} N; "
        f"{LEAST_FACTOR:g} times are wanted: make the wall wider or the base higher."
    )
    return [finding("hole-weak", words, (*hole.center_mm, 0.0))]
