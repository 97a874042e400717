from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from oracles import euler_characteristic, merged_vertices, surface_area
from reliefsmith.errors import GeometryError
from reliefsmith.mesh import (
    Mesh,
    Section,
    extruded,
    mesh_faults,
    mesh_pieces,
    prism,
    section_difference,
    signed_volume,
)
from reliefsmith.polygons import on_grid

from .samples import APART, box_with_holes, plates, round_plate


def _assert_solid(mesh: Mesh, volume: float) -> None:
    faults = mesh_faults(mesh.vertices, mesh.triangles)
    assert faults.sound, faults
    assert faults.volume_mm3 == pytest.approx(volume, rel=1e-9)
    read_back = merged_vertices(mesh)
    assert len(read_back.vertices) == len(mesh.vertices)
    assert mesh_faults(read_back.vertices, read_back.triangles).closed


@pytest.mark.parametrize("name", APART)
def test_prisms_are_closed_and_hold_area_times_height(name: str) -> None:
    _assert_solid(prism(APART[name], 0.2, 2.6), APART[name].area * 2.4)


@given(plates(), st.integers(1, 40), st.integers(1, 40))
@settings(max_examples=50)
def test_random_prisms_are_closed_and_exact(plate: shapely.Polygon, below: int, layers: int) -> None:
    bottom, top = below * 0.2, (below + layers) * 0.2
    _assert_solid(prism(plate, bottom, top), plate.area * (top - bottom))


@pytest.mark.parametrize("holes", range(5))
def test_surface_and_euler_characteristic(holes: int) -> None:
    plate = box_with_holes(holes)
    mesh = prism(plate, 0.0, 2.0)
    assert surface_area(mesh) == pytest.approx(2 * plate.area + 2 * plate.length)
    assert euler_characteristic(mesh) == 2 - 2 * holes


def test_islands_are_pieces_of_one_mesh() -> None:
    mesh = prism(APART["island in an opening"], 0.0, 1.0)
    count, piece = mesh_pieces(len(mesh.vertices), mesh.triangles)
    assert count == 2
    volumes = [signed_volume(mesh.vertices, mesh.triangles[piece == index]) for index in range(2)]
    assert volumes == pytest.approx([box_with_holes(1).area, 4.0])


def test_a_pocket_is_cut_into_the_top() -> None:
    plate, pocket = shapely.box(0, 0, 20, 10), shapely.box(5, 3, 9, 7)
    mesh = extruded([Section(plate, 0.0, 1.6), Section(plate - pocket, 1.6, 2.0)])
    _assert_solid(mesh, 200 * 1.6 + 184 * 0.4)
    # The floor adds no hole through the piece.
    assert euler_characteristic(mesh) == 2


def test_steps_and_pockets_at_the_outline_stay_closed() -> None:
    plate = shapely.Polygon([(0, 0), (5, 0), (9, 0), (20, 0), (20, 10), (0, 10)])
    notch = shapely.box(5, 0, 9, 3)
    step = shapely.box(12, 4, 16, 8)
    mesh = extruded([Section(plate, 0.0, 1.0), Section(plate - notch, 1.0, 1.6), Section(step, 1.6, 2.2)])
    _assert_solid(mesh, 200 * 1.0 + 188 * 0.6 + 16 * 0.6)


def test_equal_sections_need_no_cap_between_them() -> None:
    plate = box_with_holes(2)
    whole, cut = prism(plate, 0.0, 2.0), extruded([Section(plate, 0.0, 1.0), Section(plate, 1.0, 2.0)])
    _assert_solid(cut, plate.area * 2)
    assert len(cut.triangles) == len(whole.triangles) + 2 * (len(whole.vertices) // 2)


def test_a_thousand_openings_make_a_genus_of_a_thousand() -> None:
    plate = round_plate(400, holes=1000, hole_points=6)
    mesh = prism(plate, 0.0, 2.0)
    _assert_solid(mesh, plate.area * 2)
    assert euler_characteristic(mesh) == 2 - 2 * 1000


def test_equal_input_gives_equal_meshes() -> None:
    one, other = (prism(round_plate(500, holes=25), 0.0, 2.0) for _ in range(2))
    np.testing.assert_array_equal(one.vertices, other.vertices)
    np.testing.assert_array_equal(one.triangles, other.triangles)


@pytest.mark.parametrize(
    ("sections", "words"),
    [
        ([Section(shapely.MultiPolygon(), 0.0, 1.0)], "no area left"),
        ([Section(shapely.box(0, 0, 1, 1), 1.0, 1.0)], "must lie above"),
        ([Section(shapely.box(0, 0, 1, 1), 0.0, 1.0), Section(shapely.box(0, 0, 1, 1), 1.2, 2.0)], "gap"),
        (
            [Section(shapely.box(0, 0, 4, 4), 0.0, 1.0), Section(shapely.box(2, -1, 6, 3), 1.0, 2.0)],
            "node them",
        ),
    ],
)
def test_sections_that_make_no_solid_are_refused(sections: list[Section], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        extruded(sections)


def test_differences_of_sections_stay_on_the_grid() -> None:
    # Slanted lines cross between grid points; without noding the crossing is off the grid.
    one, other = shapely.Polygon([(0, 0), (9, 0), (0, 7)]), shapely.Polygon([(1, -1), (9, 6), (2, 6)])
    rest = section_difference(one, other)
    assert on_grid(rest)
    assert rest.area == pytest.approx(one.difference(other).area, abs=0.02)
