"""Links that marks ask for, and places where marks allow none."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.links.linkmarks import asked_links, barred_by, links_round
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.tables import Mark

LEFT, RIGHT = shapely.box(-20, 0, -2, 10), shapely.box(2, 0, 20, 10)
PAIR = as_multi([LEFT, RIGHT])
RING = as_multi(shapely.box(-10, -10, 10, 10).difference(shapely.box(-6, -3, 6, 3)))


def asked(base: shapely.MultiPolygon, mark: Mark, width: float = 2.0) -> tuple[list[float], list[str]]:
    """Return lengths of the links that a mark gives, and what is told where it gives none."""
    found, findings = asked_links(base, [mark], width)
    for link, note in found:
        assert note.code == "mark-applied"
        assert f"{link.length:.2f} mm" in note.message
    return [round(link.length, 6) for link, _ in found], [item.message for item in findings]


def test_a_point_between_two_pieces_gets_the_shortest_bar_through_it() -> None:
    assert asked(PAIR, Mark("link", at_mm=(0.5, 5.0))) == ([4.0], [])
    (link, _), *_ = asked_links(PAIR, [Mark("link", at_mm=(0.5, 5.0))], 2.0)[0]
    assert shapely.union(PAIR, link.bar).geom_type == "Polygon"
    assert link.bar.bounds[3] - link.bar.bounds[1] == pytest.approx(2.0, abs=0.1)


def test_a_point_in_an_opening_gets_the_shortest_bar_across() -> None:
    assert asked(RING, Mark("link", at_mm=(1.0, 0.5))) == ([6.0], [])


def test_of_two_chords_one_between_two_pieces_goes_first_even_if_longer() -> None:
    """A piece with a narrow bay, and another piece beyond its mouth."""
    bay = shapely.box(-10, -10, 0, 10).difference(shapely.box(-4, -1, 0, 1))
    base = as_multi([bay, shapely.box(4, -10, 8, 10)])
    ((link, _),), _ = asked_links(base, [Mark("link", at_mm=(-0.5, 0.0))], 2.0)
    assert link.length > 4.0  # across the bay it would be 2
    assert shapely.union(base, link.bar).geom_type == "Polygon"


def test_a_bar_has_the_width_in_value_or_a_quarter_of_its_length() -> None:
    far = as_multi([LEFT, shapely.affinity.translate(RIGHT, 16, 0)])
    for mark, wide in (
        (Mark("link", at_mm=(5.0, 5.0)), 5.0),
        (Mark("link", at_mm=(5.0, 5.0), value=3.0), 3.0),
    ):
        ((link, note),), _ = asked_links(far, [mark], 2.0)
        assert link.length == pytest.approx(20.0)
        assert f"{wide:.2f} mm wide" in note.message


def test_a_polygon_asks_for_a_link_along_its_long_axis_over_the_widest_gap() -> None:
    """Three pieces in a row: gaps of 4 and 6 mm on one axis."""
    three = as_multi([LEFT, RIGHT, shapely.box(26, 0, 40, 10)])
    for corners in (
        ((-5, 4), (30, 4), (30, 6), (-5, 6)),
        ((-5, 6), (-5, 4), (30, 4), (30, 6)),
        ((30, 6), (-5, 6), (-5, 4), (30, 4)),
    ):
        assert asked(three, Mark("link", polygon_mm=corners)) == ([6.0], [])


def test_a_place_with_nothing_to_join_is_told() -> None:
    for mark in (
        Mark("link", at_mm=(-10.0, 5.0)),
        Mark("link", at_mm=(0.0, 40.0)),
        Mark("link", polygon_mm=((-15, 2), (-5, 2), (-5, 4), (-15, 4))),
    ):
        lengths, told = asked(PAIR, mark)
        assert lengths == []
        assert len(told) == 1


def test_no_link_bars_a_disc_round_its_point_or_its_polygon() -> None:
    marks = [Mark("no-link", at_mm=(0.0, 5.0)), Mark("no-link", at_mm=(30.0, 5.0), value=4.0)]
    barred = barred_by([*marks, Mark("link", at_mm=(0.0, 5.0))], 2.0)
    assert [round(zone.size_mm, 1) for zone in barred.zones] == [4.0, 8.0]
    assert [note.code for note in barred.notes()] == ["mark-applied"] * 2
    box = barred_by([Mark("no-link", polygon_mm=((0, 0), (4, 0), (4, 3), (0, 3)))], 2.0)
    assert box.shape.area == pytest.approx(12.0)
    assert barred_by([], 2.0).shape.is_empty


def test_links_go_round_a_barred_place_and_where_they_cannot_the_pair_is_left() -> None:
    middle = barred_by([Mark("no-link", polygon_mm=((-3, 2), (3, 2), (3, 8), (-3, 8)))], 2.0)
    links, left = links_round([LEFT, RIGHT], 2.0, middle)
    assert len(links) >= 1
    assert left == []
    assert not any(link.bar.intersects(middle.shape) for _, _, link in links)
    everywhere = barred_by([Mark("no-link", polygon_mm=((-3, -9), (3, -9), (3, 19), (-3, 19)))], 2.0)
    assert links_round([LEFT, RIGHT], 2.0, everywhere) == ([], [(0, 1)])


def test_a_mark_that_a_link_had_to_pass_is_told_and_the_others_are_noted() -> None:
    barred = barred_by([Mark("no-link", at_mm=(0.0, 5.0)), Mark("no-link", at_mm=(30.0, 5.0))], 2.0)
    notes, findings = barred.outcome([shapely.box(-3, 4, 3, 6)])
    assert [note.at_mm for note in notes] == [(30.0, 5.0)]
    assert [item.at_mm for item in findings] == [(0.0, 5.0, 0.0)]
    assert "cannot be joined anywhere else" in findings[0].message
