"""Pegs between two plates: how many, how thick, how long, and what is said where there are none."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.polygons import as_multi, polygons_of
from reliefsmith.solid.layergrid import LayerGrid
from reliefsmith.solid.pegs import (
    APART,
    CLEARANCE_MM,
    DIAMETERS_MM,
    MOST,
    PEG_WALL_MM,
    peg_findings,
    pegs_in,
)

GRID = LayerGrid(200_000, 200_000)
PLATE = as_multi(shapely.box(-20, -20, 20, 20))


def test_three_thick_pegs_stand_far_apart_with_a_wall_round_their_holes() -> None:
    made = pegs_in(PLATE, GRID, back_layers=10)
    assert (made.count, made.diameter_mm) == (MOST, DIAMETERS_MM[0])
    pegs, holes = polygons_of(made.pegs), polygons_of(made.holes)
    for peg, hole in zip(pegs, holes, strict=True):
        assert shapely.covers(hole, peg)
        assert hole.bounds[2] - hole.bounds[0] == pytest.approx(4.0 + 2 * CLEARANCE_MM, abs=0.02)
        assert hole.distance(PLATE.boundary) >= PEG_WALL_MM - 0.01
    middles = [peg.centroid for peg in pegs]
    assert min(a.distance(b) for a in middles for b in middles if a is not b) >= 30
    assert peg_findings(made) == ()


@pytest.mark.parametrize(("wide", "diameter"), [(6.2, 4.0), (5.2, 3.0), (4.2, 2.0), (3.7, 0.0)])
def test_a_narrow_contact_takes_thinner_pegs_down_to_two_millimetres(wide: float, diameter: float) -> None:
    made = pegs_in(as_multi(shapely.box(-30, 0, 30, wide)), GRID, back_layers=10)
    assert made.diameter_mm == diameter
    assert bool(peg_findings(made)) is (diameter == 0.0)


def test_pegs_too_near_to_each_other_set_no_direction() -> None:
    """Of a contact as wide as 4 mm pegs need, so long that two stand 3 diameters apart, or hardly."""
    wall = DIAMETERS_MM[0] + 2 * (CLEARANCE_MM + PEG_WALL_MM)
    for length, diameter in ((APART * 4 + wall + 0.1, 4.0), (APART * 4 + wall - 0.1, 3.0)):
        made = pegs_in(as_multi(shapely.box(0, 0, length, wall + 0.1)), GRID, back_layers=10)
        assert made.diameter_mm == diameter


@pytest.mark.parametrize(
    ("back_layers", "layers", "holes"), [(20, 9, 10), (8, 5, 6), (4, 1, 2), (3, 1, 1), (2, 0, 0)]
)
def test_holes_are_a_layer_deeper_than_pegs_and_two_layers_stay_closed(
    back_layers: int, layers: int, holes: int
) -> None:
    made = pegs_in(PLATE, GRID, back_layers=back_layers)
    assert (made.layers, made.hole_layers) == (layers, holes)


def test_where_there_is_no_room_it_is_said() -> None:
    (item,) = peg_findings(pegs_in(shapely.MultiPolygon(), GRID, back_layers=10))
    assert item.code == "pegs-missing"
    assert "2 mm" in item.message
