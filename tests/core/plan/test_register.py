"""Base and motifs as unions of the same faces, whatever overlaps or reaches over."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from oracles import coverage_faults
from reliefsmith.model import Motif
from reliefsmith.plan.register import by_area, in_register, rest_of, stand_clear
from reliefsmith.polygons import as_multi, on_grid

from .arts import BLUE, COLORS, RED, YELLOW, blobs

PLATE = shapely.box(-10, -10, 10, 10)


def motif(color: tuple[int, int, int], shape: shapely.Geometry) -> Motif:
    return Motif(color, as_multi(shape))


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(1, 5))
def test_whatever_is_put_on_a_base_ends_as_faces_of_it(seed: int, count: int) -> None:
    shapes = [as_multi(shape) for shape in blobs(count, seed, 9, 6)]
    motifs = [motif(color, shape) for color, shape in zip(COLORS, shapes, strict=False)]
    base, kept = in_register(PLATE, motifs)
    assert on_grid(base)
    rest = base.difference(shapely.union_all([item.polygon for item in kept]))
    assert coverage_faults([*(item.polygon for item in kept), as_multi(rest)]) == ()
    whole = shapely.union_all([PLATE, *shapes])
    assert base.symmetric_difference(whole).area <= 0.001 * whole.length
    taken = shapely.Polygon()
    found = {item.color: item.polygon for item in kept}
    for item in motifs:  # the first one owns what two would have
        own = item.polygon.difference(taken)
        taken = taken.union(item.polygon)
        there = found.get(item.color, shapely.Polygon())
        assert there.symmetric_difference(own).area <= 0.001 * (own.length + 0.01)


def test_lines_become_vertices_of_what_they_cross() -> None:
    line = shapely.LineString([(0, -20), (0, 20)])
    base, (bar,) = in_register(PLATE, [motif(RED, shapely.box(-5, -1, 5, 1))], [line])
    for shape, ys in ((base, (-10, 10)), (bar.polygon, (-1, 1))):
        corners = set(map(tuple, shapely.get_coordinates(shape).tolist()))
        assert {(0.0, float(y)) for y in ys} <= corners


def test_motifs_come_by_falling_area_and_then_by_color() -> None:
    large, small = shapely.box(0, 0, 3, 3), shapely.box(0, 0, 2, 2)
    items = [motif(YELLOW, small), motif(RED, small), motif(BLUE, large)]
    assert [item.color for item in by_area(items)] == [BLUE, RED, YELLOW]


def test_an_empty_motif_is_dropped() -> None:
    assert in_register(PLATE, [motif(RED, shapely.Polygon())])[1] == ()
    _, kept = in_register(PLATE, [motif(RED, PLATE), motif(BLUE, shapely.box(0, 0, 2, 2))])
    assert [item.color for item in kept] == [RED]  # nothing of blue is left under red


@pytest.mark.parametrize(
    ("shape", "distance", "clear"),
    [
        (shapely.box(0, 0, 8, 8), 1.99, True),
        (shapely.box(0, 0, 8, 8), 2.01, False),
        (shapely.box(0, 0, 11, 8), 0.0, False),
        (shapely.box(20, 20, 30, 30), 0.5, False),
        (shapely.Polygon(), 5.0, True),
    ],
)
def test_a_shape_stands_clear_inside_and_away_from_the_edge(
    shape: shapely.Geometry, distance: float, clear: bool
) -> None:
    assert stand_clear(PLATE, [shape], distance) is clear


def test_an_opening_has_an_edge_too() -> None:
    """From its corner to the shape's it is the root of 2."""
    ring, shape = PLATE.difference(shapely.box(-9, -9, -7, -7)), shapely.box(-6, -6, 0, 0)
    assert [stand_clear(ring, [shape], distance) for distance in (1.41, 1.42)] == [True, False]


def test_the_rest_is_what_no_motif_covers() -> None:
    base, kept = in_register(PLATE, [motif(RED, shapely.box(-5, -5, 5, 5))])
    assert rest_of(base, kept).area == pytest.approx(400 - 100)
    assert rest_of(base, ()).equals(base)
