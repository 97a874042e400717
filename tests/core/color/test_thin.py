"""Colors that exist only in lines: what edges show of three colors is none of them."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.model.artwork import Artwork

from .pictures import assert_colors, separated

WHITE, RED = (255.0, 255.0, 255.0), (206.0, 17.0, 38.0)


def painted_over(layers: list[tuple[np.ndarray, tuple[float, float, float]]]) -> Artwork:
    """Paint colors over each other on a clear sheet, by the share of each pixel that they cover."""
    alpha = np.zeros(layers[0][0].shape)
    mixed = np.zeros((*alpha.shape, 3))
    for cover, color in layers:
        mixed = mixed * (1.0 - cover)[..., None] + cover[..., None] * np.array(color)
        alpha = alpha * (1.0 - cover) + cover
    rgb = np.rint(mixed / np.maximum(alpha, 1e-9)[..., None]).astype(np.uint8)
    height, width = alpha.shape
    return Artwork(rgb, alpha.astype(np.float32), (width, height), 1.0, True, False)


def columns(size: int, first: float, last: float) -> np.ndarray:
    """Return what a band from `first` to `last` covers of each of so many pixels."""
    edges = np.arange(size + 1.0)
    return np.clip(np.minimum(edges[1:], last) - np.maximum(edges[:-1], first), 0.0, 1.0)


@pytest.mark.parametrize("part", [0.25, 0.4, 0.5, 0.6, 0.75])
def test_paint_over_paint_along_a_straight_rim_is_no_color_of_its_own(part: float) -> None:
    """A rim that both paints cover in part shows the lower one through the upper one."""
    size = 400
    down = columns(size, 40.0 - part, 360.0 + part)[:, None]
    sheet = down * columns(size, 30.0, 370.0)[None]
    right = down * columns(size, 90.0, 370.0)[None]
    assert_colors(separated(painted_over([(sheet, WHITE), (right, RED)])), ["#ffffff", "#ce1126"])
