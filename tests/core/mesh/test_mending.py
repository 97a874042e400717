"""Safe repair: what it mends is closed and has the volume of the solid it came from; the rest is told."""

from __future__ import annotations

import numpy as np
import pytest

import pieces
from reliefsmith.mesh import mended, mesh_faults, signed_volume

PART = pieces.parts()[0]
POINTS, FACES = PART.vertices, PART.triangles
VOLUME = signed_volume(POINTS, FACES)

Mesh = tuple[np.ndarray, np.ndarray]


def soup() -> Mesh:
    return POINTS[FACES].reshape(-1, 3), np.arange(FACES.size, dtype=np.int32).reshape(-1, 3)


def turned(which: slice) -> Mesh:
    faces = FACES.copy()
    faces[which] = faces[which][:, ::-1]
    return POINTS, faces


def doubled() -> Mesh:
    return POINTS, np.concatenate([FACES, FACES[:9]])


def faced() -> Mesh:
    """A wall of two triangles, back to back, stands in the solid."""
    wall = np.array([[0, 1, 5], [5, 1, 0]], np.int32)
    return POINTS, np.concatenate([FACES, wall])


def pricked(size_mm: float) -> Mesh:
    """The first triangle has a hole of a size round its middle."""
    a, b, c = POINTS[FACES[0]]
    middle = (a + b + c) / 3
    share = size_mm / np.linalg.norm(np.ptp(POINTS[FACES[0]], axis=0))
    hole = middle + share * (POINTS[FACES[0]] - middle)
    n = len(POINTS)
    i, j, k = FACES[0].tolist()
    ring = [(i, j, n + 1), (i, n + 1, n), (j, k, n + 2), (j, n + 2, n + 1), (k, i, n), (k, n, n + 2)]
    return np.concatenate([POINTS, hole]), np.concatenate([FACES[1:], np.array(ring, np.int32)])


@pytest.mark.parametrize(
    ("mesh", "what"),
    [
        (soup(), "merged"),
        (turned(slice(0, 1)), "turned"),
        (turned(slice(3, 40, 2)), "turned"),
        (turned(slice(None)), "turned"),
        (doubled(), "dropped"),
        (faced(), "dropped"),
        (pricked(0.5), "filled"),
    ],
    ids=["soup", "one turned", "many turned", "inside out", "doubled", "wall within", "pricked"],
)
def test_what_is_safe_is_mended(mesh: Mesh, what: str) -> None:
    assert not mesh_faults(*mesh).sound
    points, faces, done = mended(*mesh)
    assert mesh_faults(points, faces).sound
    assert signed_volume(points, faces) == pytest.approx(VOLUME, rel=1e-6)
    assert done.did
    assert [name for name in ("merged", "dropped", "turned", "filled") if getattr(done, name)] == [what]
    assert done.left_mm == ()


def test_counts_are_those_of_the_damage() -> None:
    assert mended(*turned(slice(3, 40, 2)))[2].turned == 19
    assert mended(*doubled())[2].dropped == 9
    assert mended(*soup())[2].merged == FACES.size - len(POINTS)


def test_a_large_hole_stays_and_is_told() -> None:
    points, faces, done = mended(*pricked(2.0))
    assert not mesh_faults(points, faces).closed
    assert done.left_mm == pytest.approx((2.0,))
    assert not done.did


def test_holes_that_meet_in_a_point_stay_and_are_told() -> None:
    """Of eight triangles two are missing that share a corner: which edges ring which hole is not plain."""
    corners = 0.2 * np.array([[1, 0, 0], [0, 1, 0], [-1, 0, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1.0]])
    upper = [(k, (k + 1) % 4, 4) for k in range(4)]
    lower = [((k + 1) % 4, k, 5) for k in range(4)]
    for missing in (0, 1):
        faces = np.array([*upper, *lower], np.int32)
        faces = np.delete(faces, [missing, missing + 2], axis=0)
        done = mended(corners, faces)[2]
        assert (done.filled, set(done.left_mm)) == (0, {0.0})


def test_a_sound_solid_stays_as_it_is() -> None:
    points, faces, done = mended(POINTS, FACES)
    assert not done.did
    assert sorted(map(tuple, points[faces].reshape(-1, 9))) == sorted(
        map(tuple, POINTS[FACES].reshape(-1, 9))
    )


def test_inner_walls_of_a_hollow_solid_stay_inward() -> None:
    inner = POINTS * (0.5, 0.5, 0.5) + POINTS.mean(axis=0) * 0.5
    points = np.concatenate([POINTS, inner])
    hollow = np.concatenate([FACES, FACES[:, ::-1] + len(POINTS)]).astype(np.int32)
    volume = signed_volume(points, hollow)
    assert signed_volume(*mended(points, hollow)[:2]) == pytest.approx(volume)
    inside_out = hollow[:, ::-1]
    assert signed_volume(*mended(points, inside_out)[:2]) >= volume


@pytest.mark.parametrize("seed", range(6))
def test_triangles_of_an_open_solid_run_alike_whichever_are_turned_and_missing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    faces = FACES[np.sort(rng.permutation(len(FACES))[: len(FACES) - 12])].copy()
    faces[-3:] = FACES[-3:]
    some = rng.random(len(faces)) < 0.3
    faces[some] = faces[some][:, ::-1]
    found = mended(POINTS, faces, tiny_mm=0.0)
    assert mesh_faults(*found[:2]).doubled_edges == 0


def test_of_no_triangle_nothing_is_mended() -> None:
    points, faces, done = mended(np.empty((0, 3)), np.empty((0, 3), np.int32))
    assert (len(points), len(faces), done.did) == (0, 0, False)
    assert signed_volume(points, faces) == 0.0
