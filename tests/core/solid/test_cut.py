"""A stack cut off at a height has the volume that lies below it, in closed parts."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import mesh_faults, signed_volume
from reliefsmith.model import Contours, Field, Slab, Stack
from reliefsmith.polygons import as_multi
from reliefsmith.solid.build import build
from reliefsmith.solid.cut import cut_below

BASE, MOTIF = shapely.box(-10, -5, 10, 5), shapely.box(-3, -2, 4, 2)


def stack() -> Stack:
    slabs = (
        Slab("base", "base", (20, 40, 80), BASE, 0.0, 2.0),
        Slab("red", "motif", (210, 50, 45), MOTIF, 2.0, 2.6),
    )
    return Stack(slabs, tuple(np.arange(1, 14) * 0.2), (), by_height=True)


@pytest.mark.parametrize(
    ("height", "volumes"),
    [
        (0.7, {"base": 200 * 0.7}),
        (2.0, {"base": 400.0}),
        (2.25, {"base": 400.0, "red": 28 * 0.25}),
        (9.0, {"base": 400.0, "red": 28 * 0.6}),
    ],
)
def test_what_lies_below_is_area_times_height(height: float, volumes: dict[str, float]) -> None:
    parts = build(cut_below(stack(), height))
    assert {part.name: signed_volume(part.vertices, part.triangles) for part in parts} == pytest.approx(
        volumes
    )
    assert all(mesh_faults(part.vertices, part.triangles).sound for part in parts)
    assert max(part.vertices[:, 2].max() for part in parts) == pytest.approx(min(height, 2.6))


def sloping() -> Stack:
    """A square of 10 mm, upright to 2.4, a frustum up to 3.4 with a square of 8 mm on top."""
    shapes = tuple(as_multi(shapely.box(-side, -side, side, side)) for side in (5, 4))
    slab = Slab("red", "motif", (210, 50, 45), shapes[0], 2.0, Contours(shapes, (2.4, 3.4)))
    return Stack((slab,), (2.0, 3.4), (), by_height=True)


@pytest.mark.parametrize("height", [2.3, 2.4, 2.9, 3.1, 3.4, 5.0])
def test_a_sloped_top_is_cut_where_its_solid_is(height: float) -> None:
    (part,) = build(cut_below(sloping(), height))
    assert mesh_faults(part.vertices, part.triangles).sound
    assert part.vertices[:, 2].max() == pytest.approx(min(height, 3.4))
    rise = min(max(height - 2.4, 0.0), 1.0)
    inner = 10 - 2 * rise
    # A prism, and a frustum of a square pyramid (Euclid XII, any handbook).
    wanted = 100 * (min(height, 2.4) - 2.0) + rise * (100 + inner**2 + 10 * inner) / 3
    assert signed_volume(part.vertices, part.triangles) == pytest.approx(wanted, rel=1e-9)


def test_a_top_after_a_field_is_lowered_to_the_cut() -> None:
    field = Field(np.tile(np.linspace(2.2, 3.2, 11, dtype=np.float32), (11, 1)), (-5.0, -5.0), 1.0, 2.2)
    slab = Slab("red", "motif", (210, 50, 45), as_multi(shapely.box(-5, -5, 5, 5)), 2.0, field)
    whole = Stack((slab,), (2.0, 3.2), (), by_height=True)
    (part,) = build(cut_below(whole, 2.7))
    assert mesh_faults(part.vertices, part.triangles).sound
    assert part.vertices[:, 2].max() == pytest.approx(2.7)
    # 2.2 rising to 2.7 over half the width; its rim of 0.02 mm leans.
    assert signed_volume(part.vertices, part.triangles) == pytest.approx(10 * (5 * 0.45 + 5 * 0.7), rel=5e-3)


def test_below_the_piece_there_is_nothing_to_show() -> None:
    with pytest.raises(GeometryError, match="cut it higher"):
        cut_below(stack(), 0.0)


@pytest.mark.parametrize("above", [0.0, 0.0002, 0.3, 0.5998])
def test_a_slope_is_cut_at_any_height_even_a_hair_above_a_contour(above: float) -> None:
    """Within a grid step of a contour the section is that contour, which cannot stand on itself."""
    inner, innermost = shapely.box(-2, -1, 3, 1), shapely.box(-1.5, -0.5, 2.5, 0.5)
    top = Contours(tuple(as_multi(shape) for shape in (MOTIF, inner, innermost)), (2.6, 3.2, 3.8))
    slabs = (stack().slabs[0], Slab("red", "motif", (210, 50, 45), MOTIF, 2.0, top))
    parts = build(cut_below(Stack(slabs, (), (), by_height=True), 2.6 + above))
    volume = next(signed_volume(part.vertices, part.triangles) for part in parts if part.name == "red")
    areas = [(7 - 2 * share) * (4 - 2 * share) for share in (0.0, above / 1.2, above / 0.6)]
    frustum = above * (areas[0] + 4 * areas[1] + areas[2]) / 6  # the prismoidal formula, any handbook
    assert volume == pytest.approx(28 * 0.6 + frustum, abs=0.02)
    assert all(mesh_faults(part.vertices, part.triangles).sound for part in parts)


def test_a_hair_above_the_second_of_three_contours_ends_with_the_third() -> None:
    inner, innermost = shapely.box(-2, -1, 3, 1), shapely.box(-1.5, -0.5, 2.5, 0.5)
    top = Contours(tuple(as_multi(shape) for shape in (MOTIF, inner, innermost)), (2.6, 3.2, 3.8))
    slabs = (stack().slabs[0], Slab("red", "motif", (210, 50, 45), MOTIF, 2.0, top))
    made = cut_below(Stack(slabs, (), (), by_height=True), 3.2002)
    assert isinstance(made.slabs[1].top, Contours)
    assert made.slabs[1].top.shapes == top.shapes
    assert made.slabs[1].top.levels_mm == (2.6, 3.2, 3.2002)
    assert all(mesh_faults(part.vertices, part.triangles).sound for part in build(made))
