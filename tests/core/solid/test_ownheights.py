"""Heights of single colors: which motif a color of the recipe means, and what is said where none does."""

from __future__ import annotations

import pytest

from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.solid.ownheights import MATCH, nearest_color, own_heights

from .plans import GOLD, NAVY, RED, WHITE


def _asked(*rows: tuple[str, float]) -> HeightSettings:
    return HeightSettings(motif_mm=0.6, colors=tuple({"color": one, "height_mm": mm} for one, mm in rows))


def test_colors_that_are_not_named_have_the_height_of_all() -> None:
    assert own_heights(_asked(), [RED, GOLD]) == ([0.6, 0.6], ())
    assert own_heights(_asked(("#d32020", 1.2)), [RED, GOLD]) == ([1.2, 0.6], ())


def test_a_color_means_the_nearest_motif_and_the_last_word_counts() -> None:
    heights, found = own_heights(
        _asked(("#ffffff", 1.0), ("#f8f8f8", 1.4), ("#14213d", 0.8)), [NAVY, WHITE, RED]
    )
    assert heights == [0.8, 1.4, 0.6]
    assert found == ()


def test_a_color_that_no_motif_has_is_told_and_changes_nothing() -> None:
    heights, (item,) = own_heights(_asked(("#00aa55", 1.0)), [RED, NAVY])
    assert heights == [0.6, 0.6]
    assert item.code == "color-unmatched"
    assert "#00aa55" in item.message


@pytest.mark.parametrize(("red", "meant"), [(0xD3, 0), (0xE8, 0), (0x90, None)])
def test_only_a_color_within_reach_is_meant(red: int, meant: int | None) -> None:
    """(144, 32, 32) is 15 from the red by CIEDE2000, (232, 32, 32) is 5: the reach is 12."""
    assert MATCH == 12.0
    assert nearest_color(f"#{red:02x}2020", [RED]) == meant


def test_without_motifs_no_color_is_meant() -> None:
    assert nearest_color("#d32020", []) is None
