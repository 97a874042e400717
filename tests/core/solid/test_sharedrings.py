"""Base and motifs in register: the same places covered, every shared boundary with the same vertices."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.polygons import as_multi
from reliefsmith.solid.sharedrings import in_register, parted, registered, rest_of

from .plans import RED, pictures, plan_of

BASE = shapely.box(0, 0, 30, 20)


@given(pictures())
@settings(max_examples=30)
def test_nothing_moves_and_what_meets_shares_its_vertices(plan) -> None:
    base, motifs = in_register(plan)
    assert base.symmetric_difference(plan.base).area < 1e-6
    for before, after in zip(plan.motifs, motifs, strict=True):
        assert (before.color, before.polygon.area) == (after.color, pytest.approx(after.polygon.area))
    rest = rest_of(base, [motif.polygon for motif in motifs])
    assert shapely.coverage_is_valid([rest, *(motif.polygon for motif in motifs)])
    assert rest.area == pytest.approx(plan.base.area - sum(motif.polygon.area for motif in motifs))


def test_a_vertex_of_a_motif_on_the_edge_becomes_the_bases() -> None:
    base, (motif,) = in_register(plan_of(BASE, (RED, shapely.box(10, 0, 16, 8))))
    assert {(10.0, 0.0), (16.0, 0.0)} <= set(map(tuple, shapely.get_coordinates(base).tolist()))
    assert motif.polygon.equals(shapely.box(10, 0, 16, 8))


def test_where_shapes_cover_the_same_place_the_first_one_has_it() -> None:
    shapes = [as_multi(shapely.box(2, 2, 12, 12)), as_multi(shapely.box(8, 2, 20, 12))]
    base, (first, second) = registered(shapes, BASE)
    assert first.area == pytest.approx(100.0)
    assert second.equals(shapely.box(12, 2, 20, 12))
    assert base.area == pytest.approx(BASE.area)


def test_touching_corners_are_parted_and_others_stay() -> None:
    """Two squares of one motif that meet in a point would be one edge of four faces."""
    corner = shapely.MultiPolygon([shapely.box(5, 5, 10, 10), shapely.box(10, 10, 15, 15)])
    _, (apart,) = parted(plan_of(BASE, (RED, corner)))
    gap = apart.polygon.geoms[0].distance(apart.polygon.geoms[1])
    assert 0 < gap < 0.1
    _, (same,) = parted(plan_of(BASE, (RED, shapely.box(5, 5, 10, 10))))
    assert same.polygon.equals(shapely.box(5, 5, 10, 10))
