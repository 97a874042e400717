"""Meshes of a scene: what the rules of the format ask of one, where it stands in mm, the color it shows."""

from __future__ import annotations

from array import array
from collections import Counter

import numpy as np
import pytest
import trimesh

from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.threemf_scene import Instance, Object, Scene, parse_matrix
from reliefsmith.formats.threemf_solids import check_mesh, read_mesh

POINTS = [0, 0, 0, 10, 0, 0, 0, 20, 0, 0, 0, 30]
FACES = [0, 2, 1, 0, 1, 3, 1, 2, 3, 0, 3, 2]
RED, TEAL = (211, 32, 32), (30, 138, 138)


def solid(
    points: list[float] = POINTS, faces: list[int] = FACES, kind: str = "model", scale: float = 1.0
) -> Object:
    scene = Scene(scale, groups={1: [RED, TEAL], 2: None})
    return Object(scene, 7, "kite", kind, None, array("d", points), array("q", faces))


def placed(one: Object, matrix: str | None = None) -> trimesh.Trimesh:
    found = read_mesh(Instance(one, parse_matrix(matrix), "kite"))
    assert found.name == "kite"
    return trimesh.Trimesh(found.vertices, found.triangles, process=False)


@pytest.mark.parametrize(
    "matrix", [None, "1 0 0 0 1 0 0 0 1 5 -6 7", "0 2 0 -2 0 0 0 0 3 1 2 3", "-1 0 0 0 1 0 0 0 1 0 0 0",
               "0 1 0 1 0 0 0 0 1 0 0 0", "1 0.5 0 0 1 0 0.25 0 1 0 0 0"]
)  # fmt: skip
@pytest.mark.parametrize("scale", [1.0, 25.4])
def test_a_solid_is_moved_as_by_numpy_and_its_outside_stays_outside(matrix: str | None, scale: float) -> None:
    """Core 3.3: also a mirrored one has a positive volume; lengths are in the model's unit."""
    mesh = placed(solid(scale=scale), matrix)
    rows = parse_matrix(matrix)
    wanted = (np.reshape(POINTS, (-1, 3)) @ rows[:3] + rows[3]) * scale
    assert np.allclose(mesh.vertices, wanted)
    assert mesh.is_volume
    assert mesh.volume == pytest.approx(1000 * abs(np.linalg.det(rows[:3])) * scale**3)


def test_points_on_the_grid_are_on_it_and_others_are_left() -> None:
    fine = [value / 3 for value in POINTS]
    assert np.array_equal(placed(solid(fine)).vertices.ravel(), fine)
    turned = placed(solid([0.1 + value for value in POINTS]), "1 0 0 0 1 0 0 0 1 0.2 0.2 0.2").vertices
    assert np.array_equal(turned, np.round(turned, 3))


@pytest.mark.parametrize(
    ("one", "word"),
    [
        (solid([*POINTS[:-1], float("nan")]), "no usable number"),
        (solid([*POINTS[:-1], 1.1e6]), "no usable number"),
        (solid([*POINTS[:-1], 1.1e5], scale=10.0), "no usable number"),
        (solid(faces=FACES[:9]), "too few triangles"),
        (solid(faces=FACES[:9], kind="solidsupport"), "too few triangles"),
        (solid(faces=[], kind="surface"), "too few triangles"),
        (solid(faces=[*FACES[:11], 4]), "corner that does not exist"),
        (solid(faces=[*FACES[:11], -1]), "corner that does not exist"),
        (solid(faces=[*FACES[:9], 0, 0, 2]), "two equal corners"),
        (solid(faces=[*FACES[:9], 0, 2, 2]), "two equal corners"),
        (solid(faces=[*FACES[:9], 2, 0, 2]), "two equal corners"),
    ],
)
def test_a_mesh_that_breaks_a_rule_is_told_with_its_object(one: Object, word: str) -> None:
    with pytest.raises(BadFileError, match=rf"object 7 has.*{word}"):
        check_mesh(one)


@pytest.mark.parametrize(
    "one",
    [solid(), solid(faces=FACES[:3], kind="surface"), solid(faces=FACES[:3], kind="support"),
     solid([*POINTS[:-1], -1e6])],
)  # fmt: skip
def test_a_mesh_within_the_rules_passes(one: Object) -> None:
    check_mesh(one)


def test_properties_of_triangles_must_exist() -> None:
    one = solid()
    one.painted = Counter({(1, 1): 1})
    check_mesh(one)
    one.painted[1, 2] = 1
    with pytest.raises(BadFileError, match="member 2 of group 1"):
        check_mesh(one)


def test_what_is_not_to_be_built_and_what_is_moved_out_of_reach_is_told() -> None:
    with pytest.raises(BadFileError, match="type other"):
        placed(solid(kind="other"))
    with pytest.raises(BadFileError, match="out of reach"):
        placed(solid(), "1 0 0 0 1 0 0 0 1 0 0 999971")
    assert placed(solid(), "1 0 0 0 1 0 0 0 1 0 0 999970").vertices.max() == 1e6


@pytest.mark.parametrize(
    ("default", "painted", "color"),
    [
        (None, {}, None),
        ((1, 0), {}, RED),
        ((1, 0), {(1, 1): 1}, RED),
        ((1, 0), {(1, 1): 3}, TEAL),
        (
            (1, 0),
            {(1, 1): 2},
            TEAL,
        ),  # as many: the darker in each channel first, so that it is no matter of order
        ((2, 0), {(1, 0): 1}, RED),
        (None, {(1, 0): 1, (2, 5): 3}, RED),
        ((1, 0), {(1, 1): 4}, TEAL),
        ((2, 0), {}, None),
        ((1, 0), {(2, 0): 4}, None),  # no triangle shows the object's own
    ],
)
def test_the_color_is_that_of_most_triangles(
    default: tuple[int, int] | None, painted: dict[tuple[int, int], int], color: tuple[int, int, int] | None
) -> None:
    one = solid()
    one.default, one.painted = default, Counter(painted)
    assert read_mesh(Instance(one, parse_matrix(None), "")).color == color
