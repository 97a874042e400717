"""What is said of a hole: what it takes and holds, how far it turns the piece, and where it is too weak."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
import shapely

from reliefsmith.model import Hole
from reliefsmith.plan.hang.holechecks import hole_findings, hole_notes, strength_note
from reliefsmith.plan.hang.strength import LEAST_FACTOR, Lug, Slot
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HangSettings, HeightSettings

from ..arts import RED, flat, hung
from .kinds import DISC, found, recipe

pytestmark = pytest.mark.usefixtures("unadvised")

HOLE = Hole((0.0, 20.0), 5.0, 2.5, 0.0, "eyelet", (0.0, 22.5), "split-ring")
HEIGHTS = HeightSettings(base_mm=2.0)


def codes(*holes: Hole, **heights: float) -> list[str]:
    return [item.code for item in hole_findings(holes, replace(HEIGHTS, **heights))]


def said(*holes: Hole, artwork: tuple[float, float] = (60.0, 40.0), **hang: object) -> list[str]:
    notes = hole_notes(holes, HangSettings(**hang), HEIGHTS, (0.0, 0.0), artwork)
    return [item.message for item in notes]


@pytest.mark.parametrize(
    ("wall", "expected"),
    [(2.0, []), (1.99, ["hole-wall-thin"]), (1.6, ["hole-wall-thin"]), (1.59, ["hole-wall-weak"])],
)
def test_a_wall_is_thin_under_2_mm_and_weak_under_1_6(wall: float, expected: list[str]) -> None:
    assert codes(replace(HOLE, wall_mm=wall), base_mm=6.0) == expected


def test_a_weak_wall_stops_the_job_and_a_thin_one_warns() -> None:
    for wall, severity in ((1.59, "stop"), (1.61, "warn")):
        (judged,) = hole_findings([replace(HOLE, wall_mm=wall)], replace(HEIGHTS, base_mm=6.0))
        assert str(judged.severity) == severity


def test_against_the_usual_eyelet_nothing_is_to_be_said() -> None:
    assert not found(hung(flat(DISC)))


def test_a_hole_holds_three_times_the_test_or_is_called_weak() -> None:
    """The lug as wide as hole and walls: the height at which it holds just three times 90 N."""
    per_mm = Lug(5.0, 10.0, 5.0, 1.0).weakest().factor
    just = LEAST_FACTOR / per_mm
    assert codes(HOLE, base_mm=just * 1.001) == []
    assert codes(HOLE, base_mm=just * 0.999) == ["hole-weak"]
    assert codes(replace(HOLE, wall_mm=1.0), base_mm=0.4) == ["hole-wall-weak"]  # said already


def test_nothing_pulls_at_screws() -> None:
    screw = replace(HOLE, hardware="screw")
    assert codes(screw, base_mm=0.4) == []
    assert [item for item in said(screw, hardware="screw", hole_mm=5.0) if "A pull of" in item] == []


def test_a_slot_is_judged_as_a_beam_and_a_wide_opening_as_a_hole_of_5_mm() -> None:
    slot = replace(HOLE, slot_mm=(11.0, 3.0), diameter_mm=3.0, wall_mm=4.0)
    assert strength_note(slot, HEIGHTS).size_mm == round(Slot(11.0, 4.0, 2.0).weakest().factor, 2)
    assert "after Roark" in strength_note(slot, HEIGHTS).message
    wide = replace(HOLE, diameter_mm=18.0)
    assert strength_note(wide, HEIGHTS) == strength_note(HOLE, HEIGHTS)
    small = replace(HOLE, diameter_mm=3.0)
    assert strength_note(small, HEIGHTS).size_mm == round(Lug(3.0, 8.0, 4.0, 2.0).weakest().factor, 2)


def test_of_two_holes_the_weaker_one_is_told_once() -> None:
    weak = replace(HOLE, center_mm=(9.0, 20.0), wall_mm=2.2)
    pulls = [item for item in said(HOLE, weak) if "A pull of" in item]
    assert pulls == [strength_note(weak, HEIGHTS).message]


def test_a_millimetre_turns_a_piece_by_its_arm_or_by_how_far_two_holes_are_apart() -> None:
    assert f"A millimetre aside turns the piece {math.degrees(math.atan(1 / 20)):.1f}" in said(HOLE)[0]
    pair = replace(HOLE, center_mm=(-8.0, 20.0)), replace(HOLE, center_mm=(8.0, 20.0))
    turned = f"off the level of the other turns the piece {math.degrees(math.atan(1 / 16)):.1f} degrees"
    assert all(turned in item for item in said(*pair)[:2])
    screws = [replace(one, hardware="screw") for one in pair]
    assert all(item.endswith("a head of 8.4 mm.") for item in said(*screws, hardware="screw"))


def test_a_hole_too_narrow_or_too_deep_in_is_told_not_to_let_its_hardware_swing() -> None:
    assert "takes a split ring" in said(HOLE)[0]
    for item in (replace(HOLE, diameter_mm=4.3), replace(HOLE, wall_mm=10.1)):
        assert "was made; a split ring, 24 mm inside, 2.0 mm wire does not swing in it" in said(item)[0]


def test_an_eyelet_large_beside_the_artwork_is_offered_smaller() -> None:
    """With its walls it is 10 mm across: more than three tenths of 33 mm, less than those of 34."""
    assert "hang.hole_mm = 3" in said(HOLE, artwork=(33.0, 20.0))[0]
    assert "hang.hole_mm = 3" not in said(HOLE, artwork=(34.0, 20.0))[0]
    inside = replace(HOLE, origin="inside")
    assert said(inside, artwork=(20.0, 20.0))[0].startswith("A hole inside of 5 mm takes a split ring")
    assert "hang.hole_mm = 3" not in said(replace(HOLE, diameter_mm=3.0), artwork=(20.0, 20.0))[0]


@pytest.mark.parametrize(
    ("angle", "origin", "severity"),
    [(3.0, "eyelet", None), (3.1, "eyelet", "warn"), (3.1, "artwork", "note"), (8.1, "artwork", "warn")],
)
def test_a_piece_hangs_crooked_from_3_degrees_on(angle: float, origin: str, severity: str | None) -> None:
    """Where the hole was placed it could have been placed otherwise: that is a warning at once."""
    judged = hole_findings([replace(HOLE, hang_angle_deg=angle, origin=origin)], HEIGHTS)
    assert [str(item.severity) for item in judged] == ([severity] if severity else [])


def test_the_note_says_how_much_a_misplaced_hole_turns_the_piece():
    """The hole lies 24 mm or so above the mass: a millimetre aside is atan(1 / 24), 2.4 degrees."""
    plan = hung(flat(DISC))
    (made,) = [note for note in plan.notes if note.code == "eyelet-added"]
    arm = plan.hole.center_mm[1] - plan.center_of_mass_mm[1]
    assert f"turns the piece {math.degrees(math.atan(1 / arm)):.1f} degrees" in made.message
    assert "hang.hole_mm" not in made.message
    small = hung(flat((RED, shapely.Point(0, 0).buffer(10))))
    assert "hang.hole_mm = 3" in next(n.message for n in small.notes if n.code == "eyelet-added")


@pytest.mark.parametrize(
    "values", [{}, {"hang.hole_mm": 3.0}, {"hang.wall_mm": 4.0}, {"hang.hardware": "strap"}]
)
def test_the_note_of_strength_gives_one_stress_and_the_factor_that_belongs_to_it(values):
    plan = hung(flat((RED, shapely.Point(0, 0).buffer(20))), Recipe().with_values(values))
    (told,) = [item for item in plan.notes if item.code == "hole-strength"]
    pattern = r": ([0-9.]+) MPa\. .* holds ([0-9.]+) there, ([0-9.]+) times"
    stress, holds, times = map(float, re.search(pattern, told.message).groups())
    assert holds / stress == pytest.approx(times, abs=0.06)  # each is told to a tenth
    assert times == pytest.approx(told.size_mm, abs=0.051)
    if not values:
        assert (stress, holds, times) == (7.3, 28.9, 4.0)


def test_the_note_says_what_a_slot_holds_and_the_bending():
    plan = hung(flat(DISC), recipe("strap"))
    (words,) = [item.message for item in plan.notes if item.code == "hole-strength"]
    assert "bending of the bridge over it: 15.5 MPa" in words  # 90 * 11 / 12 / (2 * 4^2 / 6)
    assert "EN 71-1" in words
