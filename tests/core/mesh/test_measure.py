"""Volume and box of meshes against closed forms and trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.mesh import signed_volume
from reliefsmith.mesh.measure import box

CUBE = trimesh.creation.box((2.0, 3.0, 4.0))


@given(st.tuples(*[st.floats(-1e4, 1e4)] * 3), st.floats(0, 6.3))
def test_a_volume_stays_wherever_the_solid_lies(shift: tuple[float, float, float], turn: float) -> None:
    """A float at 10 m has 1e-12 m left, so that the volume keeps ten digits."""
    turned = trimesh.transformations.rotation_matrix(turn, (1, 2, 3))
    points = trimesh.transform_points(CUBE.vertices, turned) + np.array(shift)
    assert signed_volume(points, CUBE.faces) == pytest.approx(24.0, rel=1e-8)
    assert signed_volume(points, CUBE.faces[:, ::-1]) == pytest.approx(-24.0, rel=1e-8)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_ball_has_the_volume_that_trimesh_finds(count: int) -> None:
    ball = trimesh.creation.icosphere(subdivisions=count, radius=5.0)
    assert signed_volume(ball.vertices, ball.faces) == pytest.approx(ball.volume)


def test_nothing_has_no_volume_and_bodies_add_up() -> None:
    assert signed_volume(np.empty((0, 3)), np.empty((0, 3), np.int32)) == 0.0
    both = trimesh.util.concatenate([CUBE, CUBE.copy().apply_translation((9, 0, 0))])
    assert signed_volume(both.vertices, both.faces) == pytest.approx(48.0)


def test_the_box_holds_every_vertex() -> None:
    low, high = box(CUBE.vertices + np.array([1.0, 0.0, -2.0]))
    assert low.tolist() == [0.0, -1.5, -4.0]
    assert high.tolist() == [2.0, 1.5, 0.0]
