"""Meshes as read become parts: corners merged as trimesh merges them, names of their own, one base."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

import pieces
from reliefsmith.formats import roles
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.roles import ReadMesh, as_parts, merged

PARTS = pieces.parts()


def box(low: float, side: float, name: str = "") -> ReadMesh:
    """A cube that stands at a height, as wide as high."""
    mesh = trimesh.creation.box((side, side, side))
    mesh.apply_translation((0, 0, low + side / 2))
    return ReadMesh(name, None, np.array(mesh.vertices), np.array(mesh.faces, np.int32))


def named(*names: str) -> list[str]:
    return [part.name for part in as_parts([box(0, 1, name) for name in names], "stem")]


def test_equal_corners_become_one_vertex_and_triangles_keep_their_order() -> None:
    for part in PARTS:
        mesh = merged("a", part.vertices[part.triangles])
        assert len(mesh.vertices) == len(np.unique(part.vertices, axis=0))
        assert np.array_equal(mesh.vertices[mesh.triangles], part.vertices[part.triangles])
        assert trimesh.Trimesh(mesh.vertices, mesh.triangles).is_volume


def test_minus_zero_is_zero() -> None:
    corners = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0]], [[-0.0, 0, 0], [0, -1, 0], [1, 0, 0]]])
    assert len(merged("a", corners).vertices) == 4
    fine = merged("a", corners[::-1] / 3)
    assert not np.signbit(fine.vertices[fine.vertices == 0]).any()


@pytest.mark.parametrize("order", [(0, 1, 1), (0, 0, 1), (1, 0, 1)])
def test_triangles_that_touch_themselves_are_left_out(order: tuple[int, int, int]) -> None:
    whole = np.array([[0.0, 0, 0], [5, 0, 0], [0, 3, 0]])
    mesh = merged("a", np.stack([whole[list(order)], whole]))
    assert mesh.vertices[mesh.triangles].tolist() == [whole.tolist()]
    with pytest.raises(BadFileError, match="no area"):
        merged("a", whole[list(order)][None])


@pytest.mark.parametrize("value", [np.nan, np.inf, -1.0000001e6])
def test_coordinates_that_are_no_usable_number_and_no_triangles_are_told(value: float) -> None:
    corners = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, value]]])
    with pytest.raises(BadFileError, match="no triangles, or a coordinate that is no usable number"):
        merged("a", corners)
    with pytest.raises(BadFileError, match="no triangles"):
        merged("a", np.zeros((0, 3, 3)))
    corners[0, 2, 2] = -1e6
    assert len(merged("a", corners).vertices) == 3


def test_a_bound_of_triangles_is_held_to_the_last_one(monkeypatch: pytest.MonkeyPatch) -> None:
    corners = PARTS[1].vertices[PARTS[1].triangles]
    monkeypatch.setattr(roles, "MAX_TRIANGLES", len(corners))
    assert len(merged("a", corners).triangles) == len(corners)
    monkeypatch.setattr(roles, "MAX_TRIANGLES", len(corners) - 1)
    with pytest.raises(BadFileError, match=f"more than {len(corners) - 1} triangles"):
        merged("a", corners)


def test_noise_of_single_precision_is_taken_off_and_finer_points_are_left() -> None:
    """At 70 mm a 32-bit float is off by up to 4 nm; what is a third of a micrometre off is meant so."""
    single = PARTS[0].vertices.astype(np.float32).astype(float)
    mesh = merged("a", single[PARTS[0].triangles])
    assert np.array_equal(np.unique(mesh.vertices), np.unique(PARTS[0].vertices + 0.0))
    fine = PARTS[0].vertices[PARTS[0].triangles] + 1 / 3000
    assert np.array_equal(np.unique(merged("a", fine).vertices), np.unique(fine))


@pytest.mark.parametrize(("place", "off_um"), [(10.0, 0.05), (20_000.0, 0.3)])
def test_a_point_stays_off_the_grid_by_more_than_its_noise_or_than_a_tenth_of_a_micrometre(
    place: float, off_um: float
) -> None:
    """A 32-bit float of 10 mm is off by 0.0006 um at most, one of 20 m by 1.2 um: then nothing is snapped."""
    corners = PARTS[1].vertices[PARTS[1].triangles] * (1, 1, 0) + (place, 0, off_um / 1000)
    assert np.unique(merged("a", corners).vertices[:, 2]).tolist() == [off_um / 1000]


def test_names_get_numbers_where_they_are_taken_and_the_stem_where_there_are_none() -> None:
    assert named("kite", "kite", "kite") == ["kite", "kite-2", "kite-3"]
    assert named("kite", "kite-2", "kite", "kite-2") == ["kite", "kite-2", "kite-3", "kite-2-2"]
    assert named("", "  ", "a\n\tb", "x" * 300, "a\x1b") == ["stem", "stem-2", "a b", "x" * 200, "a?"]


@pytest.mark.parametrize(
    ("meshes", "base"),
    [
        ([box(0, 5), box(-1, 1), box(2, 9)], 1),
        ([box(0, 2), box(5e-7, 3), box(0.01, 9)], 1),  # as low to the nanometre, and wider
        ([box(1, 9), box(0, 1, "base")], 1),
        ([box(0, 9), box(3, 1, "base")], 1),
        ([box(0, 2), box(0, 2)], 0),
    ],
    ids=["lowest", "widest of the lowest", "named and lowest", "named", "alike"],
)
def test_the_base_is_called_so_or_stands_lowest_and_widest(meshes: list[ReadMesh], base: int) -> None:
    parts = as_parts(meshes, "stem")
    assert [part.role for part in parts] == ["base" if k == base else "motif" for k in range(len(meshes))]


def test_a_color_is_kept_and_grey_stands_for_none() -> None:
    one = box(0, 1)
    parts = as_parts([one, ReadMesh("a", (0, 0, 0), one.vertices, one.triangles)], "stem")
    assert [part.color for part in parts] == [(128, 128, 128), (0, 0, 0)]
    with pytest.raises(BadFileError, match="no solid to build"):
        as_parts([], "stem")
