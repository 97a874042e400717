from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.mesh import Mesh, Section, crossing, cut, extruded, prism
from reliefsmith.mesh.section import cut_twice
from reliefsmith.polygons import as_multi

from .samples import APART, plates


@pytest.mark.parametrize("name", APART)
def test_the_section_of_a_prism_is_its_polygon(name: str) -> None:
    mesh = prism(APART[name], 0.0, 2.0)
    section = cut(mesh.vertices, mesh.triangles, 1.1)
    assert section.symmetric_difference(APART[name]).area < 1e-9
    assert len(section.geoms) == len(shapely.get_parts(APART[name]))


@pytest.mark.parametrize("name", APART)
def test_walls_give_their_corners_and_no_other_points(name: str) -> None:
    """The edge between the two triangles of a wall is no corner; collinear points of the outline are."""
    mesh = prism(APART[name], 0.0, 2.0)
    section = cut(mesh.vertices, mesh.triangles, 0.7)
    assert shapely.equals_exact(shapely.normalize(section), shapely.normalize(as_multi(APART[name])))


@given(plates())
@settings(max_examples=25)
def test_sections_of_random_prisms_are_their_polygons(plate: shapely.Polygon) -> None:
    mesh = prism(plate, 0.0, 1.0)
    assert cut(mesh.vertices, mesh.triangles, 0.3).symmetric_difference(plate).area < 1e-6


def test_a_pyramid_narrows_with_height() -> None:
    corners = np.array([[0, 0, 0], [6, 0, 0], [6, 6, 0], [0, 6, 0], [3, 3, 6.0]])
    faces = np.array([[0, 2, 1], [0, 3, 2], [0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]])
    for z in (0.5, 2.0, 5.0):
        assert cut(corners, faces, z).area == pytest.approx((6 - z) ** 2)


def test_planes_through_vertices_still_cut_closed_rings() -> None:
    plate, pocket = shapely.box(0, 0, 9, 9), shapely.box(3, 3, 6, 6)
    mesh = extruded([Section(plate, 0.0, 1.0), Section(plate - pocket, 1.0, 2.0)])
    assert cut(mesh.vertices, mesh.triangles, 1.0).area == pytest.approx(72.0)
    assert cut(mesh.vertices, mesh.triangles, 0.0).area == pytest.approx(81.0)
    assert cut(mesh.vertices, mesh.triangles, 2.0).is_empty


def test_above_and_below_there_is_nothing() -> None:
    mesh = prism(APART["square"], 0.0, 2.0)
    assert cut(mesh.vertices, mesh.triangles, 2.5).is_empty
    assert len(crossing(mesh.vertices, mesh.triangles, -0.1)) == 0


def test_a_solid_turned_inside_out_keeps_its_shape() -> None:
    mesh = prism(APART["three openings"], 0.0, 2.0)
    section = cut(mesh.vertices, mesh.triangles[:, ::-1], 1.0)
    assert section.area == pytest.approx(APART["three openings"].area)


def test_bodies_that_overlap_in_one_mesh_are_united() -> None:
    one, other = prism(shapely.box(0, 0, 4, 4), 0.0, 2.0), prism(shapely.box(3, 3, 6, 6), 0.0, 2.0)
    both = Mesh(
        np.concatenate([one.vertices, other.vertices]),
        np.concatenate([one.triangles, other.triangles + len(one.vertices)]),
    )
    assert cut(both.vertices, both.triangles, 1.0).area == pytest.approx(16 + 9 - 1)


def test_an_open_mesh_keeps_the_rings_that_close() -> None:
    mesh = prism(shapely.MultiPolygon([shapely.box(0, 0, 4, 4), shapely.box(6, 0, 8, 2)]), 0.0, 2.0)
    walls = np.abs(np.ptp(mesh.vertices[mesh.triangles][:, :, 2], axis=1)) > 0
    first = int(np.flatnonzero(walls)[0])  # a wall of the larger box
    section = cut(mesh.vertices, np.delete(mesh.triangles, first, axis=0), 1.0)
    assert section.area == pytest.approx(4.0)


def test_where_an_upright_wall_meets_a_slope_is_a_corner_of_the_section() -> None:
    """A shed: the roof falls from 3 mm to 1 mm along two upright walls, whose upper edges it shares."""
    plan = np.array([[0, 0], [4, 0], [5, 1], [4, 2], [0, 2]])
    flat = prism(shapely.Polygon(plan), 0.0, 3.0)
    roofed = flat.vertices.copy()
    roofed[(roofed[:, 0] == 0) & (roofed[:, 2] == 3), 2] = 1.0
    section = cut(roofed, flat.triangles, 2.0)
    wanted = shapely.Polygon([(2, 0), (4, 0), (5, 1), (4, 2), (2, 2)])
    assert section.symmetric_difference(wanted).area < 1e-9


@pytest.mark.parametrize("side", [0.02, 2.0, 200.0])
def test_a_body_within_a_body_is_held_twice_however_small_both_are(side: float) -> None:
    outer, inner = (prism(shapely.box(-at, -at, at, at), 0.0, 1.0) for at in (side, side / 2))
    vertices = np.vstack([outer.vertices, inner.vertices])
    triangles = np.vstack([outer.triangles, inner.triangles + len(outer.vertices)])
    whole, twice = cut_twice(vertices, triangles, 0.5)
    assert (whole.area, twice.area) == pytest.approx((4 * side**2, side**2))
