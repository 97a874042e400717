"""Limits that are shared: each is what the settings that name it hold to, and they fit one another."""

from __future__ import annotations

import math

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import Inscription, PrinterSettings
from reliefsmith.recipe.sections.limits import (
    BORE_MM,
    FIRST_ISLAND_MM,
    FIRST_ISLAND_MM2,
    MOST_CHARACTERS,
    MOST_COLORS,
    NARROWEST_MM,
    USUAL_CAPITALS_MM,
    USUAL_NOZZLE_MM,
    WIDEST_MM,
)


@pytest.mark.parametrize(
    ("key", "limits"),
    [
        ("size.width_mm", (NARROWEST_MM, WIDEST_MM)),
        ("size.height_mm", (NARROWEST_MM, WIDEST_MM)),
        ("size.longest_mm", (NARROWEST_MM, WIDEST_MM)),
        ("back.width_mm", (NARROWEST_MM, WIDEST_MM)),
        ("hang.hole_mm", BORE_MM),
        ("colors.count", (0, MOST_COLORS)),
        ("back.colors", (0, MOST_COLORS)),
        ("colors.most", (0, MOST_COLORS + 1)),
    ],
)
def test_settings_hold_to_the_limit_that_is_theirs(key: str, limits: tuple[float, float]) -> None:
    for value in limits:
        Recipe().with_values({key: value})
    for value in (limits[0] - 1, limits[1] + 1):
        with pytest.raises(RecipeError, match="must be between"):
            Recipe().with_values({key: value})


@pytest.mark.parametrize("key", ["hang.at_mm", "back.at_mm"])
def test_a_place_lies_no_farther_off_than_the_widest_artwork(key: str) -> None:
    Recipe().with_values({key: (WIDEST_MM, -WIDEST_MM)})
    with pytest.raises(RecipeError):
        Recipe().with_values({key: (0, WIDEST_MM + 1)})


def test_a_picture_of_most_colors_has_a_palette_and_steps_for_all() -> None:
    colors = [f"#0000{number:02x}" for number in range(MOST_COLORS + 1)]
    for key in ("colors.palette", "heights.steps"):
        Recipe().with_values({key: colors[:-1]})
        with pytest.raises(RecipeError):
            Recipe().with_values({key: colors})


def test_a_text_has_so_many_characters_and_the_usual_height_is_one_it_may_have() -> None:
    Inscription("x" * MOST_CHARACTERS, size_mm=USUAL_CAPITALS_MM)
    with pytest.raises(RecipeError):
        Inscription("x" * (MOST_CHARACTERS + 1))


def test_limits_fit_one_another() -> None:
    """The default is the usual nozzle; an island as wide as the least has less than the least area."""
    assert PrinterSettings().nozzle_mm == USUAL_NOZZLE_MM
    assert math.pi / 4 * FIRST_ISLAND_MM**2 < FIRST_ISLAND_MM2
    assert 0 < BORE_MM[0] < Recipe().hang.hole_mm < BORE_MM[1]
    assert USUAL_NOZZLE_MM < BORE_MM[0] < FIRST_ISLAND_MM < NARROWEST_MM < WIDEST_MM
