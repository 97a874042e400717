"""Marks that act on the plan: kept as drawn, thickened, left thin, other borders, links asked and barred."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.plan.strokes.giveaway import given_away_steps
from reliefsmith.plan.strokes.partition import GROUND, sheet_of
from reliefsmith.plan.strokes.spared import Kept
from reliefsmith.polygons import as_multi, polygons_of
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe

from .arts import BLACK, BLUE, RED, artworks, assert_in_register, codes, connected, flat, outlined, repaired

pytestmark = pytest.mark.usefixtures("unadvised")

SAMPLES = Path(__file__).parents[3] / "samples"
PLATE = shapely.box(-20, -15, 20, 15)
THIN_BAR, OTHER_BAR = shapely.box(-12, 4.85, 12, 5.15), shapely.box(-12, -5.15, 12, -4.85)
BARS = flat((BLACK, PLATE), (RED, shapely.union(THIN_BAR, OTHER_BAR)))


def _recipe(*marks: dict[str, Any], **more: Any) -> Recipe:
    return Recipe().with_values({"colors.base": "#0a0a0a", "marks": list(marks), **more})


def _width(plan, y: float) -> float:
    (motif,) = plan.motifs
    _, low, _, high = shapely.intersection(motif.polygon, shapely.box(-5, y - 3, 5, y + 3)).bounds
    return high - low


def test_a_thin_bar_is_thickened_to_what_its_mark_says_and_the_other_as_usual() -> None:
    plan = repaired(BARS, _recipe({"kind": "thicken", "at_mm": [0, 5], "value": 0.9}))
    assert _width(plan, 5) == pytest.approx(0.9, abs=0.005)
    assert _width(plan, -5) == pytest.approx(0.6, abs=0.005)
    assert "mark-applied" in codes(plan.notes)


def test_within_a_polygon_only_that_part_is_thickened() -> None:
    corners = [[0, 3], [14, 3], [14, 7], [0, 7]]
    plan = repaired(BARS, _recipe({"kind": "thicken", "polygon_mm": corners, "value": 1.2}))
    (motif,) = plan.motifs
    right = shapely.intersection(motif.polygon, shapely.box(4, 2, 8, 8)).bounds
    left = shapely.intersection(motif.polygon, shapely.box(-8, 2, -4, 8)).bounds
    assert right[3] - right[1] == pytest.approx(1.2, abs=0.01)
    assert left[3] - left[1] == pytest.approx(0.6, abs=0.01)


@pytest.mark.parametrize("kind", ["protect", "leave-thin"])
def test_a_bar_is_kept_as_drawn_and_the_finding_says_how_thin(kind: str) -> None:
    plan = repaired(BARS, _recipe({"kind": kind, "at_mm": [0, 5]}))
    assert _width(plan, 5) == pytest.approx(0.3, abs=1e-6)
    assert _width(plan, -5) == pytest.approx(0.6, abs=0.005)
    (found,) = [item for item in plan.findings if item.code == "left-thin"]
    assert "0.30 mm" in found.message
    assert found.at_mm == (0, 5, 0.0)


def test_a_dot_that_would_go_is_protected() -> None:
    areas = flat(
        (BLACK, PLATE), (RED, shapely.union(shapely.box(3, 3, 3.3, 3.3), shapely.box(-9, -9, -3, -3)))
    )
    assert len(polygons_of(repaired(areas, _recipe()).motifs[0].polygon)) == 1
    plan = repaired(areas, _recipe({"kind": "protect", "at_mm": [3.15, 3.15]}))
    boxes = [piece.bounds for piece in polygons_of(plan.motifs[0].polygon)]
    assert (3.0, 3.0, 3.3, 3.3) in boxes


def test_the_border_is_wider_at_its_mark_and_as_usual_elsewhere() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[12, -4], [18, -4], [18, 4], [12, 4]], "value": 3.0}
    plan = outlined(disc, _recipe(mark, **{"base.border_mm": 1.0}))
    x0, y0, x1, y1 = plan.base.bounds
    assert x1 == pytest.approx(18.0, abs=0.02)
    assert (x0, y0, y1) == pytest.approx((-16.0, -16.0, 16.0), abs=0.02)
    assert plan.base.covers(shapely.Point(0, 0).buffer(15.98, 32))


def test_the_border_is_narrower_at_its_mark() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[10, -6], [18, -6], [18, 6], [10, 6]], "value": 0.5}
    plan = outlined(disc, _recipe(mark, **{"base.border_mm": 2.0}))
    x0, _, x1, _ = plan.base.bounds
    assert x1 == pytest.approx(15.5, abs=0.05)
    assert x0 == pytest.approx(-17.0, abs=0.02)


PAIR = flat((RED, shapely.box(-20, -10, -4, 10)), (BLUE, shapely.box(4, -10, 20, 10)))


def _bars(plan) -> list[tuple[float, float]]:
    """Return lower and upper edge of what joins the two halves at x = 0."""
    cut = shapely.intersection(plan.base, shapely.LineString([(0, -30), (0, 30)]))
    return sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(cut))


def test_a_link_is_added_where_it_is_asked_for_in_its_width() -> None:
    plan = connected(PAIR, _recipe({"kind": "link", "at_mm": [0, 6], "value": 4.0}))
    assert any(abs(high - low - 4.0) < 0.1 and low < 6 < high for low, high in _bars(plan))
    assert "mark-applied" in codes(plan.notes)
    assert plan.base.geom_type == "Polygon"


def test_no_link_passes_where_a_mark_forbids_it() -> None:
    usual = _bars(connected(PAIR, _recipe()))
    low, high = usual[0]
    middle = (low + high) / 2
    mark = {"kind": "no-link", "polygon_mm": [[-3, low - 1], [3, low - 1], [3, high + 1], [-3, high + 1]]}
    plan = connected(PAIR, _recipe(mark))
    assert all(not (low < middle < high) for low, high in _bars(plan))
    assert plan.base.geom_type == "Polygon"
    assert "mark-missed" not in codes(plan.findings)


def test_where_nothing_else_joins_a_forbidden_link_is_made_and_told() -> None:
    mark = {"kind": "no-link", "polygon_mm": [[-3, -40], [3, -40], [3, 40], [-3, 40]]}
    plan = connected(PAIR, _recipe(mark))
    assert plan.base.geom_type == "Polygon"
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert "cannot be joined anywhere else" in found.message


def test_the_core_of_a_letter_is_held_and_called_so() -> None:
    ring = shapely.Point(0, 0).buffer(15) - shapely.Point(0, 0).buffer(11)
    plan = connected(flat((RED, ring), (BLUE, shapely.Point(0, 0).buffer(5))), _recipe())
    assert plan.base.geom_type == "Polygon"
    assert any("holds a core" in item.message for item in plan.notes)


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        ({"kind": "protect", "at_mm": [60, 60]}, "finds no area"),
        ({"kind": "thicken", "at_mm": [0, 10], "value": 0.2}, "finds no stroke thinner"),
        ({"kind": "leave-thin", "at_mm": [0, 10]}, "finds no stroke thinner"),
        ({"kind": "border", "at_mm": [60, 60], "value": 2}, "finds no area"),
        ({"kind": "link", "at_mm": [0, 0]}, "lies on the base"),
    ],
)
def test_a_mark_that_finds_nothing_is_told(mark: dict[str, Any], words: str) -> None:
    plan = connected(BARS, _recipe(mark))
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert words in found.message
    assert "mark-applied" not in codes(plan.notes)


def test_nothing_is_given_to_what_would_join_a_protected_piece_by_way_of_others() -> None:
    own, other = shapely.box(0, 0, 5, 5), shapely.box(5.4, 0, 10, 5)
    sliver = shapely.box(5, 0, 5.2, 5)  # and then a gap of 0.2 mm, which goes to the other piece first
    sheet = sheet_of([as_multi([own, other]), as_multi(sliver)])
    kept = Kept(as_multi(own), (as_multi(own), as_multi([]), as_multi([])), as_multi(own))
    after, given = drain(given_away_steps(sheet, 0.4, kept=kept))
    assert {(item.origin, item.target) for item in given} == {(GROUND, 0), (1, GROUND)}
    assert {piece.bounds for piece in polygons_of(after.motifs[0])} == {(0, 0, 5, 5), (5.2, 0, 10, 5)}
    joined, _ = drain(given_away_steps(sheet, 0.4))
    assert [piece.bounds for piece in polygons_of(joined.motifs[0])] == [(0, 0, 10, 5)]


@settings(max_examples=15)
@given(artworks(), st.data())
def test_whatever_is_protected_stays_the_same_and_all_stays_in_register(areas, data) -> None:
    before = outlined(areas)
    pieces = [(item.color, piece) for item in before.motifs for piece in polygons_of(item.polygon)]
    if not pieces:
        return
    color, piece = data.draw(st.sampled_from(pieces))
    point = piece.representative_point()
    at = [round(point.x, 3), round(point.y, 3)]
    if not piece.contains(shapely.Point(at)):
        return
    plan = repaired(areas, Recipe().with_values({"marks": [{"kind": "protect", "at_mm": at}]}))
    assert_in_register(plan)
    own = [motif.polygon for motif in plan.motifs if motif.color == color]
    assert own
    assert own[0].covers(piece.buffer(-0.001))
    found = [part for part in polygons_of(own[0]) if part.contains(shapely.Point(at))]
    # Nodes that neighbors add lie within half a step of the grid beside its sides.
    assert found[0].symmetric_difference(piece).area < 0.0005 * piece.length


def test_a_polygon_protects_just_what_lies_in_it() -> None:
    window = shapely.box(0, 3, 30, 7)
    corners = [[0, 3], [30, 3], [30, 7], [0, 7]]
    plan = repaired(BARS, _recipe({"kind": "protect", "polygon_mm": corners}))
    (motif,) = plan.motifs
    inside = motif.polygon.intersection(window)
    assert inside.symmetric_difference(shapely.box(0, 4.85, 12, 5.15)).area < 0.001 * inside.length
    left = shapely.intersection(motif.polygon, shapely.box(-8, 2, -4, 8)).bounds
    assert left[3] - left[1] == pytest.approx(0.6, abs=0.005)


def test_a_wish_for_wide_strokes_is_not_counted_as_much_repaired() -> None:
    areas = flat((BLACK, shapely.box(-20, -8, 20, 8)), (RED, shapely.box(-18, -0.4, 18, 0.4)))
    plan = repaired(areas, _recipe({"kind": "thicken", "at_mm": [0, 0], "value": 3.0}))
    assert _width(plan, 0) == pytest.approx(3.0, abs=0.01)
    assert not {"much-repaired", "left-thin"} & set(codes(plan.findings))


def test_a_small_opening_is_kept_as_drawn_where_it_is_protected() -> None:
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(-0.75, -0.75, 0.75, 0.75)
    areas = flat((BLACK, plate))
    assert len(connected(areas, _recipe()).base.interiors) == 0
    plan = connected(areas, _recipe({"kind": "protect", "at_mm": [0, 0]}))
    (ring,) = plan.base.interiors
    assert shapely.Polygon(ring).symmetric_difference(shapely.box(-0.75, -0.75, 0.75, 0.75)).area < 1e-6
    assert "opening-filled" not in codes(plan.notes)


def test_speckled_art_keeps_the_speck_that_is_protected() -> None:
    specks = [shapely.box(x, y, x + 0.15, y + 0.15) for x in range(-15, 16, 2) for y in range(-8, 9, 2)]
    areas = flat((BLACK, PLATE), (RED, shapely.union_all([shapely.box(-18, 11, 18, 14), *specks])))
    assert all(len(polygons_of(motif.polygon)) == 1 for motif in outlined(areas, _recipe()).motifs)
    at = [specks[40].centroid.x, specks[40].centroid.y]
    plan = repaired(areas, _recipe({"kind": "protect", "at_mm": at}))
    (motif,) = plan.motifs
    assert sorted(piece.area for piece in polygons_of(motif.polygon)) == pytest.approx([0.0225, 36 * 3])


SQUARE = flat((RED, shapely.box(-20, -10, 20, 10)))


@pytest.mark.parametrize("corners", ["round", "miter", "bevel"])
def test_a_local_border_is_as_wide_as_asked_and_joins_without_steps(corners: str) -> None:
    reach = 3.0
    mark = {"kind": "border", "polygon_mm": [[-4, 8], [4, 8], [4, 12], [-4, 12]], "value": reach}
    plan = outlined(SQUARE, _recipe(mark, **{"base.corners": corners}))
    xs = np.linspace(-19, 19, 381)
    lines = [shapely.LineString([(x, 0), (x, 40)]) for x in xs]
    tops = np.array([plan.base.intersection(line).bounds[3] for line in lines]) - 10
    inside = np.abs(xs) <= 4
    # Outlines are thinned by 0.002 mm, chords of arcs are within 0.004 mm.
    assert tops[inside] == pytest.approx(reach, abs=0.007)
    assert tops[np.abs(xs) > 4 + 4 + 3] == pytest.approx(1.0, abs=0.007)
    # Half a millimetre a millimetre, in steps of 0.1 mm that discs of that radius round off.
    assert np.abs(np.diff(tops)).max() <= 0.1
    assert plan.base.bounds[1] == pytest.approx(-11, abs=0.007)


def test_corners_of_a_local_border_are_those_of_the_setting() -> None:
    mark = {"kind": "border", "polygon_mm": [[16, 6], [21, 6], [21, 11], [16, 11]], "value": 3.0}
    for corners, gap in (("round", 3 * (2**0.5 - 1)), ("miter", 0.0), ("bevel", 3 * 2**0.5 / 2)):
        base = outlined(SQUARE, _recipe(mark, **{"base.corners": corners})).base
        # From the sharp corner of the two sides, 3 mm out, to where the corner is.
        assert base.distance(shapely.Point(23, 13)) == pytest.approx(gap, abs=0.01)


def test_a_border_at_a_point_is_that_of_the_area_there() -> None:
    areas = flat((RED, shapely.box(-20, -5, -10, 5)), (BLUE, shapely.box(10, -5, 20, 5)))
    plan = outlined(areas, _recipe({"kind": "border", "at_mm": [15, 0], "value": 2.5}))
    left, right = sorted(polygons_of(plan.base), key=lambda piece: piece.bounds)
    assert left.bounds == pytest.approx((-21, -6, -9, 6), abs=0.007)
    assert right.bounds == pytest.approx((7.5, -7.5, 22.5, 7.5), abs=0.007)
    (said,) = [note for note in plan.notes if note.code == "mark-applied"]
    assert (said.at_mm, said.size_mm) == ((15, 0), pytest.approx(200**0.5, abs=0.01))


def test_on_a_plate_a_wider_border_reaches_out_and_a_narrower_one_is_told() -> None:
    wide = {"kind": "border", "polygon_mm": [[15, -2], [21, -2], [21, 2], [15, 2]], "value": 9.0}
    shape = {"base.shape": "rectangle"}
    assert outlined(SQUARE, _recipe(wide, **shape)).base.bounds[2] == pytest.approx(29, abs=0.007)
    (found,) = outlined(SQUARE, _recipe({**wide, "value": 0.5}, **shape)).findings
    assert found.code == "mark-missed"


def test_a_link_has_its_width_exactly_at_a_point_and_along_a_polygon() -> None:
    for mark in (
        {"kind": "link", "at_mm": [0.5, 6], "value": 4.0},
        {"kind": "link", "polygon_mm": [[-6, 5.5], [6, 5.5], [6, 6.5], [-6, 6.5]], "value": 4.0},
    ):
        plan = connected(PAIR, _recipe(mark))
        cut = shapely.intersection(plan.base, shapely.box(-0.5, -30, 0.5, 30))
        (bar,) = [part for part in shapely.get_parts(cut) if part.intersects(shapely.Point(0, 6))]
        assert (bar.bounds[1], bar.bounds[3]) == pytest.approx((4.0, 8.0), abs=0.025)  # overlap of 0.01
        assert len(_bars(plan)) == 1


def test_a_link_crosses_an_opening_where_it_is_narrowest() -> None:
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(-10, -4, 10, 4)
    plan = connected(flat((RED, plate)), _recipe({"kind": "link", "at_mm": [3, 0]}))
    assert len(plan.base.interiors) == 2
    assert plan.base.covers(shapely.LineString([(3, -6), (3, 6)]))
    (said,) = [note for note in plan.notes if note.code == "mark-applied"]
    assert "a link of 6.00 mm, 3.00 mm wide" in said.message


@pytest.mark.parametrize("how", ["grow", "backing", "none"])
def test_a_barred_place_is_noted_where_nothing_is_linked(how: str) -> None:
    plan = connected(PAIR, _recipe({"kind": "no-link", "at_mm": [0, 0]}, **{"pieces.connect": how}))
    assert codes(plan.notes).count("mark-applied") == 1


def test_on_art_of_one_color_only_protect_keeps_something() -> None:
    marks = [{"kind": "protect", "at_mm": [0, 0]}, {"kind": "thicken", "at_mm": [0, 0], "value": 2.0}]
    plan = repaired(SQUARE, _recipe(*marks, **{"colors.base": "#c81e1e"}))
    assert plan.motifs == ()
    assert codes(plan.notes).count("mark-applied") == 1
    (found,) = plan.findings
    assert found.message.startswith("thicken mark 1 finds no motif")


def test_a_findings_place_is_the_place_of_a_mark() -> None:
    thin = _recipe({"kind": "leave-thin", "at_mm": [3, -5]})
    (found,) = [item for item in repaired(BARS, thin).findings if item.code == "left-thin"]
    assert found.at_mm is not None
    again = repaired(BARS, _recipe({"kind": "thicken", "at_mm": list(found.at_mm[:2]), "value": 0.9}))
    assert _width(again, -5) == pytest.approx(0.9, abs=0.005)
    assert _width(again, 5) == pytest.approx(0.6, abs=0.005)
    (made,) = [n for n in repaired(BARS, _recipe()).notes if n.code == "stroke-thickened" and n.at_mm[1] > 0]
    copied = repaired(BARS, _recipe({"kind": "protect", "at_mm": list(made.at_mm)}))
    assert _width(copied, 5) == pytest.approx(0.3, abs=1e-6)
