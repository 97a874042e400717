"""A piece cut as the recipe asks: which, in which order, on which filling of the bed, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from core.solid.plans import GOLD, RED, plan_of
from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.model import Hole, Pocket
from reliefsmith.plan.division.divide import LEAST_GAP_MM
from reliefsmith.polygons.packing import Placed, least_gap_mm, placed_shape
from reliefsmith.recipe.sections import BedSettings, HeightSettings, PrinterSettings, SeamSettings

from .cuts import BED, UPRIGHT, divided, sign

EXACT_MM = 1e-3


def test_auto_leaves_what_fits() -> None:
    fitting = plan_of(shapely.box(-45, -45, 45, 45))
    assert divided(fitting, mode="auto") is fitting
    wide = plan_of(sign())
    assert divided(wide, mode="off") is wide


def test_a_piece_that_fits_only_beside_the_strip_of_the_bed_is_cut() -> None:
    """The strip is left free at the back of the bed: a plate of 90 mm on one of 100 mm, with 15 mm of it."""
    plan = plan_of(shapely.box(-45, -45, 45, 45))
    auto = {"mode": "auto", "joint": "plain", "numbers": False}
    assert divided(plan, strip_mm=10.0, **auto) is plan
    assert len(divided(plan, strip_mm=15.0, **auto).division.segments) == 2


def test_a_bed_that_leaves_nothing_for_keys_is_refused() -> None:
    """Keys of 6 mm at both ends, askew, take 13.8 mm; the strip leaves 13 mm, or 15."""
    plan = plan_of(shapely.box(-75, -5, 75, 5))
    with pytest.raises(
        RecipeError, match=r"100 x 13 mm leaves nothing .* keys take 13\.8 mm; set beds\.strip"
    ):
        divided(plan, mode="auto", strip_mm=87.0, numbers=False)
    assert divided(plan, mode="auto", strip_mm=87.0, joint="plain", numbers=False).division is not None


def test_parts_are_numbered_from_the_upper_left_each_held_by_those_before() -> None:
    """Four fields of a cross: the upper left first, then one that it touches, the one across last."""
    cross = ({"from_mm": (0, -60), "to_mm": (0, 60)}, {"from_mm": (-90, 0), "to_mm": (90, 0)})
    division = divided(plan_of(sign()), lines=cross, joint="plain", numbers=False).division
    quarters = [(one.outline.centroid.x > 0, one.outline.centroid.y > 0) for one in division.segments]
    assert [one.number for one in division.segments] == [1, 2, 3, 4]
    assert quarters[0] == (False, True)
    assert all((x, y) != (True, False) for x, y in quarters[:2])  # it meets the first at a point only


def test_the_gap_is_the_clearance_and_half_of_what_holes_lose_but_never_next_to_nothing() -> None:
    for loss, clearance, gap in ((0.0, 0.2, 0.2), (0.1, 0.2, 0.25), (-0.3, 0.1, LEAST_GAP_MM)):
        printer = PrinterSettings(bed_mm=BED, hole_loss_mm=loss)
        division = divided(
            plan_of(sign()), printer=printer, clearance_mm=clearance, joint="plain", numbers=False
        ).division
        assert division.clearance_mm == pytest.approx(gap)
        apart = shapely.distance(*(one.outline for one in division.segments))
        assert apart == pytest.approx(gap, abs=EXACT_MM)


def test_keys_lie_below_the_face_or_go_through_the_piece_that_is_printed_face_down() -> None:
    up = divided(plan_of(sign()), lines=UPRIGHT).division
    face_down = HeightSettings(style="flush", face="down")
    down = divided(plan_of(sign()), lines=UPRIGHT, heights=face_down, numbers=False).division
    assert up.keys == down.keys > 0
    assert shapely.covers(up.sockets, up.tabs.intersection(shapely.box(0, -60, 90, 60)))
    assert down.tabs.is_empty
    assert down.sockets.is_empty
    assert all(shapely.intersection(one.digits, up.sockets).is_empty for one in up.segments)


def test_the_note_counts_parts_fillings_of_the_bed_and_keys() -> None:
    plan = divided(plan_of(sign()), lines=UPRIGHT)
    (told,) = [item.message for item in plan.notes if item.code == "piece-cut"]
    assert f"{len(plan.division.segments)} parts" in told
    assert f"{plan.division.keys} keys" in told
    assert "There is no room for a number" not in told
    slim = plan_of(shapely.box(-75, -2, 75, 2))
    for numbers, words in ((True, "There is no room for a number on part 1, 2."), (False, "plain edges.")):
        (told,) = [
            item.message for item in divided(slim, joint="plain", lines=UPRIGHT, numbers=numbers).notes
        ]
        assert told.endswith(words)


def test_plates_hold_their_parts_apart() -> None:
    plan = divided(plan_of(shapely.box(-90, -40, 90, 40)), mode="auto", numbers=False)
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


def test_auto_cuts_along_a_boundary_of_colors() -> None:
    """The straight way through one color is shorter, the slanted boundary shows less."""
    base = shapely.box(-75, -30, 75, 30)
    edge = [(-12, -29), (8, 29)]
    left = shapely.Polygon([(-74, -29), *edge, (-74, 29)])
    right = shapely.Polygon([(74, -29), (74, 29), edge[1], edge[0]])
    plan = divided(plan_of(base, (RED, left), (GOLD, right)), mode="auto", numbers=False)
    assert len(plan.division.segments) == 2
    for motif, side in zip(plan.motifs, (left, right), strict=True):
        other = right if motif.color == RED else left
        assert motif.polygon.intersection(other).area < 0.02, side
        assert motif.polygon.area == pytest.approx((left if motif.color == RED else right).area, rel=0.01)


def test_a_neck_too_narrow_for_a_key_is_found_and_a_wide_one_is_not() -> None:
    fields = [shapely.box(-75, -30, -25, 30), shapely.box(25, -30, 75, 30)]
    for half, expected in ((2, ["key-missing"]), (10, [])):
        bridged = shapely.union_all([*fields, shapely.box(-25, -half, 25, half)])
        plan = divided(plan_of(bridged), mode="auto", numbers=False)
        assert len(plan.division.segments) == 2
        assert [item.code for item in plan.findings] == expected


def test_a_line_through_a_hanging_hole_is_refused() -> None:
    hole = Hole((0.0, 0.0), 5.0, 2.5, 0.0, "inside", (0.0, 2.5))
    with pytest.raises(GeometryError, match="crosses a hole, a pocket or a sunk text near"):
        divided(replace(plan_of(sign()), hole=hole))


@pytest.mark.parametrize(("kind", "words"), [("picture", "the second picture"), ("lettering", "a sunk text")])
def test_a_cut_through_what_is_sunk_over_all_of_the_back_is_refused(kind: str, words: str) -> None:
    """What lies across every place where the plate can be halved: nothing else would be cut."""
    sunk = Pocket(kind, shapely.box(-70, -25, 70, 25), 0.4, "back", GOLD)
    with pytest.raises(GeometryError, match=f"has to be cut through {words} near"):
        divided(replace(plan_of(shapely.box(-75, -30, 75, 30)), inlays=(sunk,)), mode="auto")


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


def test_what_cannot_be_divided_at_all_is_refused() -> None:
    with pytest.raises(GeometryError, match="two plates is not cut"):
        divided(plan_of(sign()), heights=HeightSettings(style="sunk", face="down", split="pegs"))
    with pytest.raises(RecipeError, match="needs seams"):
        divided(plan_of(sign()), lines=())
    with pytest.raises(RecipeError, match="one point"):
        SeamSettings(mode="line", lines=({"from_mm": (1, 1), "to_mm": (1, 1)},))
    with pytest.raises(GeometryError, match="more than 60"):
        divided(plan_of(shapely.box(-900, -900, 900, 900)), mode="auto")
