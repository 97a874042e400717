from __future__ import annotations

import numpy as np
import pytest
import shapely

from oracles import surface_area, worst_aspect
from reliefsmith.mesh import box, mesh_faults, prism, signed_volume


@pytest.fixture
def cube():
    return prism(shapely.box(0, 0, 2, 2), 0.0, 2.0)


def test_a_cube_is_sound(cube) -> None:
    faults = mesh_faults(cube.vertices, cube.triangles)
    assert faults.sound
    assert faults.closed
    assert faults.volume_mm3 == 8.0


def test_a_missing_triangle_leaves_three_open_edges(cube) -> None:
    faults = mesh_faults(cube.vertices, cube.triangles[1:])
    assert faults.open_edges == 3
    assert not faults.closed


def test_one_flipped_triangle_uses_edges_twice(cube) -> None:
    flipped = cube.triangles.copy()
    flipped[0] = flipped[0, ::-1]
    faults = mesh_faults(cube.vertices, flipped)
    assert faults.doubled_edges == 3
    assert not faults.closed


def test_a_solid_turned_inside_out_is_closed_but_not_sound(cube) -> None:
    faults = mesh_faults(cube.vertices, cube.triangles[:, ::-1])
    assert faults.closed
    assert faults.volume_mm3 == -8.0
    assert not faults.sound


def test_equal_vertices_are_counted(cube) -> None:
    doubled = np.concatenate([cube.vertices, cube.vertices[:1]])
    assert mesh_faults(doubled, cube.triangles).equal_vertices == 1


def test_a_triangle_with_a_vertex_twice_is_flat(cube) -> None:
    bad = np.concatenate([cube.triangles, [[0, 0, 1]]]).astype(np.int32)
    assert mesh_faults(cube.vertices, bad).flat_triangles == 1


def test_two_cubes_on_one_edge_use_it_four_ways() -> None:
    # Two prisms that touch along an upright edge, their equal vertices merged, as a file reader does.
    one = prism(shapely.box(0, 0, 2, 2), 0.0, 2.0)
    other = prism(shapely.box(2, 2, 4, 4), 0.0, 2.0)
    vertices, index = np.unique(np.concatenate([one.vertices, other.vertices]), axis=0, return_inverse=True)
    triangles = index.reshape(-1)[np.concatenate([one.triangles, other.triangles + len(one.vertices)])]
    assert mesh_faults(vertices, triangles).doubled_edges == 2


def test_measures_of_a_cube(cube) -> None:
    assert signed_volume(cube.vertices, cube.triangles) == 8.0
    assert surface_area(cube) == pytest.approx(24.0)
    assert [corner.tolist() for corner in box(cube.vertices)] == [[0, 0, 0], [2, 2, 2]]
    # Half a square: the longest side is the diagonal, its height half of it.
    assert worst_aspect(cube) == pytest.approx(2.0)


def test_a_far_origin_loses_no_digits(cube) -> None:
    """A metre away and off whole numbers, whose products would be exact by luck."""
    far = cube.vertices * 0.1 + np.array([1000.001, -1000.003, 1000.007])
    assert signed_volume(far, cube.triangles) == pytest.approx(0.008, rel=1e-9)


def test_no_triangles_hold_no_volume(cube) -> None:
    assert signed_volume(cube.vertices, cube.triangles[:0]) == 0.0
