"""Pieces that are cut for the bed, measured on their solids."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from core.plan.division.cuts import BED, LINE, UP, UPRIGHT, colored, divided, sign
from reliefsmith.checks.inspect import inspect
from reliefsmith.errors import GeometryError
from reliefsmith.findings import Severity
from reliefsmith.mesh import cut as section_at
from reliefsmith.mesh import signed_volume
from reliefsmith.plan.division.jointkeys import DOVETAIL_DEG
from reliefsmith.polygons import shrink
from reliefsmith.recipe.sections import (
    CostSettings,
    FilamentSettings,
    HangSettings,
    HeightSettings,
    PrinterSettings,
)
from reliefsmith.solid.build import build
from reliefsmith.solid.segmented import parts_by_segment
from reliefsmith.solid.stacking import stack
from sound import assert_closed, assert_closed_as_stl

from .plans import plan_of

GAP = 0.2
EXACT_MM = 1e-3
AT_CORNERS = 0.75
# Half of the gap, and more at the corners of keys, where the far side is a corner too.


def solids(plan, heights=UP, **printer):
    """Return stack, parts, and the parts of each segment of a plan."""
    stacked = stack(plan, heights=heights, printer=PrinterSettings(**printer))
    parts = build(stacked)
    return stacked, parts, parts_by_segment(parts, plan.division, mirrored=heights.face == "down")


def slice_of(parts, z):
    """Return what parts fill at a height."""
    return shapely.union_all([section_at(part.vertices, part.triangles, z) for part in parts])


@pytest.mark.parametrize(
    ("joint", "heights"),
    [
        ("hammer", UP),
        ("dovetail", UP),
        ("hammer", HeightSettings(style="flush")),
        ("hammer", HeightSettings(style="stepped")),
        ("hammer", HeightSettings(style="raised", top="chamfer")),
        ("dovetail", HeightSettings(style="flush", face="down")),
    ],
)
def test_parts_are_sound_lie_on_the_bed_and_leave_the_gap(joint, heights) -> None:
    whole = colored(sign())
    plan = divided(whole, joint=joint, heights=heights)
    _, parts, segments = solids(plan, heights, filaments=4)
    assert len(segments) == 2
    for part in [*parts, *(one for own in segments for one in own)]:
        assert_closed(part)
        assert_closed_as_stl(part)
    split = sum(signed_volume(one.vertices, one.triangles) for own in segments for one in own)
    assert split == pytest.approx(sum(signed_volume(p.vertices, p.triangles) for p in parts), rel=1e-9)
    uncut = build(stack(whole, heights=heights, printer=PrinterSettings(filaments=4)))
    for z in (0.3, 0.5, 0.9, 1.9):  # not in the layer that stays free over tabs
        slices = [slice_of(own, z) for own in segments]
        assert shapely.distance(*slices) == pytest.approx(GAP, abs=EXACT_MM)
        missing = shapely.difference(slice_of(uncut, z), shapely.union_all(slices))
        missing = shapely.difference(missing, _numbers(plan, heights))
        assert shrink(missing, AT_CORNERS * GAP).is_empty


def _numbers(plan, heights):
    """Return where numbers are sunk, and a little round them, as printed."""
    shape = shapely.union_all([one.digits for one in plan.division.segments]).buffer(0.01)
    return affinity.scale(shape, -1, 1, origin=(0, 0)) if heights.face == "down" else shape


@pytest.mark.parametrize("joint", ["hammer", "dovetail"])
@pytest.mark.parametrize("face", ["up", "down"])
def test_keys_hold(joint, face) -> None:
    heights = UP if face == "up" else HeightSettings(style="flush", face="down")
    plan = divided(
        plan_of(sign()), joint=joint, heights=heights, lines=({"from_mm": (0, -60), "to_mm": (0, 60)},)
    )
    _, _, (first, second) = solids(plan, heights)
    still, pulled = slice_of(second, 0.3), slice_of(first, 0.3)
    # A dovetail's sides stand askew, so it is pulled farther before they meet.
    reach = GAP / math.sin(math.radians(DOVETAIL_DEG)) if joint == "dovetail" else GAP
    away = 1 if face == "down" else -1  # face down the files are mirrored
    apart = affinity.translate(pulled, away * (reach + 0.02), 0)
    assert shapely.intersection(apart, still).area > 0
    assert shapely.intersection(affinity.translate(pulled, away * (reach - 0.02), 0), still).is_empty
    sideways = affinity.translate(pulled, 0, GAP + 0.02)
    assert shapely.intersection(sideways, still).area > 0


def test_plain_edges_hold_nothing() -> None:
    plan = divided(plan_of(sign()), joint="plain")
    _, _, (first, second) = solids(plan)
    away = affinity.translate(slice_of(first, 0.3), -5, 0)
    assert plan.division.keys == 0
    assert shapely.intersection(away, slice_of(second, 0.3)).is_empty


def test_the_face_shows_straight_seams_and_motifs_are_cut_with_the_base() -> None:
    (line,) = LINE
    plan = divided(colored(sign()))
    _, _, segments = solids(plan)
    for z in (1.7, 2.3):  # over the roof, and through the motifs
        slices = [slice_of(own, z) for own in segments]
        assert shapely.distance(*slices) == pytest.approx(GAP, abs=EXACT_MM)
        filled = sign() if z < 2 else shapely.union_all([item.polygon for item in colored(sign()).motifs])
        seam = shapely.LineString([line["from_mm"], line["to_mm"]]).buffer(GAP + EXACT_MM)
        assert shapely.difference(filled, shapely.union_all([*slices, seam])).is_empty  # no key is seen


def test_the_test_piece_widens_the_gap() -> None:
    plan = divided(plan_of(sign()), printer=PrinterSettings(bed_mm=BED, hole_loss_mm=0.1))
    _, _, segments = solids(plan)
    assert plan.division.clearance_mm == pytest.approx(GAP + 0.05)
    assert shapely.distance(*(slice_of(own, 0.3) for own in segments)) == pytest.approx(0.25, abs=EXACT_MM)


@pytest.mark.parametrize("face", ["up", "down"])
def test_layers_are_clean(face) -> None:
    heights = UP if face == "up" else HeightSettings(style="flush", face="down")
    plan = divided(colored(sign()), heights=heights)
    stacked, parts, _ = solids(plan, heights, filaments=4)
    found = inspect(
        plan,
        stacked,
        parts,
        heights=heights,
        printer=PrinterSettings(bed_mm=BED, filaments=4),
        hang=HangSettings(hardware="none"),
        cost=CostSettings(),
        filaments=FilamentSettings(),
        audience="adults",
    )
    assert [item for item in found.findings if item.severity is not Severity.NOTE] == []


def test_every_part_has_its_number_on_its_back() -> None:
    plan = divided(plan_of(sign()))
    _, _, segments = solids(plan)
    for one, own in zip(plan.division.segments, segments, strict=True):
        assert one.digits.area > 3
        assert shapely.intersection(slice_of(own, 0.1), one.digits).area < 1e-3
        assert shapely.intersection(slice_of(own, 0.5), one.digits).area == pytest.approx(
            one.digits.area, rel=1e-3
        )
    assert all(item.digits.is_empty for item in divided(plan_of(sign()), numbers=False).division.segments)


def test_a_part_that_the_gap_would_break_is_two_parts() -> None:
    """Two fields after the line hang together by 0.2 mm, which is the gap."""
    fields = [shapely.box(-75, -30, 0, 30), shapely.box(0, -30, 75, -2), shapely.box(0, 2, 75, 30)]
    neck = shapely.box(-1, -2, 0.1, 2)
    plan = divided(plan_of(shapely.union_all([*fields, neck])), lines=UPRIGHT)
    assert len(plan.division.segments) == 3
    assert_closed(solids(plan)[1][0])


def test_a_base_too_low_for_keys_is_refused() -> None:
    plan = divided(plan_of(sign()), heights=replace(UP, base_mm=1.2))
    with pytest.raises(GeometryError, match="too low for keys below the face; set heights"):
        solids(plan, replace(UP, base_mm=1.2))


@settings(
    max_examples=8,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(
    radii=st.lists(st.floats(40, 90), min_size=7, max_size=11),
    turn=st.floats(0, 180),
    shift=st.floats(-25, 25),
    joint=st.sampled_from(["hammer", "dovetail", "plain"]),
)
def test_random_outlines_and_lines(radii, turn, shift, joint) -> None:
    angles = [2 * math.pi * k / len(radii) for k in range(len(radii))]
    corners = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
    base = shapely.set_precision(shapely.Polygon(corners).buffer(2), 0.001)
    line = affinity.translate(shapely.LineString([(-150, 0), (150, 0)]), 0, shift)
    ends = shapely.get_coordinates(affinity.rotate(line, turn, origin=(0, 0))).round(3).tolist()
    try:
        plan = divided(
            plan_of(base), lines=({"from_mm": ends[0], "to_mm": ends[1]},), joint=joint, numbers=False
        )
    except GeometryError:
        assume(False)
    _, parts, segments = solids(plan)
    for part in [*parts, *(one for own in segments for one in own)]:
        assert_closed(part)
    for z in (0.3, 1.9):
        slices = [slice_of(own, z) for own in segments]
        gaps = [
            shapely.distance(one, other)
            for k, one in enumerate(slices)
            for other in slices[k + 1 :]
            if shapely.dwithin(one, other, 2)
        ]
        assert min(gaps) == pytest.approx(GAP, abs=EXACT_MM)
        missing = shapely.difference(base, shapely.union_all(slices))
        assert shrink(missing, AT_CORNERS * GAP).is_empty
