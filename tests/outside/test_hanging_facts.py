"""Slots, screws, magnets and pins against handbooks, standards and practice; sources beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reliefsmith.plan.hang.countersink import HEAD_PLAY_MM, head_of
from reliefsmith.plan.hang.hardware import hardware_for
from reliefsmith.plan.hang.recess import DEEPER_MM, FLOOR_LAYERS, WIDER_MM
from reliefsmith.plan.hang.strength import LEAST_FACTOR, LOAD_N, Slot

# ISO 7046-2, countersunk flat head screws, largest dk: two tables, read. DIN 965 differs in six sizes.
ISO_7046_DK_MAX = {2.0: 3.8, 2.5: 4.7, 3.0: 5.5, 3.5: 7.3, 4.0: 8.4, 5.0: 9.3, 6.0: 11.3, 8.0: 15.8}

# ISO 273, clearance holes, medium series, from memory; the same in a public table of ISO 10642, read.
ISO_273_MEDIUM = {3.0: 3.4, 4.0: 4.5, 5.0: 5.5, 6.0: 6.6}


def test_heads_are_those_of_the_standard():
    assert dict(hardware_for("screw", 0, 0).heads_mm) == ISO_7046_DK_MAX


def test_the_cone_has_the_angle_of_metric_countersunk_heads():
    """ISO 7046, ISO 10642, DIN 7991: 90 degrees (82 belongs to inch screws)."""
    assert hardware_for("screw", 0, 0).angle_deg == 90.0


@pytest.mark.parametrize(("thread", "hole"), ISO_273_MEDIUM.items())
def test_a_clearance_hole_takes_its_screw_and_no_larger_one(thread, hole):
    assert head_of(hole) == (thread, pytest.approx(ISO_7046_DK_MAX[thread] + HEAD_PLAY_MM))


def test_the_bridge_over_a_slot_bends_as_a_built_in_beam():
    """Beam built in at both ends, even load P over L: moments P L / 12 at the ends, P L / 24 in the middle.

    Solved here by finite differences of E I w'''' = q with w = w' = 0 at both ends.
    """
    length, load, count = 11.0, 90.0, 401
    step = length / (count - 1)
    stencil = np.zeros((count, count))
    right = np.full(count, load / length)
    for row in range(2, count - 2):
        stencil[row, row - 2 : row + 3] = np.array([1.0, -4.0, 6.0, -4.0, 1.0]) / step**4
    for row, columns in ((0, [0]), (1, [0, 1, 2]), (count - 2, [-3, -2, -1]), (count - 1, [-1])):
        weights = {1: [1.0], 3: [-3.0, 4.0, -1.0] if row == 1 else [1.0, -4.0, 3.0]}[len(columns)]
        stencil[row, columns], right[row] = weights, 0.0
    bend = np.linalg.solve(stencil, right)
    moment = np.gradient(np.gradient(bend, step), step)
    at_end = float(np.polyval(np.polyfit(np.arange(5, 25) * step, moment[5:25], 3), 0.0))
    assert abs(at_end) == pytest.approx(load * length / 12, rel=0.01)
    slot = Slot(length, 4.0, 2.0)
    assert slot.bending(load) == pytest.approx(load * length / 12 / (2.0 * 4.0**2 / 6))


def test_the_worked_slot():
    """L 11, wall 4, t 2, P 90: net 90 / 16 = 5.625, bearing 90 / 22 = 4.09, bending 82.5 / 5.33 = 15.47."""
    slot = Slot(11.0, 4.0, 2.0)
    assert slot.net(LOAD_N) == slot.shear(LOAD_N) == 5.625
    assert slot.bearing(LOAD_N) == pytest.approx(90 / 22)
    assert slot.bending(LOAD_N) == pytest.approx(15.46875)
    assert slot.weakest().factor == pytest.approx(50 / 15.46875)


def test_the_wall_of_the_table_is_what_a_strap_needs_on_the_usual_base():
    """Factor 3 on 50 MPa at 90 N (EN 71-1, 8.4), base 2.0 mm; a wall of 2.5 mm, enough for a ring, is not."""
    strap = hardware_for("strap", 0, 0)
    length = strap.size_mm[0] + strap.play_mm
    assert Slot(length, strap.wall_mm, 2.0).weakest().factor >= LEAST_FACTOR
    assert Slot(length, 2.5, 2.0).weakest().factor < LEAST_FACTOR


def test_pockets_have_the_usual_play_floor_and_wall():
    """Common practice, no source: magnet +0.15 wide, +0.2 deep, two layers above, bridge <= 10, wall 1.2."""
    assert (WIDER_MM, DEEPER_MM, FLOOR_LAYERS) == (0.15, 0.2, 2)
    assert hardware_for("magnet", 0, 0).size_mm[0] + WIDER_MM <= 10.0
    assert hardware_for("magnet", 0, 0).wall_mm == 1.2


def test_a_screw_of_the_default_hole_sinks_into_the_default_base():
    """The cone of a 90 degree head is as deep as its overhang beside the hole: (8.6 - 5.0) / 2 < 2.0 mm."""
    _, countersink = head_of(5.0)
    assert (countersink - 5.0) / 2 / math.tan(math.radians(45)) < 2.0
