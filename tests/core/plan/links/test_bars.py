"""Bars: one, or two far apart; and which ends of a chain of pieces are joined."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.links.bars import closing_pairs, link_between, links_between, spanning_pairs


def facing(length: float, gap: float = 2.0) -> tuple[shapely.Polygon, shapely.Polygon]:
    return shapely.box(0, 0, length, 4), shapely.box(0, 4 + gap, length, 8 + gap)


def test_pieces_that_face_each_other_far_get_two_links_three_widths_apart() -> None:
    links = links_between(*facing(30.0), 3.0)
    assert len(links) == 2
    assert links[0].bar.distance(links[1].bar) > 2 * 3.0
    assert len(links_between(*facing(10.0), 3.0)) == 1


def test_a_place_with_one_usable_bar_gets_one_link() -> None:
    """Long sides that slope apart: everywhere but at one end a bar costs more than twice the best."""
    low = shapely.Polygon([(0, 0), (40, 0), (40, 4), (0, 4)])
    high = shapely.Polygon([(0, 5), (40, 45), (40, 60), (0, 60)])
    assert len(links_between(low, high, 3.0)) == 1


def test_where_no_bar_reaches_both_pieces_a_rod_joins_them_all_the_same() -> None:
    """Two spikes that pass each other: what stands between ends at both, whatever lies aside."""
    one, other = (
        shapely.Polygon([(0, 0), (9, -0.2), (9, 0.2)]),
        shapely.Polygon([(20, 0), (11, -0.2), (11, 0.2)]),
    )
    link = link_between(one, other, 3.0)
    assert link.length == pytest.approx(2.0)
    assert shapely.union_all([one, other, link.bar]).geom_type == "Polygon"


def chain(*corners: tuple[float, float]) -> list[tuple[int, int]]:
    pieces = [shapely.Point(corner).buffer(4) for corner in corners]
    return closing_pairs(pieces, spanning_pairs(pieces))


def test_ends_of_a_chain_are_joined_where_they_lie_near_each_other() -> None:
    assert chain((0, 0), (10, 0), (5, 8.7)) == [(1, 2)]
    assert chain((0, 0), (10, 0), (20, 0)) == []
    mean = 2.0  # of the links 0-1 and 1-2; their ends may be 3 apart, a piece's diameter and that
    for far, closed in ((8 + 1.45 * mean, True), (8 + 1.55 * mean, False)):
        side = 10.0
        half = far / 2
        high = (side**2 - half**2) ** 0.5
        assert bool(chain((-half, 0), (0, high), (half, 0))) is closed


def test_an_end_is_joined_once() -> None:
    """Four ends round a middle: two pairs at most, each end in one."""
    joined = chain((0, 0), (10, 0), (-10, 0), (0, 10), (0, -10))
    ends = [end for pair in joined for end in pair]
    assert len(ends) == len(set(ends))
