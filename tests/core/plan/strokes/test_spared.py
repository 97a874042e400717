"""What marks keep of a sheet: nobody takes it, nothing grows from it, and it is told where it stays thin."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.findings import Finding, Note
from reliefsmith.plan.strokes.giveaway import given_away_steps
from reliefsmith.plan.strokes.partition import GROUND, Sheet, sheet_of
from reliefsmith.plan.strokes.spared import NOTHING_KEPT, Kept, kept_steps
from reliefsmith.polygons import as_multi, polygons_of
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.tables import Mark

from ..arts import BLACK, RED, artworks, assert_in_register, codes, flat, outlined, repaired
from ..markedbars import BARS, PLATE, bar_width, marked
from .sheets import sheet, zone

pytestmark = pytest.mark.usefixtures("unadvised")

NONE = shapely.MultiPolygon()
BAR, BLOCK = shapely.box(0, 0, 8, 0.3), shapely.box(0, 2, 8, 6)
SHEET = sheet(shapely.union(BAR, BLOCK), shapely.box(12, 0, 16, 6))


def kept_of(*marks: Mark, on: Sheet = SHEET) -> tuple[Kept, tuple[Note, ...], tuple[Finding, ...]]:
    return drain(kept_steps(on, [zone(on, mark) for mark in marks], 0.6, 0.5))


def test_protected_pieces_are_closed_and_whole_and_only_their_entry_keeps_them() -> None:
    kept, notes, findings = kept_of(Mark("protect", at_mm=(4, 4)))
    assert kept.closed.equals(BLOCK)
    assert kept.whole.equals(BLOCK)
    assert [part.area for part in kept.own] == [pytest.approx(32.0), 0.0, 0.0]
    assert codes(notes) == ["mark-applied"]
    assert findings == ()  # nothing in it is thin


def test_a_protected_polygon_closes_all_in_it_but_bars_no_neighbors() -> None:
    kept, _, _ = kept_of(Mark("protect", polygon_mm=((6, 1), (14, 1), (14, 5), (6, 5))))
    assert kept.closed.area == pytest.approx(8 * 4)
    assert kept.whole.is_empty
    areas = [part.area for part in kept.own]
    assert areas == pytest.approx([2 * 3, 2 * 4, 32 - 14])


def test_thin_strokes_alone_are_left_thin() -> None:
    """Of a piece with a thick body and a thin arm the arm; what is wide is changed as ever."""
    arm = shapely.union(shapely.box(0, 0, 4, 4), shapely.box(4, 1.8, 12, 2.1))
    on = sheet(arm)
    kept, _, (told,) = kept_of(Mark("leave-thin", at_mm=(8, 2)), on=on)
    assert shapely.covers(kept.own[0].buffer(0.01), shapely.box(5, 1.8, 11, 2.1))
    assert not kept.own[0].intersects(shapely.box(0.5, 0.5, 3, 3.5))  # its corners are thin too
    assert kept.whole.is_empty
    assert told.code == "left-thin"
    assert "strokes down to 0.30 mm were left thin, as wished; below 0.6 mm" in told.message


def test_a_mark_that_finds_nothing_thin_keeps_nothing() -> None:
    kept, notes, (told,) = kept_of(Mark("leave-thin", at_mm=(4, 4)))
    assert kept is NOTHING_KEPT
    assert notes == ()
    assert told.message == "mark finds no stroke thinner than 0.60 mm there"


def test_a_thin_gap_may_be_left_and_is_no_thin_stroke() -> None:
    ring = shapely.box(0, 0, 20, 10).difference(shapely.box(5, 4, 15, 4.3))
    kept, notes, findings = kept_of(Mark("leave-thin", at_mm=(10, 4.15)), on=sheet(ring))
    assert kept.own[-1].intersects(shapely.Point(10, 4.15))
    assert codes(notes) == ["mark-applied"]
    assert findings == ()


KEPT = Kept(as_multi(BAR), (as_multi(BAR), NONE, NONE), as_multi(BAR))


def test_an_entry_takes_nothing_kept_and_does_not_grow_from_what_it_keeps() -> None:
    gain = as_multi(shapely.box(0, -1, 10, 1))
    entry = SHEET.entry(1).union(shapely.box(9, -1, 12, 6))
    free = KEPT.free(gain, 1, entry, 0.5)
    assert free.intersection(BAR).area == 0
    assert free.area == pytest.approx(10 * 2 - BAR.area)
    own = KEPT.free(gain, 0, SHEET.entry(0).union(gain), 0.5)
    assert 0.5 < own.distance(BAR) <= 0.52  # the reach, and a bit for the chords of its arcs
    assert KEPT.free(as_multi(shapely.box(20, 0, 21, 1)), 1, entry, 0.5).is_empty  # it hangs on nothing
    assert NOTHING_KEPT.free(gain, 0, entry, 0.5) is gain


def test_pieces_of_which_something_is_kept_are_left_out() -> None:
    pieces = polygons_of(SHEET.motifs[0])
    assert [piece.area for piece in KEPT.spared(0, pieces)] == [pytest.approx(32.0)]
    assert KEPT.spared(1, pieces) == pieces
    assert NOTHING_KEPT.spared(0, pieces) == pieces
    assert KEPT.allowed(0, SHEET.motifs[0]).equals(BLOCK)
    assert KEPT.allowed(1, SHEET.motifs[1]) is SHEET.motifs[1]
    touching = [shapely.box(0, 0.3, 8, 1)]  # along a boundary only
    assert KEPT.spared(0, touching) == touching


def test_a_piece_beside_one_that_gets_nothing_is_not_given_to_its_owner() -> None:
    sliver, other = shapely.box(0, 0.3, 8, 0.4), shapely.box(0, 0.4, 8, 2)
    pieces, owners = [BAR, sliver, other], [0, 1, 2]
    beside = {1: [(0, 8.0), (2, 8.0)], 2: [(1, 8.0)]}
    assert KEPT.barred(pieces, owners, beside) == {1: {0}, 2: set()}
    assert NOTHING_KEPT.barred(pieces, owners, beside) == {}


@pytest.mark.parametrize("kind", ["protect", "leave-thin"])
def test_a_bar_is_kept_as_drawn_and_the_finding_says_how_thin(kind: str) -> None:
    plan = repaired(BARS, marked({"kind": kind, "at_mm": [0, 5]}))
    assert bar_width(plan, 5) == pytest.approx(0.3, abs=1e-6)
    assert bar_width(plan, -5) == pytest.approx(0.6, abs=0.005)
    (found,) = [item for item in plan.findings if item.code == "left-thin"]
    assert "0.30 mm" in found.message
    assert found.at_mm == (0, 5, 0.0)


def test_a_dot_that_would_go_is_protected() -> None:
    areas = flat(
        (BLACK, PLATE), (RED, shapely.union(shapely.box(3, 3, 3.3, 3.3), shapely.box(-9, -9, -3, -3)))
    )
    assert len(polygons_of(repaired(areas, marked()).motifs[0].polygon)) == 1
    plan = repaired(areas, marked({"kind": "protect", "at_mm": [3.15, 3.15]}))
    boxes = [piece.bounds for piece in polygons_of(plan.motifs[0].polygon)]
    assert (3.0, 3.0, 3.3, 3.3) in boxes


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
    plan = repaired(BARS, marked({"kind": "protect", "polygon_mm": corners}))
    (motif,) = plan.motifs
    inside = motif.polygon.intersection(window)
    assert inside.symmetric_difference(shapely.box(0, 4.85, 12, 5.15)).area < 0.001 * inside.length
    left = shapely.intersection(motif.polygon, shapely.box(-8, 2, -4, 8)).bounds
    assert left[3] - left[1] == pytest.approx(0.6, abs=0.005)
