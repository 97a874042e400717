"""What goes with a piece: nothing unless it is asked for, and defaults that fit into each other."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HandleSettings, HousingSettings, PrinterSettings, StandSettings
from reliefsmith.recipe.settings import specs

SECTIONS = (StandSettings, HandleSettings, HousingSettings)


@pytest.mark.parametrize("section", SECTIONS)
def test_nothing_goes_with_a_piece_unless_it_is_asked_for(section: type) -> None:
    assert section().kind == specs(section)["kind"].choices[0] == "off"
    assert getattr(Recipe(), section.NAME) == section()
    with pytest.raises(RecipeError, match=f"{section.NAME}.kind must be one of"):
        section(kind="on")


def test_a_tongue_has_its_gap_on_both_sides_and_stays_in_its_slot() -> None:
    stand = StandSettings()
    assert 0 < stand.clearance_mm < stand.slot_mm / 4
    assert stand.depth_mm is None  # as deep as it takes
    assert StandSettings(lean_deg=0).lean_deg == 0
    for bad in ({"feet": 3}, {"feet": 0}, {"lean_deg": 36}, {"clearance_mm": 0}):
        with pytest.raises(RecipeError, match="must be between"):
            StandSettings(**bad)


def test_walls_keep_light_in_by_four_beads_of_the_usual_nozzle_at_least() -> None:
    beads = 4 * PrinterSettings().nozzle_mm
    assert HousingSettings().wall_mm >= beads
    assert HousingSettings(wall_mm=beads).wall_mm == beads
    with pytest.raises(RecipeError):
        HousingSettings(wall_mm=beads - 0.1)


def test_lamps_are_those_of_a_strip_of_sixty_to_a_meter() -> None:
    assert HousingSettings().lamp_pitch_mm == pytest.approx(1000 / 60, abs=0.05)
    assert HousingSettings(cable_mm=0).cable_mm == 0


def test_slides_have_one_fit() -> None:
    recipe = Recipe()
    assert recipe.stand.clearance_mm == recipe.housing.clearance_mm == recipe.seams.clearance_mm


def test_a_grip_is_higher_than_its_plate_and_wider_than_a_pen() -> None:
    handle = HandleSettings()
    assert handle.plate_mm < handle.height_mm
    assert handle.thick_mm > 8
