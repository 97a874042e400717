"""What goes with a piece: nothing unless asked, and each thing that is."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.recipe import Recipe
from reliefsmith.solid.accessories import accessories
from reliefsmith.solid.stacking import stack

from .plans import PRINTER, RED, heights_of, plan_of

PLAN = plan_of(shapely.box(-30, -30, 30, 30), (RED, shapely.box(-20, -20, 20, 20)))
STACK = stack(PLAN, heights=heights_of(2.0, 0.6), printer=PRINTER)


def _names(values: dict[str, str | float]) -> list[str]:
    recipe = Recipe().with_values(values)
    made = accessories(
        PLAN,
        STACK,
        stand=recipe.stand,
        handle=recipe.handle,
        housing=recipe.housing,
        heights=recipe.heights,
        printer=recipe.printer,
    )
    assert all(item.copies >= 1 and item.parts and item.fitting for item in made)
    return [item.name for item in made]


@pytest.mark.parametrize(
    ("values", "names"),
    [
        ({}, []),
        ({"handle.kind": "grip"}, ["handle"]),
        ({"housing.kind": "frame", "housing.wall_mm": 10.0}, ["frame"]),
    ],
)
def test_what_is_asked_for_is_made(values: dict[str, str | float], names: list[str]) -> None:
    assert _names(values) == names


def test_a_housing_is_walls_and_a_lid_and_all_go_together() -> None:
    assert _names({"housing.kind": "walls"}) == ["walls", "lid"]
    assert _names({"handle.kind": "grip", "housing.kind": "walls"}) == ["handle", "walls", "lid"]
