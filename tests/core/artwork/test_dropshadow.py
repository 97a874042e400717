"""Drop shadows of cut-out pictures: what is left is the art as if it had none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from reliefsmith.artwork.dropshadow import without_shadow
from reliefsmith.artwork.transparency import solid_alpha

SIZE = 300


def disc(radius: float, x: float = 140.0, y: float = 140.0, soft: float = 1.0) -> np.ndarray:
    """Return the coverage of a disc, its edge that many pixels wide."""
    down, across = np.mgrid[0:SIZE, 0:SIZE] + 0.5
    return np.clip((radius - np.hypot(across - x, down - y)) / soft + 0.5, 0.0, 1.0)


def over_shadow(
    art: np.ndarray, depth: float, blur: float, offset: tuple[float, float], tint: int = 0
) -> tuple[np.ndarray, np.ndarray]:
    """Return straight color and opacity of red art over its shadow."""
    shadow = depth * ndimage.gaussian_filter(ndimage.shift(art, offset, order=1), blur)
    opacity = art + (1 - art) * shadow
    red = np.array([200.0, 30.0, 40.0])
    color = (art[..., None] * red + ((1 - art) * shadow)[..., None] * tint) / np.maximum(opacity, 1e-6)[
        ..., None
    ]
    return np.rint(color).astype(np.uint8), np.rint(255 * opacity).astype(np.uint8)


@settings(max_examples=30)
@given(
    depth=st.floats(0.25, 0.45),
    blur=st.floats(3.0, 10.0),
    offset=st.tuples(st.floats(-10.0, 10.0), st.floats(3.0, 12.0)),
    tint=st.sampled_from([0, 60]),
)
def test_without_its_shadow_the_art_is_what_it_was(
    depth: float, blur: float, offset: tuple[float, float], tint: int
) -> None:
    art = np.maximum(disc(80.0), disc(30.0, 210.0, 150.0))
    dim, under = over_shadow(art, depth, blur, offset, tint)
    rgb, alpha = without_shadow(dim, under)
    edge = (art > 0) & (art < 1)
    before, after = (np.abs(opacity.astype(int) - np.rint(255 * art)) for opacity in (under, alpha))
    assert after[edge].mean() < 0.5 * before[edge].mean()
    assert after[~ndimage.binary_dilation(edge, iterations=2)].max() <= 8  # as good as clear
    assert np.abs(rgb[art > 0.5].astype(int) - (200, 30, 40)).max() <= 25
    # A second look finds nothing more.
    again = without_shadow(rgb, alpha)
    assert again[0] is rgb
    assert again[1] is alpha


@pytest.mark.parametrize("soft", [1.0, 2.0])
def test_art_without_a_shadow_is_left_alone(soft: float) -> None:
    rgb, alpha = over_shadow(disc(90.0, soft=soft), 0.0, 1.0, (0, 0))
    got = without_shadow(rgb, alpha)
    assert got[0] is rgb
    assert got[1] is alpha


def test_paint_with_soft_edges_is_no_shadow() -> None:
    alpha = np.rint(255 * disc(90.0, soft=30.0)).astype(np.uint8)
    rgb = np.full((SIZE, SIZE, 3), (200, 30, 40), np.uint8)
    assert without_shadow(rgb, alpha)[1] is alpha


def test_an_even_veil_is_paint_and_no_shadow() -> None:
    alpha = np.rint(255 * np.maximum(disc(60.0), 0.45 * disc(60.0, 210.0, 210.0))).astype(np.uint8)
    rgb = np.full((SIZE, SIZE, 3), (200, 30, 40), np.uint8)
    assert without_shadow(rgb, alpha)[1] is alpha
    _, solid, separates = solid_alpha(rgb, alpha)
    assert separates
    assert solid[225, 225] == 255


def test_a_dense_shadow_is_no_veil() -> None:
    rgb, alpha = over_shadow(disc(80.0), 0.45, 3.0, (20, 20))
    even = alpha == 115
    assert even.sum() > 1000  # even over many pixels, as a veil would be
    _, solid, separates = solid_alpha(rgb, alpha)
    assert separates
    assert solid[even].max() <= 8  # as good as clear
