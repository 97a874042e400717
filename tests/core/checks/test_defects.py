"""A quick sample of planted defects; the deep tier plants each in three places and leaves 60 pieces alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

import reliefsmith as rs
from defects import DEFECTS, PLACES, RECIPE, SAMPLES, STORE, TELLING, Made
from reliefsmith.jobs.checking import check_parts
from tiers import broad


@pytest.fixture(scope="module")
def made() -> Made:
    return Made()


@pytest.mark.parametrize("name", DEFECTS)
def test_a_planted_defect_is_told(made: Made, name: str) -> None:
    at = list(DEFECTS).index(name) % PLACES
    found = {item.code for item in check_parts(DEFECTS[name].do(made, at), RECIPE, made=made.parts)}
    assert found & DEFECTS[name].told


@pytest.mark.parametrize(
    ("picture", "style", "top"),
    broad(
        [("kite.png", "raised", "crown"), ("lantern.png", "stepped", "flat"), ("heron.jpg", "sunk", "flat")],
        lambda case: case[0] == "kite.png",  # test_remade.py has the lantern
    ),
)
def test_none_is_invented(picture: str, style: str, top: str) -> None:
    recipe = rs.Recipe().with_values({"heights.style": style, "heights.top": top})
    relief = rs.make(SAMPLES / picture, recipe, store=STORE)
    single = [replace(part, vertices=part.vertices.astype("f4").astype(float)) for part in relief.parts]
    found = {item.code for item in check_parts(single, recipe, made=relief.parts)}
    assert not found & TELLING - {item.code for item in relief.findings}
