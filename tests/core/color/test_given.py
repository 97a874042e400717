"""Colors that the user names: a palette that the picture's colors are drawn to, merges, omissions."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.modes import Clusters
from reliefsmith.color.palette import palette_choice
from reliefsmith.color.separate import corrected
from reliefsmith.recipe.sections import ColorSettings

RED, ROSE, BLUE, WHITE = (200, 30, 40), (230, 60, 80), (20, 60, 200), (255, 255, 255)
COLORS = np.array([RED, BLUE, WHITE], np.uint8)


def clusters(*rows: tuple[tuple[int, int, int], float]) -> Clusters:
    colors = np.array([color for color, _ in rows], np.float64).reshape(-1, 3)
    weights = np.array([weight for _, weight in rows], np.float64)
    return Clusters(colors, weights, np.arange(len(rows)))


def test_each_mode_takes_the_nearest_color_and_the_ground_competes() -> None:
    found = clusters((ROSE, 50.0), (BLUE, 30.0), ((250, 250, 250), 20.0))
    choice = palette_choice(found, ("#1e3cc8", "#c81e28"), np.array(WHITE, np.float64))
    assert choice.of_cluster.tolist() == [1, 0, -1]
    assert choice.colors.tolist() == [[30, 60, 200], [200, 30, 40]]


def test_without_a_ground_every_mode_takes_a_color() -> None:
    found = clusters((WHITE, 9.0))
    assert palette_choice(found, ("#1e3cc8", "#c81e28"), None).of_cluster.min() >= 0


def test_a_color_shows_what_most_of_its_pixels_show_and_one_without_pixels_itself() -> None:
    found = clusters((ROSE, 50.0), (RED, 60.0))
    choice = palette_choice(found, ("#c81e28", "#00ff00"), None)
    assert choice.of_cluster.tolist() == [0, 0]
    assert choice.shown.tolist() == [list(RED), [0, 255, 0]]


def test_a_picture_without_calm_pixels_takes_no_color() -> None:
    assert palette_choice(clusters(), ("#c81e28",), None).of_cluster.size == 0


def test_a_merged_color_joins_its_goal_whatever_was_merged_into_it_before() -> None:
    settings = ColorSettings(merge=(("#c81e28", "#143cc8"), ("#143cc8", "#ffffff")))
    colors, table, findings = corrected(COLORS, settings)
    assert table.tolist() == [0, 3, 3, 3]
    assert (colors == COLORS).all()
    assert findings == ()


def test_a_merge_into_a_color_of_its_own_renames_it() -> None:
    for goal, value in (("#00a050", (0, 160, 80)), ("#cc2030", (204, 32, 48))):
        colors, table, findings = corrected(COLORS, ColorSettings(merge=(("#c81e28", goal),)))
        assert colors.tolist() == [list(value), list(BLUE), list(WHITE)]
        assert table.tolist() == [0, 1, 2, 3]
        assert findings == ()
    assert COLORS.tolist() == [list(RED), list(BLUE), list(WHITE)]


def test_an_omitted_color_becomes_ground_with_all_that_was_merged_into_it() -> None:
    settings = ColorSettings(merge=(("#c81e28", "#143cc8"),), omit=("#143cc8",))
    assert corrected(COLORS, settings)[1].tolist() == [0, 0, 0, 3]


@pytest.mark.parametrize("which", ["merge", "omit"])
def test_a_color_that_the_picture_has_not_is_told_by_setting_and_name(which: str) -> None:
    settings = ColorSettings(**{which: (("#00a050", "#ffffff"),) if which == "merge" else ("#00a050",)})
    colors, table, findings = corrected(COLORS, settings)
    assert (colors == COLORS).all()
    assert table.tolist() == [0, 1, 2, 3]
    assert [item.code for item in findings] == ["color-unmatched"]
    assert f"colors.{which}" in findings[0].message
    assert "#00a050" in findings[0].message


def test_a_name_means_the_color_within_twelve_of_it_by_ciede2000() -> None:
    """Two greys are 11.7 and 12.4 from the third, by lightness alone."""
    grey = np.array([(109, 109, 109)], np.uint8)
    for text, table in (("#8b8b8b", [0, 0]), ("#8d8d8d", [0, 1])):
        assert corrected(grey, ColorSettings(omit=(text,)))[1].tolist() == table


def test_no_color_at_all_matches_nothing() -> None:
    none = np.zeros((0, 3), np.uint8)
    colors, table, findings = corrected(none, ColorSettings(omit=("#000000",)))
    assert colors.shape == (0, 3)
    assert table.tolist() == [0]
    assert len(findings) == 1
