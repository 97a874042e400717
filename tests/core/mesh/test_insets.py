"""Shapes drawn in: as far as a bead fits, clear of their edge, with vertices where strokes end."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.mesh import ends_within, insets, refined, room_for, touching_points
from reliefsmith.mesh.insets import _printable
from reliefsmith.polygons import on_grid, opened

from .samples import plates

DUMBBELL = shapely.union_all(
    [shapely.box(0, 0, 4, 4), shapely.box(4, 1.6, 16, 2.4), shapely.box(16, 0, 20, 4)]
)


@pytest.mark.parametrize("offset", [0.02, 0.3, 1.25])
def test_a_square_is_drawn_in_to_a_square(offset: float) -> None:
    (inner,) = insets(shapely.box(0, 0, 8, 6), (offset,), 0.4)
    assert inner.equals(shapely.box(offset, offset, 8 - offset, 6 - offset))


def test_what_is_narrower_than_a_bead_ends() -> None:
    inner, last = insets(DUMBBELL, (0.15, 0.25), 0.4)
    assert len(inner.geoms) == 1  # the handle is 0.5 wide there
    assert len(last.geoms) == 2  # and would be 0.3
    assert insets(shapely.box(0, 0, 9, 0.8), (0.25,), 0.4) == ()
    assert len(insets(shapely.box(0, 0, 9, 0.8), (0.25,), 0.0)) == 1


@pytest.mark.parametrize("width", [0.8, 1.0, 3.0])
def test_the_room_in_a_stroke_leaves_a_bead(width: float) -> None:
    room = room_for(shapely.box(0, 0, 12, width), 5.0, 0.4)
    assert room == pytest.approx((width - 0.4) / 2, abs=0.015)
    assert insets(shapely.box(0, 0, 12, width), (room,), 0.4)
    assert room_for(shapely.box(0, 0, 12, 0.3), 5.0, 0.4) == 0.0


def test_ends_are_told_from_corners() -> None:
    square = shapely.box(0, 0, 8, 8)
    assert not ends_within(square, insets(square, (0.5,), 0.4)[0], 0.5)
    assert ends_within(DUMBBELL, insets(DUMBBELL, (0.3,), 0.4)[0], 0.3)


def test_vertices_are_added_where_a_stroke_ends_and_nowhere_else() -> None:
    (outer,) = insets(DUMBBELL, (0.1,), 0.4)
    (inner,) = insets(outer.geoms[0], (0.2,), 0.4)
    finer = refined(outer, inner, 0.2)
    assert finer.symmetric_difference(outer).area < 0.001 * outer.length  # half a grid step along the edge
    added = set(map(tuple, shapely.get_coordinates(finer))) - set(map(tuple, shapely.get_coordinates(outer)))
    # The handle reaches from 4 to 16; two samples of 0.25 mm more are kept before and after.
    assert min(x for x, _ in added) > 4 - 0.6
    assert max(x for x, _ in added) < 16 + 0.6
    assert len(added) >= 2 * 10 / 0.25
    assert refined(outer, outer, 0.2) is outer


@settings(max_examples=40)
@given(plates(), st.lists(st.floats(0.02, 2.0), min_size=1, max_size=5))
def test_any_contour_is_clear_printable_and_about_as_far_as_asked(
    plate: shapely.Polygon, steps: list[float]
) -> None:
    offsets = np.cumsum(steps).tolist()
    last: shapely.Geometry = plate
    for inner, offset in zip(insets(plate, offsets, 0.4), offsets, strict=False):
        assert on_grid(inner)
        assert inner.is_valid
        assert last.contains_properly(inner)
        assert len(touching_points(inner)) == 0
        # Chords and the grid: 1 % of an offset, two grid steps a contour.
        assert plate.boundary.distance(inner) >= offset - 0.01 * offset - 0.003 * len(offsets)
        lost = inner.difference(opened(inner, 0.19)).area
        corners = sum(
            len(ring.coords) for piece in inner.geoms for ring in [piece.exterior, *piece.interiors]
        )
        assert lost <= 0.002 * inner.area + 0.7 * 0.2**2 * corners
        last = inner


def test_a_disc_is_drawn_in_to_a_disc() -> None:
    disc = shapely.transform(shapely.Point(0, 0).buffer(6, quad_segs=60), lambda points: np.round(points, 3))
    for inner, offset in zip(insets(disc, (0.5, 1.5, 4.0), 0.4), (0.5, 1.5, 4.0), strict=True):
        assert inner.area == pytest.approx(math.pi * (6 - offset) ** 2, rel=0.003)


def test_pointed_corners_of_a_wide_piece_stay_and_an_end_goes() -> None:
    """A triangle of 60 mm with a corner of 27 degrees loses next to nothing; a whisker on it is an end."""
    wide = shapely.Polygon([(0, 0), (60, 0), (0, 30)])
    assert _printable(wide, 0.4).equals(wide)
    spiked = shapely.union(wide, shapely.box(-12, 2, 0.5, 2.3))
    assert _printable(spiked, 0.4).bounds[0] > -0.5
    assert _printable(spiked, 0.0).equals(spiked)
