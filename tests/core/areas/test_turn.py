from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate

from exactart import picture_of
from reliefsmith.areas import scale, trace
from reliefsmith.findings import note
from reliefsmith.model import Artwork
from reliefsmith.recipe.sections import AreasSettings, SizeSettings

HOUSE = shapely.Polygon(
    [(40, 140), (40, 70), (90, 35), (140, 70), (140, 140), (105, 140), (105, 95), (75, 95), (75, 140)]
)


def photographed(artwork: Artwork) -> Artwork:
    return replace(artwork, lossy=True, notes=(note("light-divided", "uneven light was divided out"),))


@pytest.mark.parametrize("turn", [-4.0, -1.2, 2.5])
def test_a_photograph_is_turned_straight(turn: float) -> None:
    artwork, separation = picture_of([rotate(HOUSE, turn, origin=(90, 90))], 180)
    areas = trace(photographed(artwork), separation, AreasSettings())
    # One pixel over the longest wall of 70 px would be 0.8 degrees; sub-pixel points give a tenth of it.
    assert areas.turn_deg == pytest.approx(turn, abs=0.08)
    assert [item.code for item in areas.notes] == ["light-divided", "turned"]
    flat = scale(areas, SizeSettings(width_mm=100))
    walls = np.abs(np.diff(shapely.get_coordinates(flat.polygons[0]), axis=0))
    assert (walls[:, 0] < 0.2).sum() == 4


def test_a_drawing_keeps_its_slant() -> None:
    artwork, separation = picture_of([rotate(HOUSE, 2.5, origin=(90, 90))], 180)
    areas = trace(artwork, separation, AreasSettings())
    assert areas.turn_deg == 0
    assert not areas.findings
    assert not areas.notes


def test_a_lossy_picture_that_looks_turned_is_left_alone_but_told() -> None:
    artwork, separation = picture_of([rotate(HOUSE, 2.5, origin=(90, 90))], 180)
    areas = trace(replace(artwork, lossy=True), separation, AreasSettings())
    assert areas.turn_deg == 0
    assert [item.code for item in areas.findings] == ["not-straightened"]


def test_round_art_has_no_turn() -> None:
    artwork, separation = picture_of([shapely.Point(90, 90).buffer(70, 256)], 180)
    areas = trace(photographed(artwork), separation, AreasSettings())
    assert areas.turn_deg == 0
    assert not areas.findings
