"""A second picture in the back: none unless it is named, laid in whole layers, as large as any other."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BackSettings, HeightSettings


def test_there_is_none_unless_it_is_named() -> None:
    back = BackSettings()
    assert (back.picture, back.width_mm, back.at_mm, back.turn_deg) == ("", None, None, 0.0)
    assert Recipe().back == back


def test_it_is_laid_in_whole_layers_that_leave_base_above_them() -> None:
    heights = HeightSettings()
    layers = BackSettings().depth_mm / heights.layer_mm
    assert layers == pytest.approx(round(layers))
    assert 0 < BackSettings().depth_mm < heights.base_mm / 2


@pytest.mark.parametrize("turn", [-180, 180])
def test_it_is_turned_by_half_a_turn_either_way(turn: float) -> None:
    assert BackSettings(turn_deg=turn).turn_deg == turn
    with pytest.raises(RecipeError):
        BackSettings(turn_deg=turn * 1.01)


@pytest.mark.parametrize(
    "bad",
    [{"palette": "auto"}, {"colors": 9}, {"width_mm": 4}, {"at_mm": (0,)}, {"depth_mm": 0}, {"picture": 3}],
)
def test_what_is_none_of_its_values_is_refused(bad: dict) -> None:
    with pytest.raises(RecipeError, match=f"back.{next(iter(bad))}"):
        BackSettings(**bad)


def test_its_palette_is_its_own_or_the_pieces() -> None:
    assert [BackSettings(palette=word).palette for word in ("own", "piece")] == ["own", "piece"]
    assert BackSettings().palette == "own"
