"""Modeled tops: caps exchanged for a surface of any heights; solids stay closed and neighbors meet."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.mesh import mesh_faults, signed_volume, upright
from reliefsmith.mesh.modeled import LEAN_MM, STRAIGHT_MM, Surface, modeled_top, with_tops
from reliefsmith.mesh.surface import Mesh
from reliefsmith.polygons import as_multi

from .samples import APART, box_with_holes

NOTHING = shapely.MultiPolygon()
At = Callable[[np.ndarray], np.ndarray]


def hill(at: np.ndarray) -> np.ndarray:
    """A round hill, 1 mm high, beside the origin."""
    return np.exp(-((at[:, 0] - 2.0) ** 2 + (at[:, 1] - 1.0) ** 2) / 30)


def made(plate: shapely.Geometry, heights: At, kept: shapely.Geometry = NOTHING, step: float = 0.5) -> Mesh:
    top = modeled_top(plate, kept, NOTHING, Surface(heights, heights, step))
    return with_tops(upright([plate]), [(1, top)]).at([0.0, 2.0])


def rim_of(mesh: Mesh, line: shapely.Geometry) -> np.ndarray:
    """Return the vertices (n, 3) of the top that lie on a line, in their order along it."""
    top = mesh.vertices[mesh.vertices[:, 2] > 1.0]
    points = shapely.points(top[:, :2])
    on = shapely.distance(line, points) < 1e-9
    return top[on][np.argsort(shapely.line_locate_point(line, points[on]))]


@pytest.mark.parametrize("name", APART)
def test_solids_with_modeled_tops_are_sound_and_hold_what_lies_below(name: str) -> None:
    plate = APART[name]
    mesh = made(plate, hill)
    assert mesh_faults(mesh.vertices, mesh.triangles).sound
    grid = np.stack(np.meshgrid(*[np.arange(-31.95, 42, 0.2)] * 2), axis=-1).reshape(-1, 2)
    inside = grid[shapely.contains_xy(plate, grid)]
    if len(inside):  # not in the needle
        expected = (2.0 + hill(inside).mean()) * plate.area
        assert signed_volume(mesh.vertices, mesh.triangles) == pytest.approx(expected, rel=0.03)


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1), st.floats(0.2, 1.5))
def test_whatever_the_heights_the_solid_is_sound(seed: int, step: float) -> None:
    rng = np.random.default_rng(seed)
    waves = rng.normal(size=(4, 2)), rng.uniform(0, 6, 4), rng.uniform(0, 0.3, 4)

    def heights(at: np.ndarray) -> np.ndarray:
        return 1.2 + (np.sin(at @ waves[0].T + waves[1]) * waves[2]).sum(axis=1)

    mesh = made(box_with_holes(int(rng.integers(0, 3))), heights, step=round(step, 3))
    assert mesh_faults(mesh.vertices, mesh.triangles).sound


def test_a_rim_gets_points_where_heights_bend_and_none_where_they_run_straight() -> None:
    plate = shapely.box(-5, -5, 5, 5)
    lower = shapely.LineString([(-5, -5), (5, -5)])
    rim = rim_of(made(plate, hill), lower)
    assert len(rim) > 10
    assert rim[:, 2] == pytest.approx(2.0 + hill(rim[:, :2]), abs=0.001)
    fine = np.linspace(-5, 5, 500)
    line = np.interp(fine, rim[:, 0], rim[:, 2])
    there = 2.0 + hill(np.column_stack([fine, np.full(500, -5.0)]))
    assert np.abs(line - there).max() < 0.01
    plane = rim_of(made(plate, lambda at: 1.0 + 0.05 * at[:, 0]), lower)
    assert plane[:, 0].tolist() == [-5.0, 5.0]
    assert plane[:, 2] == pytest.approx([2.75, 3.25])


def test_a_rim_off_by_less_than_a_written_step_runs_straight() -> None:
    plate, lower = shapely.box(-5, -5, 5, 5), shapely.LineString([(-5, -5), (5, -5)])
    for off, points in ((0.8 * STRAIGHT_MM, 2), (1.5 * STRAIGHT_MM, 21)):
        mesh = made(plate, lambda at, off=off: 1.0 + off * np.cos(at[:, 0] * np.pi / 10))
        assert len(rim_of(mesh, lower)) == points


def test_neighbors_divide_their_common_rim_alike_whichever_way_it_runs() -> None:
    slanted = [(1.0, -5.0), (2.3, 4.0)]
    left = shapely.Polygon([(-6, -5), *slanted, (-6, 4)])
    right = shapely.Polygon([slanted[0], (8, -5), (8, 4), slanted[1]])
    line = shapely.LineString(slanted)

    def along(plate: shapely.Polygon) -> np.ndarray:
        mesh = made(plate, hill)
        top = mesh.vertices[mesh.vertices[:, 2] > 1.0]
        return top[shapely.distance(line, shapely.points(top[:, :2])) < 0.002]

    one, other = along(left), along(right)
    assert len(one) > 5
    assert sorted(map(tuple, one)) == sorted(map(tuple, other))


def test_what_is_kept_stays_level_and_a_step_leans_beside_it() -> None:
    plate = shapely.Polygon([(-5, -5), (0, -5), (5, -5), (5, 5), (0, 5), (-5, 5)])
    kept = shapely.box(-5, -5, 0, 5)
    mesh = made(plate, lambda at: np.full(len(at), 1.0), as_multi(kept))
    assert mesh_faults(mesh.vertices, mesh.triangles).sound
    top = mesh.vertices[mesh.vertices[:, 2] > 1.0]
    assert (top[top[:, 0] <= 0, 2] == 2.0).all()
    assert (top[top[:, 0] >= LEAN_MM, 2] == 3.0).all()
    assert ((top[:, 0] <= 0) | (top[:, 0] >= LEAN_MM)).all()


def test_points_shared_with_what_stands_above_stay_level() -> None:
    plate, motif = shapely.box(-5, -5, 5, 5), shapely.box(-2, -2, 2, 2)
    cap = plate.difference(motif)
    top = modeled_top(cap, NOTHING, motif, Surface(hill, hill, 0.5))
    mesh = with_tops(upright([plate, motif]), [(1, top)]).at([0.0, 2.0, 4.0])
    assert mesh_faults(mesh.vertices, mesh.triangles).sound
    beside = shapely.distance(motif.boundary, shapely.points(mesh.vertices[:, :2])) < 1e-9
    assert set(mesh.vertices[beside, 2].tolist()) == {2.0, 4.0}
    assert mesh.vertices[~beside & (mesh.vertices[:, 2] > 1.0), 2].min() > 2.0


def test_an_even_surface_has_its_whole_lattice_and_another_one_what_bends() -> None:
    plate = shapely.box(-10, -10, 10, 10)

    def fold(at: np.ndarray) -> np.ndarray:
        return 1.0 + np.maximum(at[:, 0], 0.0) * 0.1

    counts = [
        len(modeled_top(plate, NOTHING, NOTHING, Surface(fold, fold, 0.5, even)).points)
        for even in (True, False)
    ]
    assert counts[0] > 1400
    assert counts[1] < 0.3 * counts[0]
