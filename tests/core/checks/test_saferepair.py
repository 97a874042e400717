"""A safe repair: done and said, offered, or said to be none; sound parts stay the very same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reliefsmith.checks.saferepair import repaired
from reliefsmith.mesh import mesh_faults
from reliefsmith.model import Part

from .solids import base, motif

FACES = np.array([[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7]], dtype=np.int32)
SIDES = np.array([[a, b, b + 4] for a, b in ((0, 1), (1, 2), (2, 3), (3, 0))], dtype=np.int32)
REST = np.array([[a, b + 4, a + 4] for a, b in ((0, 1), (1, 2), (2, 3), (3, 0))], dtype=np.int32)


def _cube(side_mm: float = 10.0) -> Part:
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    points = np.vstack([np.column_stack([corners, np.full(4, z)]) for z in (0.0, 1.0)]) * side_mm
    return Part("cube", "base", (20, 24, 33), points, np.vstack([FACES, SIDES, REST]))


def test_sound_parts_are_given_back_as_they_are() -> None:
    parts = (base(), motif(), _cube())
    for is_asked in (True, False):
        kept, found = repaired(parts, is_asked=is_asked)
        assert all(one is other for one, other in zip(kept, parts, strict=True))
        assert found == ()


def test_a_part_of_loose_triangles_is_repaired_where_that_is_asked() -> None:
    cube = _cube()
    loose = replace(
        cube, vertices=cube.vertices[cube.triangles].reshape(-1, 3), triangles=np.arange(36).reshape(-1, 3)
    )
    (kept,), (item,) = repaired([loose], is_asked=True)
    assert mesh_faults(kept.vertices, kept.triangles).sound
    assert len(kept.vertices) == 8
    assert item.code == "repaired"
    assert "28 equal points merged" in item.message
    assert item.message.endswith("Then it is closed.")


def test_where_it_is_not_asked_it_is_offered_and_nothing_is_done() -> None:
    cube = _cube()
    turned = replace(cube, triangles=np.vstack([cube.triangles[:1, ::-1], cube.triangles[1:]]))
    (kept,), (item,) = repaired([turned], is_asked=False)
    assert kept is turned
    assert item.code == "repair-offered"
    assert "--repair would do this to cube: 1 triangles turned round." in item.message


def test_a_large_hole_is_left_and_its_size_is_told() -> None:
    cube = _cube()
    open_ = replace(cube, triangles=cube.triangles[2:])  # without its floor: 10 x 10 mm, 14.1 mm across
    (kept,), (item,) = repaired([open_], is_asked=True)
    assert kept is open_
    assert item.code == "repair-offered"
    assert item.message == "cube has nothing that a safe repair mends; remesh it."
    doubled = replace(open_, triangles=np.vstack([open_.triangles, open_.triangles[-1:]]))
    _, (item,) = repaired([doubled], is_asked=True)
    assert "1 empty or doubled triangles dropped" in item.message
    assert "Still open: holes of 14.1 mm" in item.message


def test_a_tiny_hole_is_filled() -> None:
    small = _cube(0.5)
    (kept,), (item,) = repaired([replace(small, triangles=small.triangles[2:])], is_asked=True)
    assert "1 tiny holes filled" in item.message
    assert mesh_faults(kept.vertices, kept.triangles).sound
