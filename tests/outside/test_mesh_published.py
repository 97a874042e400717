"""Meshes against closed forms and independent programs; the source stands beside each check."""

from __future__ import annotations

import math

import lib3mf
import numpy as np
import pytest
import shapely
import trimesh

from core.mesh.samples import APART, TOUCHING, box_with_holes, checkerboard
from oracles import surface_area
from reliefsmith.mesh import Mesh, Section, extruded, mesh_faults, moved_apart, prism
from reliefsmith.mesh import signed_volume as volume_of
from reliefsmith.polygons import as_multi


@pytest.mark.parametrize("holes", range(5))
def test_counts_of_an_extruded_polygon(holes: int) -> None:
    """Euler-Poincare: n boundary points and h holes give V = 2 n, F = 4 n + 4 h - 4, E = 6 n + 6 h - 6."""
    shape = box_with_holes(holes)
    points = len(shapely.get_coordinates(shape)) - 1 - holes
    mesh = prism(shape, 0.0, 2.0)
    edges = np.unique(np.sort(mesh.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1), axis=0)
    assert len(mesh.vertices) == 2 * points
    assert len(mesh.triangles) == 4 * points + 4 * holes - 4
    assert len(edges) == 6 * points + 6 * holes - 6
    assert len(mesh.vertices) - len(edges) + len(mesh.triangles) == 2 - 2 * holes


@pytest.mark.parametrize("holes", range(5))
def test_another_program_finds_the_same_genus(holes: int) -> None:
    """trimesh counts vertices, edges and faces on its own."""
    mesh = prism(box_with_holes(holes), 0.0, 2.0)
    other = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert other.euler_number == 2 - 2 * holes
    assert other.is_watertight
    assert other.is_winding_consistent


@pytest.mark.parametrize("name", APART)
def test_volume_and_surface_of_a_prism(name: str) -> None:
    """V = A h and surface 2 A + P h, P with the holes (elementary geometry)."""
    shape, height = APART[name], 1.4
    mesh = prism(shape, 0.2, 0.2 + height)
    assert volume_of(mesh.vertices, mesh.triangles) == pytest.approx(shape.area * height, rel=1e-9)
    assert surface_area(mesh) == pytest.approx(2 * shape.area + shape.length * height, rel=1e-9)


@pytest.mark.parametrize("sides", [3, 6, 16, 64])
def test_regular_prisms(sides: int) -> None:
    """Area n/2 R^2 sin(2 pi / n) of a regular n-gon (handbook); its corners move by 0.5 um at most."""
    turn = 2 * math.pi * np.arange(sides) / sides
    ring = np.round(np.column_stack([np.cos(turn), np.sin(turn)]) * 10, 3)
    mesh = prism(shapely.Polygon(ring), 0.0, 2.0)
    exact = sides / 2 * 100 * math.sin(2 * math.pi / sides) * 2
    assert volume_of(mesh.vertices, mesh.triangles) == pytest.approx(exact, abs=2 * math.pi * 10 * 2 * 0.001)


def test_a_part_split_by_height_keeps_its_volume() -> None:
    """The parts' volumes sum up, and their faces at the cut are the same, turned over."""
    shape = box_with_holes(3)
    whole, low, high = prism(shape, 0, 2.6), prism(shape, 0, 1.6), prism(shape, 1.6, 2.6)
    volumes = [volume_of(mesh.vertices, mesh.triangles) for mesh in (whole, low, high)]
    assert volumes[0] == pytest.approx(volumes[1] + volumes[2], rel=1e-12)
    assert _faces_at(low, 1.6, up=True) == _faces_at(high, 1.6, up=False)


def _faces_at(mesh: Mesh, z: float, *, up: bool) -> set[frozenset[tuple[float, float]]]:
    faces = set()
    for triangle in mesh.triangles:
        corners = mesh.vertices[triangle]
        if (corners[:, 2] == z).all():
            (ax, ay), (bx, by), (cx, cy) = corners[:, :2]
            turned = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
            assert turned > 0 if up else turned < 0
            faces.add(frozenset((float(x), float(y)) for x, y in corners[:, :2]))
    return faces


def _in_lib3mf(mesh: Mesh) -> lib3mf.MeshObject:
    scene = lib3mf.get_wrapper().CreateModel()
    item = scene.AddMeshObject()
    positions = []
    for x, y, z in mesh.vertices.astype(np.float32):
        place = lib3mf.Position()
        place.Coordinates[:] = (float(x), float(y), float(z))
        positions.append(place)
    triangles = []
    for corners in mesh.triangles:
        triangle = lib3mf.Triangle()
        triangle.Indices[:] = tuple(int(corner) for corner in corners)
        triangles.append(triangle)
    item.SetGeometry(positions, triangles)
    return item


@pytest.mark.parametrize("name", APART)
def test_the_3mf_consortiums_own_test(name: str) -> None:
    """lib3mf's IsManifoldAndOriented; it passes inverted meshes too, so the volume is asked for apart."""
    mesh = prism(APART[name], 0.0, 2.0)
    assert _in_lib3mf(mesh).IsManifoldAndOriented()
    assert volume_of(mesh.vertices, mesh.triangles) > 0


def test_the_consortiums_test_sees_faults_that_ours_sees() -> None:
    mesh = prism(box_with_holes(1), 0.0, 2.0)
    open_mesh = Mesh(mesh.vertices, mesh.triangles[1:])
    turned = mesh.triangles.copy()
    turned[0] = turned[0][::-1]
    for spoiled in (open_mesh, Mesh(mesh.vertices, turned)):
        assert not _in_lib3mf(spoiled).IsManifoldAndOriented()
        assert not mesh_faults(spoiled.vertices, spoiled.triangles).sound
    inside_out = Mesh(mesh.vertices, mesh.triangles[:, ::-1].copy())
    assert _in_lib3mf(inside_out).IsManifoldAndOriented()
    assert not mesh_faults(inside_out.vertices, inside_out.triangles).sound


@pytest.mark.parametrize("name", TOUCHING)
def test_touching_corners_parted_pass_it_too(name: str) -> None:
    """Corners that touch would share an edge four ways; the 3MF core specification 4.1.4 allows two."""
    base, _ = moved_apart(TOUCHING[name], [])
    mesh = prism(as_multi(base), 0.0, 2.0)
    assert _in_lib3mf(mesh).IsManifoldAndOriented()
    other = trimesh.Trimesh(mesh.vertices.astype(np.float32), mesh.triangles, process=True)
    assert other.is_volume


def test_a_checkerboard_of_two_colors() -> None:
    """Every square touches four of its own color at corners (12 x 12)."""
    white, black = checkerboard(12)
    board = shapely.box(0, 0, 24, 24)
    _, motifs = moved_apart(board, [white, black])
    for motif in motifs:
        mesh = prism(motif, 0.0, 0.6)
        assert _in_lib3mf(mesh).IsManifoldAndOriented()
        assert trimesh.Trimesh(mesh.vertices.astype(np.float32), mesh.triangles, process=True).is_volume


def test_a_pocket() -> None:
    """A box with a pocket: V = 9 x 9 x 2 - 3 x 3 x 1, surface as of the box plus the pocket's four walls."""
    plate, frame = shapely.box(0, 0, 9, 9), shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 6, 6)
    mesh = extruded([Section(plate, 0.0, 1.0), Section(frame, 1.0, 2.0)])
    assert volume_of(mesh.vertices, mesh.triangles) == pytest.approx(162 - 9, rel=1e-12)
    assert surface_area(mesh) == pytest.approx(2 * 81 + 4 * 18 + 12, rel=1e-12)
    assert trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).euler_number == 2
    assert _in_lib3mf(mesh).IsManifoldAndOriented()
