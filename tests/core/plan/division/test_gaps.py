"""The gap between parts: one width everywhere, taken from the later part, through base and motifs."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.model import Motif
from reliefsmith.plan.division.gaps import parted_cells
from reliefsmith.plan.division.jointkeys import Key
from reliefsmith.polygons import as_multi

LEFT, RIGHT = shapely.box(-40, 0, 0, 20), shapely.box(0, 0, 40, 20)
RED = (200, 30, 40)
KEY = Key(0, 1, shapely.Polygon([(-2, 8), (3, 8), (3, 6), (5, 6), (5, 14), (3, 14), (3, 12), (-2, 12)]))
GAP = 0.2


def parted(
    cells: list, motifs: list | None = None, keys: list | None = None, *, through: bool = True
) -> object:
    shapes = [Motif(RED, as_multi(shape)) for shape in motifs or []]
    return parted_cells(cells, shapes, keys or [], GAP, through=through, nozzle_mm=0.4)


def test_the_earlier_part_keeps_its_edge_and_the_later_one_gives_the_gap() -> None:
    one, other = parted([LEFT, RIGHT]).outlines
    assert one.equals(LEFT)
    assert other.bounds == (GAP, 0.0, 40.0, 20.0)


def test_the_gap_is_as_wide_along_a_slanted_seam() -> None:
    left = shapely.Polygon([(-40, 0), (-3, 0), (7, 20), (-40, 20)])
    right = shapely.Polygon([(-3, 0), (40, 0), (40, 20), (7, 20)])
    one, other = parted([left, right]).outlines
    assert shapely.distance(one, other) == pytest.approx(GAP, abs=0.0015)
    near = shapely.intersection(other.boundary, one.buffer(GAP + 0.002))
    assert near.length == pytest.approx(shapely.LineString([(-3, 0), (7, 20)]).length, rel=0.02)


def test_keys_through_the_whole_height_are_of_the_outlines_with_the_gap_all_round() -> None:
    made = parted([LEFT, RIGHT], keys=[KEY])
    one, other = made.outlines
    assert one.area == pytest.approx(LEFT.area + KEY.shape.intersection(RIGHT).area)
    assert shapely.distance(one, other) == pytest.approx(GAP, abs=0.0015)


def test_keys_below_the_face_leave_the_outlines_and_are_told_apart() -> None:
    made = parted([LEFT, RIGHT], keys=[KEY], through=False)
    assert [shape.bounds for shape in made.outlines] == [LEFT.bounds, (GAP, 0.0, 40.0, 20.0)]
    assert made.tabs.area == pytest.approx(KEY.shape.area, abs=0.01)
    inside = shapely.intersection(KEY.shape, RIGHT)
    assert shapely.covers(made.sockets.buffer(1e-6), inside)
    assert made.sockets.bounds == pytest.approx((0.0, 5.8, 5.2, 14.2), abs=0.002)


def test_motifs_are_cut_with_the_base() -> None:
    (motif,) = parted([LEFT, RIGHT], [shapely.box(-5, 5, 5, 10)]).motifs
    assert motif.polygon.area == pytest.approx(10 * 5 - GAP * 5)
    assert len(motif.polygon.geoms) == 2
    (whole,) = parted([LEFT, RIGHT], [shapely.box(5, 5, 15, 10)]).motifs
    assert whole.polygon.equals(shapely.box(5, 5, 15, 10))


def test_a_strip_beside_the_gap_that_no_nozzle_lays_goes_with_it() -> None:
    """A motif ends .3 or .5 mm beyond the gap; nozzle .4 mm. A fine stroke far from it stays."""
    for beyond, pieces in ((0.3, 1), (0.5, 2)):
        (motif,) = parted([LEFT, RIGHT], [shapely.box(-5, 5, GAP + beyond, 10)]).motifs
        assert len(motif.polygon.geoms) == pieces
    fine = shapely.union(shapely.box(-5, 5, 5, 10), shapely.box(20, 5, 20.2, 10))
    (motif,) = parted([LEFT, RIGHT], [fine]).motifs
    assert len(motif.polygon.geoms) == 3


def test_what_a_key_would_cut_off_goes_with_its_socket() -> None:
    """A key as high as its neighbor: beyond its head only a crumb would hang on."""
    right = shapely.union(shapely.box(0, 7, 4, 13), shapely.box(4, 0, 40, 20)).difference(
        shapely.box(3, 7, 4, 7.5)
    )
    made = parted([LEFT.difference(right), right], keys=[KEY], through=False)
    left = shapely.difference(made.outlines[1], made.sockets)
    assert left.geom_type == "Polygon"


def test_a_part_that_falls_apart_along_the_cut_is_refused_with_the_place() -> None:
    """Two bodies of the later part that only a neck along the seam joins, as wide as the gap."""
    right = shapely.union_all(
        [shapely.box(0.15, 0, 20, 8), shapely.box(0.15, 12, 20, 20), shapely.box(0, 0, 0.15, 20)]
    )
    with pytest.raises(GeometryError, match=r"part 2 near .* falls apart along the cut"):
        parted([LEFT, right])
