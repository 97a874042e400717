"""Planted defects, each in three places, are all told; on 60 pieces that nobody touched none is invented."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

import reliefsmith as rs
from defects import DEFECTS, PLACES, RECIPE, SAMPLES, TELLING, Made
from reliefsmith.jobs.checking import check_parts

pytestmark = pytest.mark.deep

PICTURES = ("kite.png", "lantern.png", "heron.jpg")
SETTINGS: tuple[dict[str, object], ...] = (
    {},
    {"heights.style": "raised"},
    {"heights.style": "flush"},
    {"heights.style": "sunk"},
    {"heights.style": "stepped"},
    {"heights.style": "raised", "heights.top": "crown"},
    {"heights.style": "raised", "heights.top": "chamfer"},
    {"heights.style": "raised", "heights.top": "brightness"},
    {"heights.style": "raised", "heights.motif_mm": 1.6},
    {"heights.face": "down"},
    {"base.shape": "circle"},
    {"base.shape": "rectangle"},
    {"base.openings": "fill"},
    {"base.border_mm": 3.0},
    {"size.width_mm": 45.0},
    {"size.width_mm": 90.0},
    {"heights.layer_mm": 0.1, "heights.first_layer_mm": 0.1},
    {"heights.base_mm": 3.2},
    {"colors.count": 2},
    {"hang.hardware": "none"},
)


@pytest.fixture(scope="module")
def made() -> Made:
    return Made()


def test_there_are_kinds_and_pieces_enough() -> None:
    assert len(DEFECTS) >= 25
    assert len(PICTURES) * len(SETTINGS) == 60


@pytest.mark.parametrize("at", range(PLACES))
@pytest.mark.parametrize("name", DEFECTS)
def test_a_planted_defect_is_told(made: Made, name: str, at: int) -> None:
    found = {item.code for item in check_parts(DEFECTS[name].do(made, at), RECIPE, made=made.parts)}
    assert found & DEFECTS[name].told


@pytest.mark.parametrize(("picture", "number"), list(product(PICTURES, range(len(SETTINGS)))))
def test_none_is_invented(picture: str, number: int) -> None:
    """What the check says of parts in single precision, the run has said of its own."""
    recipe = rs.Recipe().with_values(SETTINGS[number])
    relief = rs.make(SAMPLES / picture, recipe)
    single = [replace(part, vertices=part.vertices.astype("f4").astype(float)) for part in relief.parts]
    found = check_parts(single, recipe, made=relief.parts)
    said = {item.code for item in relief.findings}
    assert [item for item in found if item.code in TELLING - said] == []
