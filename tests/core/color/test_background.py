"""The ground by what the outer frame shows: shares, corners, paper, fields, and a color that was picked."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.background import frame_ground, ground_of
from reliefsmith.color.mixing import Mixing, mixing_planes
from reliefsmith.errors import ArtworkError
from reliefsmith.model import Artwork
from reliefsmith.recipe.sections import BackgroundSettings

WHITE, GREY, RED, KRAFT = (255, 255, 255), (150, 150, 150), (200, 30, 40), (190, 160, 125)
SIDE = 100


def planes(rgb: np.ndarray) -> Mixing:
    return Mixing(tuple(np.ascontiguousarray(rgb[..., channel]) for channel in range(3)), None)


def framed(color: tuple[int, int, int], share: float, corners: int = 0) -> Mixing:
    """A picture whose frame shows a color in a share of its length and in corners; the rest is motley."""
    rgb = np.zeros((SIDE, SIDE, 3), np.uint8)
    stripes = np.array([(20, 60, 200), (20, 120, 40), (230, 180, 20), (120, 30, 140), (0, 0, 0)], np.uint8)
    rgb[:] = stripes[(np.arange(SIDE) // 2 + np.arange(SIDE)[:, None] // 2) % 5]
    cells = [(slice(0, 4), slice(0, 4)), (slice(0, 4), slice(-4, None))]
    cells += [(slice(-4, None), slice(0, 4)), (slice(-4, None), slice(-4, None))]
    for cell in cells[:corners]:
        rgb[cell] = color
    row, column = np.indices((SIDE, SIDE))
    depth = np.minimum(np.minimum(row, SIDE - 1 - row), np.minimum(column, SIDE - 1 - column))
    in_corner = (np.minimum(row, SIDE - 1 - row) < 4) & (np.minimum(column, SIDE - 1 - column) < 4)
    frame, shown = depth < 2, (rgb == color).all(axis=2)
    amid = np.flatnonzero(frame & ~in_corner)
    wanted, have = round(share * frame.sum()), int((frame & shown).sum())
    rgb.reshape(-1, 3)[amid[: wanted - have]] = color
    return planes(rgb)


@pytest.mark.parametrize(
    ("color", "share", "corners", "is_ground"),
    [
        (GREY, 0.62, 0, True),
        (GREY, 0.58, 0, False),
        (WHITE, 0.52, 0, True),
        (WHITE, 0.48, 0, False),
        ((235, 235, 235), 0.55, 0, True),
        ((234, 234, 234), 0.55, 0, False),
        (GREY, 0.27, 3, True),
        (GREY, 0.27, 2, False),
        (GREY, 0.23, 4, False),
    ],
)
def test_a_ground_fills_three_fifths_half_as_paper_or_a_quarter_with_three_corners(
    color: tuple[int, int, int], share: float, corners: int, is_ground: bool
) -> None:
    found = frame_ground(framed(color, share, corners), 0.0)
    assert tuple(found.frame) == color
    assert found.exists is is_ground


def flag(color: tuple[int, int, int], reach: int) -> Mixing:
    """A field with a bar of white that takes so many pixels of the upper and the lower side."""
    rgb = np.full((SIDE, SIDE, 3), color, np.uint8)
    rgb[:, 30 : 30 + reach] = 255
    return planes(rgb)


@pytest.mark.parametrize(
    ("color", "reach", "is_field"),
    [(RED, 0, True), (RED, 48, True), (RED, 52, False), (KRAFT, 0, False), (GREY, 0, False)],
)
def test_a_field_is_saturated_and_shown_by_half_of_each_side(
    color: tuple[int, int, int], reach: int, is_field: bool
) -> None:
    found = frame_ground(flag(color, reach), 0.0)
    assert found.exists is not is_field
    assert found.is_field is is_field


def test_a_field_shows_in_all_four_corners() -> None:
    rgb = np.full((SIDE, SIDE, 3), RED, np.uint8)
    rgb[:6, :6] = 255
    found = frame_ground(planes(rgb), 0.0)
    assert found.exists
    assert not found.is_field


def opaque(rgb: np.ndarray) -> Artwork:
    return Artwork(rgb, np.ones(rgb.shape[:2], np.float32), rgb.shape[1::-1], 1.0, False, False)


ON_GREY = np.full((SIDE, SIDE, 3), GREY, np.uint8)
ON_GREY[20:80, 20:80] = RED
FIELD = np.full((SIDE, SIDE, 3), RED, np.uint8)
FIELD[20:80, 20:80] = WHITE
STRIPES = np.repeat(np.array([[RED], [WHITE], [(0, 0, 0)]], np.uint8), 34, axis=0)[:SIDE].repeat(SIDE, axis=1)


@pytest.mark.parametrize(
    ("rgb", "mode", "exists", "code"),
    [
        (ON_GREY, "auto", True, "ground-taken"),
        (ON_GREY, "border", True, None),
        (ON_GREY, "none", False, None),
        (FIELD, "auto", False, "field-kept"),
        (FIELD, "border", True, None),
        (STRIPES, "auto", False, None),
        (STRIPES, "border", True, None),
    ],
)
def test_the_frame_is_ground_by_judgement_or_by_setting_and_a_guess_is_told(
    rgb: np.ndarray, mode: str, exists: bool, code: str | None
) -> None:
    found = ground_of(opaque(rgb), planes(rgb), 0.0, BackgroundSettings(mode=mode))
    assert found.exists is exists
    assert (found.color is not None) is exists
    assert [item.code for item in found.notes] == ([] if code is None else [code])
    assert found.is_field is (code == "field-kept")


def test_the_ground_of_a_cut_out_picture_is_what_is_transparent_whatever_is_set() -> None:
    cut = Artwork(ON_GREY, np.zeros((SIDE, SIDE), np.float32), (SIDE, SIDE), 1.0, True, False)
    for settings in (
        BackgroundSettings(),
        BackgroundSettings(mode="none"),
        BackgroundSettings(color="#c81e28"),
    ):
        found = ground_of(cut, mixing_planes(cut), 0.0, settings)
        assert found.exists
        assert found.color is None


def picked(color: str, share_px: int = 3600, **settings: str) -> tuple[float, ...] | None:
    rgb = np.full((SIDE, SIDE, 3), GREY, np.uint8)
    rgb.reshape(-1, 3)[: share_px // SIDE * SIDE] = RED
    found = ground_of(opaque(rgb), planes(rgb), 0.0, BackgroundSettings(color=color, **settings))
    return None if found.color is None else tuple(found.color)


def test_a_color_that_was_picked_means_the_nearest_one_of_the_picture() -> None:
    assert picked("#c82028") == RED
    assert picked("#999999") == GREY
    with pytest.raises(ArtworkError, match="which the picture does not show"):
        picked("#14b43c")
    assert picked("#c82028", mode="none") is None


def test_a_color_of_a_few_pixels_is_no_background() -> None:
    """Two thousandths of 100 x 100 pixels are twenty."""
    rgb = np.full((SIDE, SIDE, 3), GREY, np.uint8)
    rgb[0, :19] = RED
    with pytest.raises(ArtworkError, match="does not show"):
        ground_of(opaque(rgb), planes(rgb), 0.0, BackgroundSettings(color="#c81e28"))
    rgb[0, 19] = RED
    found = ground_of(opaque(rgb), planes(rgb), 0.0, BackgroundSettings(color="#c81e28"))
    assert tuple(found.color) == RED
