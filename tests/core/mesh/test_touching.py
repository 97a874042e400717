from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings

from oracles import coverage_faults, merged_vertices
from reliefsmith.mesh import mesh_faults, moved_apart, prism, touching_points
from reliefsmith.mesh.touching import CUT_MM, _without_crumbs
from reliefsmith.polygons import GRID_MM, as_multi, polygons_of

from .samples import APART, TOUCHING, checkerboard, mosaics

EXPECTED = {
    "two corners": [[5000, 5000]],
    "corner on an edge": [[2000, 5000]],
    "opening at the outline": [[0, 4000]],
    "two openings": [[4000, 4000]],
}


@pytest.mark.parametrize("name", EXPECTED)
def test_touching_points_are_found(name: str) -> None:
    assert touching_points(TOUCHING[name]).tolist() == EXPECTED[name]


@pytest.mark.parametrize("name", APART)
def test_shapes_apart_have_no_touching_points(name: str) -> None:
    assert len(touching_points(APART[name])) == 0


def _assert_solid_after_merging(shape: shapely.Geometry) -> None:
    mesh = prism(shape, 0.0, 0.6)
    assert mesh_faults(mesh.vertices, mesh.triangles).sound
    read = merged_vertices(mesh)
    assert mesh_faults(read.vertices, read.triangles).closed


@pytest.mark.parametrize("name", TOUCHING)
def test_a_touching_base_is_parted_and_stays_whole(name: str) -> None:
    shape = TOUCHING[name]
    base, motifs = moved_apart(shape, [])
    assert motifs == ()
    assert len(touching_points(base)) == 0
    assert len(polygons_of(base)) == len(polygons_of(shape))
    corners = len(touching_points(shape))
    # The new corners on slanted edges are rounded to the grid, which bends those edges by less than a step.
    assert 0 < shape.symmetric_difference(base).area <= corners * 4 * CUT_MM**2 + GRID_MM * shape.length
    _assert_solid_after_merging(base)


def test_nothing_touching_gives_the_same_objects() -> None:
    base, motif = shapely.box(0, 0, 9, 9), as_multi(shapely.box(2, 2, 4, 4))
    same, (kept,) = moved_apart(base, [motif])
    assert same is base
    assert kept is motif


def test_a_checkerboard_of_two_colors_is_parted_on_its_base() -> None:
    white, black = checkerboard(12)
    base = shapely.box(-1, -1, 25, 25)
    kept, motifs = moved_apart(base, [white, black])
    assert kept.equals(base)
    for before, motif in zip((white, black), motifs, strict=True):
        assert len(polygons_of(motif)) == 72
        assert before.area - motif.area < 11 * 11 * 4 * CUT_MM**2
        assert motif.difference(base).area == 0
        _assert_solid_after_merging(motif)
    assert motifs[0].intersection(motifs[1]).area == 0
    assert coverage_faults(motifs) == ()


def test_motifs_that_touch_at_the_edge_of_the_base_stay_on_it() -> None:
    base = shapely.Polygon([(0, 0), (5, 0), (10, 0), (10, 5), (0, 5)])
    motif = shapely.MultiPolygon(
        [shapely.Polygon([(1, 2), (5, 0), (4, 4)]), shapely.Polygon([(5, 0), (9, 2), (6, 4)])]
    )
    kept, (parted,) = moved_apart(base, [motif])
    assert parted.difference(kept).area == 0
    assert kept.symmetric_difference(base).area < 1e-9
    _assert_solid_after_merging(parted)


@given(mosaics())
@settings(max_examples=40)
def test_mosaics_become_solids_that_share_no_volume(colors: list[shapely.MultiPolygon]) -> None:
    x0, y0, x1, y1 = shapely.total_bounds(colors)
    base, motifs = moved_apart(shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1), colors)
    for motif in motifs:
        _assert_solid_after_merging(motif)
        assert motif.difference(base).area == 0
    assert coverage_faults([item for item in motifs if not item.is_empty]) == ()
    whole = sum(motif.area for motif in colors)
    assert whole - sum(motif.area for motif in motifs) <= 49 * 4 * CUT_MM**2


def test_what_octagons_leave_between_them_goes_and_no_more() -> None:
    """A crumb is no larger than a square of two cuts."""
    crumb, piece = (shapely.box(0, 0, side, side) for side in (2 * CUT_MM, 2 * CUT_MM + GRID_MM))
    assert _without_crumbs(as_multi(crumb)).is_empty
    assert _without_crumbs(as_multi(piece)).equals(piece)
