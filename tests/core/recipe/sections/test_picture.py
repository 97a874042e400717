"""The picture: its size as it is asked for, its part that is read, its ground and colors."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import ArtworkSettings, BackgroundSettings, ColorSettings, SizeSettings


@pytest.mark.parametrize("tall", [False, True])
@pytest.mark.parametrize("measure", ["artwork", "piece"])
@pytest.mark.parametrize("by", [0.6, 1.0, 2.5])
def test_the_setting_that_is_told_makes_the_artwork_so_many_times_as_large(
    by: float, measure: str, tall: bool
) -> None:
    """What stands beside the artwork stays as wide: the new side, less it, is the old one times `by`."""
    size = SizeSettings(measure=measure, height_mm=50.0 if tall else None)
    key, value = size.enlarged((40.0, 30.0), (43.0, 37.0), by)
    own, beside = (30.0, 7.0) if tall else (40.0, 3.0)
    assert key == ("size.height_mm" if tall else "size.width_mm")
    assert value - (beside if measure == "piece" else 0) == pytest.approx(own * by)


def test_without_a_side_the_longest_counts() -> None:
    size = SizeSettings()
    assert (size.width_mm, size.height_mm) == (None, None)
    assert 5 <= size.longest_mm <= 2000


def test_a_sheet_has_three_corners_at_least_and_four_at_most() -> None:
    corners = [[0, 0], [90, 0], [90, 60], [0, 60]]
    assert len(ArtworkSettings(corners=corners).corners) == 4
    with pytest.raises(RecipeError, match=r"artwork.corners must have 3 to 4 points, got 5"):
        ArtworkSettings(corners=[*corners, [5, 5]])
    assert ArtworkSettings(crop=[0, 0, 9, 9]).crop == (0.0, 0.0, 9.0, 9.0)
    with pytest.raises(RecipeError, match=r"artwork.crop must be between 0 and 100000 px"):
        ArtworkSettings(crop=[-1, 0, 9, 9])


@pytest.mark.parametrize("section", [BackgroundSettings, ColorSettings])
def test_a_color_is_found_unless_it_is_given(section: type) -> None:
    key = "color" if section is BackgroundSettings else "base"
    assert getattr(section(), key) == "auto"
    assert getattr(section(**{key: "#D8392B"}), key) == "#d8392b"
    with pytest.raises(RecipeError, match=f"{section.NAME}.{key} must be auto or a color"):
        section(**{key: "red"})


def test_colors_are_merged_in_pairs_and_left_out_one_by_one() -> None:
    colors = ColorSettings(merge=[["#AA0000", "#bb0000"]], omit=["#CC0000"])
    assert (colors.merge, colors.omit) == ((("#aa0000", "#bb0000"),), ("#cc0000",))
    with pytest.raises(RecipeError, match=r"colors.merge must be a list of pairs"):
        ColorSettings(merge=[["#aa0000"]])
    with pytest.raises(RecipeError, match=r"colors.omit may list 64 colors"):
        ColorSettings(omit=["#000000"] * 65)


def test_nothing_is_read_that_could_take_all_memory() -> None:
    """What the largest picture takes as four bytes a pixel stays below what a usual machine has."""
    artwork = ArtworkSettings()
    assert artwork.max_megapixels * 4e6 < 1e9
    assert artwork.max_draw_gib <= 4
    with pytest.raises(RecipeError):
        ArtworkSettings(max_depth=201)


def test_how_closely_boundaries_follow_is_a_share() -> None:
    for share in (0, 1):
        assert Recipe().with_values({"areas.smoothing": share}).areas.smoothing == share
    for bad in (-0.01, 1.01):
        with pytest.raises(RecipeError):
            Recipe().with_values({"areas.smoothing": bad})
