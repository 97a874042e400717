"""Sloped tops cover their outline once, close on their walls, and hold just what their sections say."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from oracles import worst_aspect
from reliefsmith.errors import GeometryError
from reliefsmith.mesh import (
    Section,
    Top,
    contour_top,
    cut,
    draped_top,
    insets,
    mesh_faults,
    rings_of,
    signed_volume,
    sloped,
    touching_points,
)
from reliefsmith.mesh.gridrings import doubled_areas
from reliefsmith.mesh.lattice import lattice_cells
from reliefsmith.mesh.triangulate import doubled_triangle_areas
from reliefsmith.polygons import as_multi, from_grid

from .samples import plates

# Gauss-Legendre with three points is exact up to degree 5 (Abramowitz and Stegun 25.4.30); sections of a
# polyhedron between two heights without a vertex are of degree 2.
GAUSS = ((0.5 - 0.15**0.5, 5 / 18), (0.5, 8 / 18), (0.5 + 0.15**0.5, 5 / 18))


def _assert_covers_once(top: Top, outline: shapely.Geometry) -> None:
    """Every triangle turns the same way and together they have the outline's area: none lies on another."""
    areas = doubled_triangle_areas(top.points, top.triangles)
    assert (areas > 0).all()
    assert int(areas.sum()) == int(doubled_areas(rings_of(outline)).sum())
    assert len(np.unique(top.points, axis=0)) == len(top.points)


def _pyramid(levels: int) -> tuple[list[shapely.Polygon], list[float]]:
    shapes = [shapely.box(k, k, 20 - k, 20 - k) for k in range(levels)]
    return shapes, [1.0 + k for k in range(levels)]


@pytest.mark.parametrize("levels", [2, 3, 7])
def test_a_stepped_pyramid_of_slopes_is_one_frustum(levels: int) -> None:
    shapes, heights = _pyramid(levels)
    top = contour_top(shapes, heights)
    _assert_covers_once(top, shapes[0])
    solid = sloped([Section(shapes[0], 0.0, 1.0)], top)
    assert mesh_faults(solid.vertices, solid.triangles).sound
    inner = 20.0 - 2 * (levels - 1)
    # Frustum of a square pyramid (Euclid XII, any handbook).
    frustum = (levels - 1) * (400 + inner**2 + 20 * inner) / 3
    assert signed_volume(solid.vertices, solid.triangles) == pytest.approx(400 + frustum, rel=1e-12)


def test_an_opening_slopes_outward() -> None:
    outer = shapely.box(0, 0, 10, 10) - shapely.box(4, 4, 6, 6)
    inner = shapely.box(1, 1, 9, 9) - shapely.box(3, 3, 7, 7)
    solid = sloped([Section(outer, 0.0, 1.0)], contour_top([outer, inner], [1.0, 2.0]))
    walls, outside, funnel = 96.0, (100 + 64 + 80) / 3, (4 + 16 + 8) / 3
    assert signed_volume(solid.vertices, solid.triangles) == pytest.approx(walls + outside - funnel)


@settings(max_examples=30)
@given(plates(), st.lists(st.floats(0.02, 1.5), min_size=1, max_size=4))
def test_any_plate_holds_what_its_sections_say(plate: shapely.Polygon, steps: list[float]) -> None:
    assume(len(touching_points(plate)) == 0)  # such rings are moved apart before anything is built
    offsets = np.cumsum(steps).tolist()
    shapes = [as_multi(plate), *insets(plate, offsets, 0.4)]
    levels = [round(1.0 + 0.3 * k, 3) for k in range(len(shapes))]
    top = contour_top(shapes, levels)
    _assert_covers_once(top, plate)
    solid = sloped([Section(plate, 0.0, 1.0)], top)
    faults = mesh_faults(solid.vertices, solid.triangles)
    assert faults.sound
    assert np.isfinite(worst_aspect(solid))
    wanted = plate.area
    for (low, high), (outer, inner) in zip(pairwise(levels), pairwise(shapes), strict=True):
        sections = [
            (weight, cut(solid.vertices, solid.triangles, low + (high - low) * share))
            for share, weight in GAUSS
        ]
        assert all(outer.area * (1 + 1e-9) >= item.area >= inner.area * (1 - 1e-9) for _, item in sections)
        wanted += (high - low) * sum(weight * item.area for weight, item in sections)
    assert faults.volume_mm3 == pytest.approx(wanted, rel=1e-9)


def test_a_cloth_over_a_plane_is_that_plane() -> None:
    outline = shapely.box(-5, -4, 5, 4)
    inner = shapely.box(-4.98, -3.98, 4.98, 3.98)

    def plane(places: np.ndarray) -> np.ndarray:
        return 2.0 + places @ (0.125, -0.0625)

    top = draped_top(outline, 1.0, inner, plane, 0.4)
    _assert_covers_once(top, outline)
    places = from_grid(top.points[4:])
    assert np.abs(top.heights[4:] - plane(places)).max() <= 0.0005 + 1e-12  # whole micrometers
    solid = sloped([Section(outline, 0.0, 1.0)], top)
    assert mesh_faults(solid.vertices, solid.triangles).sound
    at_rim, frustum = 9.96 * 7.96 * 2.0, 80 - 9.96 * 7.96
    assert at_rim < signed_volume(solid.vertices, solid.triangles) < at_rim + 2 * frustum * 1.5


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("side", [1, -1])
def test_a_crest_or_valley_along_either_diagonal_is_no_saw(sign: int, side: int) -> None:
    cells = lattice_cells(shapely.box(-3, -3, 3, 3), 0.5)
    places = from_grid(cells.points)
    heights = side * np.abs(places[:, 0] - sign * places[:, 1])
    corners = cells.triangles(heights)
    assert (doubled_triangle_areas(cells.points, corners) > 0).all()
    middles, found = places[corners].mean(axis=1), heights[corners].mean(axis=1)
    wanted = side * np.abs(middles[:, 0] - sign * middles[:, 1])
    np.testing.assert_allclose(found, wanted, atol=1e-12)


@settings(max_examples=30)
@given(plates(), st.sampled_from([0.4, 0.8, 1.7]))
def test_any_plate_is_covered_by_its_lattice_and_the_band_round_it(
    plate: shapely.Polygon, step: float
) -> None:
    assume(len(touching_points(plate)) == 0)
    (inner,) = insets(plate, (0.02,), 0.0)
    top = draped_top(plate, 1.0, inner, lambda places: 1.5 + np.sin(places).sum(axis=1) / 5, step)
    _assert_covers_once(top, plate)
    solid = sloped([Section(plate, 0.0, 1.0)], top)
    assert mesh_faults(solid.vertices, solid.triangles).sound


def test_an_opening_within_a_cell_stays_open() -> None:
    plate = shapely.box(-4, -4, 4, 4) - shapely.box(0.45, 0.45, 0.55, 0.55)
    cells = lattice_cells(plate, 1.0)
    assert len(cells.cells) == 6 * 6 - 1
    assert plate.covers(cells.shape)


def test_contours_that_touch_are_refused() -> None:
    square = shapely.box(0, 0, 4, 4)
    with pytest.raises(GeometryError, match="touch near"):
        contour_top([square, shapely.Polygon([(0, 0), (3, 1), (3, 3), (1, 3)])], [1.0, 2.0])


def test_a_top_that_does_not_fit_its_walls_is_refused() -> None:
    square = shapely.box(0, 0, 4, 4)
    top = contour_top([square, shapely.box(1, 1, 3, 3)], [1.0, 0.5])
    with pytest.raises(GeometryError, match="below its edge"):
        sloped([Section(square, 0.0, 1.0)], top)
    rising = contour_top([square, shapely.box(1, 1, 3, 3)], [1.0, 1.5])
    with pytest.raises(GeometryError, match="walls below"):
        sloped([Section(shapely.box(0, 0, 5, 4), 0.0, 1.0)], rising)
    hovering = contour_top([square, shapely.box(1, 1, 3, 3)], [1.2, 1.5])
    with pytest.raises(GeometryError, match="walls below"):
        sloped([Section(square, 0.0, 1.0)], hovering)


def test_where_no_cell_has_room_a_cloth_lies_on_the_rings_alone() -> None:
    outline, inner = shapely.box(0, 0, 9, 0.5), shapely.box(0.02, 0.02, 8.98, 0.48)
    assert lattice_cells(inner, 1.0).cells.shape == (0, 4)
    top = draped_top(outline, 1.0, inner, lambda places: 1.2 + 0.0 * places[:, 0], 1.0)
    _assert_covers_once(top, outline)
    solid = sloped([Section(outline, 0.0, 1.0)], top)
    assert mesh_faults(solid.vertices, solid.triangles).sound
