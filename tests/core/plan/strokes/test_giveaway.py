"""Who gets what cannot be printed: the neighbor with the longest shared boundary."""

from __future__ import annotations

import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from reliefsmith.plan.strokes.giveaway import Given, given_away_steps
from reliefsmith.plan.strokes.partition import GROUND, Sheet, sheet_of
from reliefsmith.polygons import as_multi, noded_coverage
from reliefsmith.progress import drain

NOZZLE = 0.4


def given_away(*motifs: shapely.Geometry) -> tuple[Sheet, list[Given]]:
    return drain(given_away_steps(sheet_of(noded_coverage([as_multi(motif) for motif in motifs])), NOZZLE))


@given(split=st.integers(2, 10), below=st.just(0) | st.integers(2, 12))
def test_a_strip_goes_to_the_neighbor_that_it_touches_the_longest(split: int, below: int) -> None:
    """Two plates share the upper side of a strip of 6 x 0.1 mm, a third has a part of the lower one."""
    at, under = split / 2, below / 2
    touched = {1: at, 2: 6 - at, 3: under, GROUND: 6.2 - under}
    second, longest = sorted(touched, key=lambda number: touched[number])[-2:]
    assume(touched[longest] - touched[second] > 1.0)  # corners of the plates go to the ground as well
    strip, left, right = shapely.box(0, 0, 6, 0.1), shapely.box(0, 0.1, at, 5), shapely.box(at, 0.1, 6, 5)
    sheet, given = given_away(strip, left, right, shapely.box(0, -5, max(under, 0.01), 0))
    assert [item.target for item in given if item.origin == 0] == [longest]
    assert sheet.motifs[0].is_empty


def test_what_one_neighbor_has_in_two_places_counts_together() -> None:
    """Red has 3 + 3 mm of the upper side, gold 4 mm of the lower one at a stretch, the ground 1 mm there."""
    strip, gold = shapely.box(0, 0, 8, 0.1), shapely.box(2, -5, 6, 0)
    red = shapely.union(shapely.box(0, 0.1, 3, 5), shapely.box(5, 0.1, 8, 5))
    green = shapely.union(shapely.box(0.5, -5, 2, 0), shapely.box(6, -5, 7.5, 0))
    _, given = given_away(strip, red, shapely.box(3, 0.1, 5, 5), gold, green)
    assert [item.target for item in given if item.origin == 0] == [1]


def test_near_a_zone_only_the_tail_goes_of_a_piece_that_is_strong_elsewhere() -> None:
    """A bar of 10 mm with a whisker of 30 x 0.2 mm, and a zone round the end of that."""
    body, whisker = shapely.box(0, 0, 10, 10), shapely.box(10, 5, 40, 5.2)
    sheet = sheet_of(noded_coverage([as_multi(shapely.union(body, whisker))]))
    zone = shapely.box(38, 0, 42, 10)
    made, given = drain(given_away_steps(sheet, NOZZLE, zone))
    assert shapely.covers(made.motifs[0].buffer(1e-6), body)
    assert given
    assert all(item.is_tail for item in given)
