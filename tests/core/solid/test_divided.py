"""Pieces that are cut for the bed, measured on their solids."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from reliefsmith.checks.inspect import inspect
from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.findings import Severity
from reliefsmith.mesh import cut as section_at
from reliefsmith.mesh import signed_volume
from reliefsmith.model import Hole
from reliefsmith.plan.division.divide import divide
from reliefsmith.plan.division.jointkeys import DOVETAIL_DEG
from reliefsmith.polygons import shrink, snapped
from reliefsmith.polygons.packing import Placed, least_gap_mm, placed_shape
from reliefsmith.recipe.sections import (
    BaseSettings,
    BedSettings,
    CostSettings,
    FilamentSettings,
    HangSettings,
    HeightSettings,
    MotifSettings,
    PrinterSettings,
    SeamSettings,
)
from reliefsmith.solid.build import build
from reliefsmith.solid.segmented import parts_by_segment
from reliefsmith.solid.stacking import stack
from sound import assert_closed, assert_closed_as_stl

from .plans import GOLD, RED, plan_of

GAP = 0.2
EXACT_MM = 1e-3
AT_CORNERS = 0.75
# Half of the gap, and more at the corners of keys, where the far side is a corner too.
BED = (100.0, 100.0)
LINE = ({"from_mm": (0, -60), "to_mm": (3, 60)},)
UPRIGHT = ({"from_mm": (0, -60), "to_mm": (0, 60)},)
UP = HeightSettings(style="raised")


def divided(plan, *, heights=UP, bed=BED, printer=None, **cut):
    """Return a plan cut as `cut` says, for a bed."""
    return divide(
        plan,
        seams=SeamSettings(**{"mode": "line", "lines": LINE, **cut}),
        heights=heights,
        printer=printer or PrinterSettings(bed_mm=bed),
        beds=BedSettings(),
        base=BaseSettings(),
        motif=MotifSettings(),
    )


def solids(plan, heights=UP, **printer):
    """Return stack, parts, and the parts of each segment of a plan."""
    stacked = stack(plan, heights=heights, printer=PrinterSettings(**printer))
    parts = build(stacked)
    return stacked, parts, parts_by_segment(parts, plan.division, mirrored=heights.face == "down")


def slice_of(parts, z):
    """Return what parts fill at a height."""
    return shapely.union_all([section_at(part.vertices, part.triangles, z) for part in parts])


def sign() -> shapely.Polygon:
    """A plate with a hole and a notch, wider than the bed."""
    plate = shapely.box(-75, -30, 75, 30).buffer(3, quad_segs=4)
    holed = (plate - shapely.Point(-60, 0).buffer(4)) - shapely.box(20, 20, 26, 40)
    return shapely.transform(holed, snapped)


def colored(base):
    """A plan with a motif on each side of its middle and one across it."""
    across = shapely.box(-15, -6, 15, 6)
    left, right = shapely.box(-50, 10, -20, 24), shapely.box(30, -24, 60, -10)
    return plan_of(base, (RED, shapely.union_all([left, across])), (GOLD, right))


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


def test_plates_hold_their_parts_apart() -> None:
    plan = divided(plan_of(shapely.box(-90, -40, 90, 40)), mode="auto")
    assert plan.division.plates > 1
    for plate in range(1, plan.division.plates + 1):
        lying = [
            placed_shape(one.outline, Placed(0, 0, one.turn_deg, one.at_mm))
            for one in plan.division.segments
            if one.plate == plate
        ]
        x0, y0, x1, y1 = shapely.total_bounds(lying)
        assert min(x0, y0) >= -EXACT_MM
        assert max(x1, y1) <= BED[0] + EXACT_MM
        assert least_gap_mm(lying) >= BedSettings().spacing_mm - EXACT_MM


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


def test_auto_cuts_along_a_boundary_of_colors() -> None:
    """The straight way through one color is shorter, the slanted boundary shows less."""
    base = shapely.box(-75, -30, 75, 30)
    edge = [(-12, -29), (8, 29)]
    left = shapely.Polygon([(-74, -29), *edge, (-74, 29)])
    right = shapely.Polygon([(74, -29), (74, 29), edge[1], edge[0]])
    plan = divided(plan_of(base, (RED, left), (GOLD, right)), mode="auto")
    assert len(plan.division.segments) == 2
    for motif, side in zip(plan.motifs, (left, right), strict=True):
        other = right if motif.color == RED else left
        assert motif.polygon.intersection(other).area < 0.02, side
        assert motif.polygon.area == pytest.approx((left if motif.color == RED else right).area, rel=0.01)


def test_a_neck_too_narrow_for_a_key_is_found_and_a_wide_one_is_not() -> None:
    fields = [shapely.box(-75, -30, -25, 30), shapely.box(25, -30, 75, 30)]
    for half, expected in ((2, ["key-missing"]), (10, [])):
        bridged = shapely.union_all([*fields, shapely.box(-25, -half, 25, half)])
        plan = divided(plan_of(bridged), mode="auto")
        assert len(plan.division.segments) == 2
        assert [item.code for item in plan.findings] == expected


def test_a_part_that_the_gap_would_break_is_two_parts() -> None:
    """Two fields after the line hang together by 0.2 mm, which is the gap."""
    fields = [shapely.box(-75, -30, 0, 30), shapely.box(0, -30, 75, -2), shapely.box(0, 2, 75, 30)]
    neck = shapely.box(-1, -2, 0.1, 2)
    plan = divided(plan_of(shapely.union_all([*fields, neck])), lines=UPRIGHT)
    assert len(plan.division.segments) == 3
    assert_closed(solids(plan)[1][0])


def test_auto_leaves_what_fits() -> None:
    fitting = plan_of(shapely.box(-45, -45, 45, 45))
    assert divided(fitting, mode="auto") is fitting
    wide = plan_of(sign())
    assert divided(wide, mode="off") is wide


def test_a_line_through_a_hanging_hole_is_refused() -> None:
    hole = Hole((0.0, 0.0), 5.0, 2.5, 0.0, "inside", (0.0, 2.5))
    with pytest.raises(GeometryError, match="crosses a hole, a pocket or a sunk text near"):
        divided(replace(plan_of(sign()), hole=hole))


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (
            {"lines": ({"from_mm": (90, -60), "to_mm": (90, 60)},)},
            "line 1 of seams.lines misses the piece",
        ),
        ({"lines": ({"from_mm": (0, -60), "to_mm": (0, 5)},)}, "line 1 of seams.lines cuts nothing off"),
        ({"lines": ({"from_mm": (74, -60), "to_mm": (74, 60)},)}, "no key of 3 mm fits along the cut"),
        ({"lines": ({"from_mm": (74, -60), "to_mm": (74, 60)},), "reach_mm": 8}, "no key of 8 mm fits"),
    ],
)
def test_what_cannot_be_cut_is_refused(cut, words) -> None:
    with pytest.raises(GeometryError, match=words):
        divided(plan_of(sign()), **cut)


def test_what_cannot_carry_keys_is_refused() -> None:
    plan = divided(plan_of(sign()), heights=replace(UP, base_mm=1.2))
    with pytest.raises(GeometryError, match="too low for keys below the face; set heights"):
        solids(plan, replace(UP, base_mm=1.2))
    with pytest.raises(GeometryError, match="two plates is not cut"):
        divided(plan_of(sign()), heights=HeightSettings(style="sunk", face="down", split="pegs"))
    with pytest.raises(RecipeError, match="needs seams"):
        divided(plan_of(sign()), lines=())
    with pytest.raises(RecipeError, match="one point"):
        SeamSettings(mode="line", lines=({"from_mm": (1, 1), "to_mm": (1, 1)},))
    with pytest.raises(GeometryError, match="more than 60"):
        divided(plan_of(shapely.box(-900, -900, 900, 900)), mode="auto")


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
