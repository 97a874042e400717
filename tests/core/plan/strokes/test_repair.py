from __future__ import annotations

import math
import sys

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.plan.strokes.changed import smallest_good_scale
from reliefsmith.plan.strokes.partition import sheet_of
from reliefsmith.plan.strokes.repair import Limits, repair_steps, repaired_sheet
from reliefsmith.polygons import opened, polygons_of
from reliefsmith.recipe import Recipe

from ..arts import BLACK, BLUE, RED, WHITE, YELLOW, artworks, assert_in_register, flat, outlined, repaired

PLATE = shapely.box(-20, -20, 20, 20)
RECIPE = Recipe()
LIMITS = Limits.of(RECIPE.motif, RECIPE.printer)


def motif(plan, color):
    return next((item.polygon for item in plan.motifs if item.color == color), shapely.MultiPolygon())


def codes(plan):
    return {note.code for note in plan.notes}


@settings(max_examples=30)
@given(artworks())
def test_after_repair_all_is_in_register_and_hardly_anything_is_thinner_than_the_nozzle(areas):
    plan = repaired(areas)
    assert_in_register(plan)
    for item in plan.motifs:
        assert item.polygon.distance(plan.base.boundary) >= 0.3 - 0.005
        thin = item.polygon.area - opened(item.polygon, 0.196).intersection(item.polygon).area
        # Tips under the least tail are left: 0.5 % of the area, or a square of 0.25 mm on a tiny color.
        assert thin <= max(0.005 * item.polygon.area, 0.25**2)


@settings(max_examples=15)
@given(artworks())
def test_a_second_repair_changes_next_to_nothing(areas):
    once = repaired(areas)
    if not once.motifs:
        return
    sheet = sheet_of([item.polygon for item in once.motifs])
    twice = repaired_sheet(sheet, LIMITS)
    pairs = zip(sheet.motifs, twice.motifs, strict=True)
    changed = sum(old.symmetric_difference(new).area for old, new in pairs)
    # Where strokes and gaps compete for room on art of 15 mm, the second repair settles a little more of it.
    assert changed <= 0.1 * sum(item.area for item in sheet.motifs) + 0.3


def test_a_thin_stroke_becomes_as_wide_as_the_least_stroke_and_its_note_says_where():
    line = shapely.box(-10, -0.15, 10, 0.15)
    plan = repaired(flat((RED, PLATE), (BLUE, line)))
    stroke = motif(plan, BLUE)
    assert stroke.bounds[3] - stroke.bounds[1] == pytest.approx(0.6, abs=0.005)
    (made,) = [note for note in plan.notes if note.code == "stroke-thickened"]
    assert made.size_mm == pytest.approx(20, abs=1)


def test_notes_tell_the_width_before_and_after():
    line, left, right = (
        shapely.box(-10, 10, 10, 10.4),
        shapely.box(-9, -8, -0.1, 8),
        shapely.box(0.1, -8, 9, 8),
    )
    plan = repaired(flat((RED, PLATE), (BLUE, shapely.union_all([line, left, right]))))
    told = {note.code: note.message for note in plan.notes}
    assert told["stroke-thickened"].startswith("A stroke of 0.40 mm was thickened to 0.60 mm over ")
    assert told["gap-opened"].startswith("A gap of 0.20 mm was opened to 0.50 mm over ")


def test_a_dark_spar_between_pointed_ends_keeps_its_width():
    """Four colors meet in points at a spar of the base's color, as panels of a kite do."""
    spar = shapely.box(-0.45, -12, 0.45, 12)
    sides = [shapely.Polygon([(s * 0.45, 3), (s * 9, -4), (s * 9, -12), (s * 0.45, -5)]) for s in (-1, 1)]
    plan = repaired(flat((BLACK, PLATE), (RED, sides[0]), (YELLOW, sides[1])))
    free = spar.difference(shapely.union_all([motif(plan, color) for color in (RED, YELLOW)]))
    across = shapely.LineString([(-0.45, 2.8), (0.45, 2.8)])
    assert across.intersection(free).length >= 0.8
    assert free.area >= 0.98 * spar.area


def test_a_star_keeps_its_points_but_for_what_no_nozzle_prints():
    """Points of 36 degrees end where a disc of 0.4 mm fits, 0.447 mm behind the tip, or a bit later."""
    angles = np.pi / 2 + np.arange(10) * np.pi / 5
    radii = np.where(np.arange(10) % 2 == 0, 5.0, 5.0 * 0.382)
    star = shapely.Polygon(np.column_stack([np.cos(angles), np.sin(angles)]) * radii[:, None])
    after = motif(repaired(flat((RED, PLATE), (BLUE, star))), BLUE)
    assert 5.0 - 0.2 * (1 / math.sin(math.radians(18)) - 1) - 0.01 <= after.bounds[3] <= 5.0
    assert after.difference(star.buffer(0.06)).is_empty


def test_no_step_of_a_repair_is_the_whole_of_it():
    areas = flat(
        (RED, PLATE), (BLUE, shapely.union_all([shapely.box(-9, y, 9, y + 0.4) for y in range(-9, 9)]))
    )
    steps = list(repair_steps(outlined(areas), base=RECIPE.base, motif=RECIPE.motif, printer=RECIPE.printer))
    assert len(steps) >= 10
    assert [step.fraction for step in steps] == sorted(step.fraction for step in steps)


def test_what_is_wide_enough_is_left_exactly_alone():
    square = shapely.box(-5, -5, 5, 5)
    plan = repaired(flat((RED, PLATE), (BLUE, square)))
    assert motif(plan, BLUE).equals(square)
    assert not codes(plan)


def test_a_narrow_gap_between_motifs_is_opened():
    left, right = shapely.box(-10, -8, -0.1, 8), shapely.box(0.1, -8, 10, 8)
    plan = repaired(flat((RED, PLATE), (BLUE, left), (YELLOW, right)))
    assert motif(plan, BLUE).distance(motif(plan, YELLOW)) == pytest.approx(0.5, abs=0.005)
    assert "gap-opened" in codes(plan)


def test_touching_motifs_have_no_gap_to_open():
    left, right = shapely.box(-10, -8, 0, 8), shapely.box(0, -8, 10, 8)
    plan = repaired(flat((RED, PLATE), (BLUE, left), (YELLOW, right)))
    assert motif(plan, BLUE).distance(motif(plan, YELLOW)) == 0
    assert motif(plan, BLUE).area == left.area


def test_two_squeezed_strokes_move_apart_within_the_rounds():
    """Side by side, 0.3 mm each: the second is pushed aside until both are nearly 0.6 mm wide."""
    one, two = shapely.box(-10, 0, 10, 0.3), shapely.box(-10, 0.3, 10, 0.6)
    plan = repaired(flat((RED, PLATE), (BLUE, one), (YELLOW, two)))
    middle = shapely.LineString([(0, -5), (0, 5)])
    widths = [middle.intersection(motif(plan, color)).length for color in (BLUE, YELLOW)]
    assert min(widths) >= 0.52


def test_much_repair_is_a_finding_and_little_is_none():
    lines = shapely.union_all([shapely.box(-9, y, 9, y + 0.2) for y in range(-9, 10, 2)])
    much = repaired(flat((WHITE, lines)))
    assert "much-repaired" in {finding.code for finding in much.findings}
    little = repaired(flat((RED, PLATE), (BLUE, shapely.box(-10, -0.25, 10, 0.25))))
    assert not little.findings


def test_topology_of_a_ring_and_a_fork_survives_thickening():
    ring = shapely.Point(0, 0).buffer(8, 32) - shapely.Point(0, 0).buffer(7.7, 32)
    plan = repaired(flat((RED, PLATE), (BLUE, ring)))
    (piece,) = polygons_of(motif(plan, BLUE))
    assert len(piece.interiors) == 1
    ends = ((10, 0), (-5, 9), (-5, -9))
    fork = shapely.union_all([shapely.LineString([(0, 0), end]).buffer(0.15) for end in ends])
    (piece,) = polygons_of(motif(repaired(flat((RED, PLATE), (BLUE, fork))), BLUE))
    assert len(piece.interiors) == 0


@pytest.mark.parametrize(("high", "advice"), [(10, "from a width of about"), (30, "simplify it")])
def test_another_width_is_looked_for_only_where_that_is_quick(high, advice, monkeypatch):
    """Stripes have few vertices: what they cost grows with the length of their boundaries."""
    module = sys.modules[repaired_sheet.__module__]
    tried = []

    def counted(before, area, repaired_at):
        tried.append(high)
        return smallest_good_scale(before, area, repaired_at)

    monkeypatch.setattr(module, "smallest_good_scale", counted)
    monkeypatch.setattr(module, "_MOST_SEARCHED", 1000)
    stripes = shapely.MultiPolygon([shapely.box(x, 0, x + 0.35, high) for x in 0.7 * np.arange(12)])
    plan = repaired(flat((BLUE, stripes)))
    (much,) = [found.message for found in plan.findings if found.code == "much-repaired"]
    assert advice in much
    assert len(tried) == (high == 10)
