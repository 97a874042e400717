"""Hatches: as much ink as their lines and dots have, in the directions they are called by."""

from __future__ import annotations

import math
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from reliefsmith.documents.hatch import HATCHES, Hatch, hatch_for, hatch_plane, hatch_svg

PX = 24.0


def test_no_two_hatches_look_alike():
    planes = [hatch_plane(hatch, (96, 96), 12.0) for hatch in HATCHES]
    for n, one in enumerate(planes):
        for other in planes[n + 1 :]:
            assert np.abs(one - other).mean() > 0.05


def _ink(hatch: Hatch) -> float:
    """Which share of an endless plane is covered."""
    if hatch.dots:
        return math.pi * (hatch.line_mm / 2) ** 2 / hatch.pitch_mm**2
    return 1 - (1 - hatch.line_mm / hatch.pitch_mm) ** len(hatch.angles_deg)


@pytest.mark.parametrize("hatch", HATCHES, ids=lambda hatch: hatch.words)
def test_a_pattern_covers_what_its_sizes_say(hatch: Hatch) -> None:
    plane = hatch_plane(hatch, (1600, 1600), PX)
    assert plane.shape == (1600, 1600)
    assert plane.dtype == np.float32
    assert 0 <= plane.min() <= plane.max() <= 1
    assert plane.mean() == pytest.approx(_ink(hatch), rel=0.04, abs=1e-6)


@pytest.mark.parametrize("angle", [0.0, 45.0, 60.0, 90.0, 135.0])
def test_lines_go_in_their_direction_counter_clockwise(angle: float) -> None:
    """Along its direction a plane does not change, seen with y up; a quarter farther it does."""
    plane = hatch_plane(Hatch("", (angle,), 1.0, 0.3), (400, 400), 40.0)
    spread = []
    for turn in (0, 90):
        along = math.radians(angle + turn)
        x = np.rint(200 + np.arange(100) * math.cos(along)).astype(int)
        y = np.rint(200 - np.arange(100) * math.sin(along)).astype(int)
        spread.append(np.std(plane[y, x]))
    assert spread[0] < 0.5 * spread[1]


def test_rows_of_dots_stand_in_gaps_of_the_row_before() -> None:
    hatch = Hatch("", (), 2.0, 1.0, dots=True)
    plane = hatch_plane(hatch, (160, 160), 20.0)
    spots = {(1.0, 1.0), (3.0, 1.0), (2.0, 3.0), (4.0, 3.0), (1.0, 5.0)}
    assert all(plane[round(y * 20), round(x * 20)] == 1 for x, y in spots)
    assert plane[round(3.0 * 20), round(1.0 * 20)] == 0


def test_more_colors_than_patterns_start_again() -> None:
    assert hatch_for(1) is HATCHES[0]
    assert hatch_for(len(HATCHES)) is HATCHES[-1]
    assert hatch_for(len(HATCHES) + 1) is HATCHES[0]


@pytest.mark.parametrize("hatch", HATCHES, ids=lambda hatch: hatch.words)
def test_the_pattern_for_pages_repeats_with_the_same_pitch(hatch: Hatch) -> None:
    root = ET.fromstring(hatch_svg(hatch, "h", "#22262b"))
    assert (root.tag, root.get("id"), root.get("fill")) == ("pattern", "h", "#22262b")
    assert float(root.get("width", "")) == hatch.pitch_mm
    assert float(root.get("height", "")) == hatch.pitch_mm * (2 if hatch.dots else 1)
    assert len(root.findall(".//path")) == len(hatch.angles_deg)
    turn = root.get("patternTransform")
    if hatch.angles_deg and hatch.angles_deg[0]:
        assert turn == f"rotate({-hatch.angles_deg[0]:g})"  # y goes down there
    radii = {float(item.get("r", "")) for item in root.iter("circle")}
    assert radii == ({hatch.line_mm / 2} if hatch.dots else set())
