"""Where a boundary runs between two pixels, and how far that is trusted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from exactart import picture_of
from reliefsmith.areas.graph import build_graph
from reliefsmith.areas.subpixel import (
    MOST_SHIFT,
    OFF_AXIS,
    REACH,
    WEIGHT_INTERPOLATED,
    WEIGHT_OFF,
    CrackPoints,
    _crossings,
    locate_cracks,
)


def located(blur: int) -> tuple[CrackPoints, np.ndarray]:
    """Locate the upright edge at 20.3 of a box that is blurred along rows over some pixels to each side."""
    artwork, separation = picture_of([shapely.box(20.3, -1, 60, 41)], 40)
    wide = np.pad(artwork.rgb.astype(float), ((0, 0), (blur, blur), (0, 0)), mode="edge")
    mean = np.mean([wide[:, k : k + 40] for k in range(2 * blur + 1)], axis=0)
    graph = build_graph(separation.labels)
    inner = (np.abs(graph.middle[:, 0] - 20) < 3) & (np.abs(graph.middle[:, 1] - 20) < 12)
    return locate_cracks(graph, replace(artwork, rgb=np.rint(mean).astype(np.uint8)), separation), inner


@pytest.mark.parametrize("blur", [0, 1, 2])
def test_an_edge_lies_where_it_is_however_blurred_and_is_trusted_less_the_wider_it_is(blur: int) -> None:
    found, inner = located(blur)
    np.testing.assert_allclose(found.points[inner, 0], 20.3, atol=0.02)
    # The trust is one over the pixels that mix both colors: one of them, then two more for each step of blur.
    np.testing.assert_allclose(found.weights[inner], 1 / (2 * blur + 1))


def crossing(before: float, after: float, off: tuple[int, ...] = ()) -> tuple[float, float]:
    """Return shift and weight where no pixel is pure; some rows are off the axis between the two colors."""
    fractions = np.full((2 * REACH, 1), 0.3)
    fractions[REACH - 1], fractions[REACH:] = before, 0.7
    fractions[REACH] = after
    far = np.zeros_like(fractions)
    far[list(off)] = OFF_AXIS + 1
    shift, weight = _crossings(fractions, far, 0.05)
    return float(shift[0]), float(weight[0])


def test_without_a_pure_pixel_the_place_of_half_and_half_is_taken_between_the_two_pixels() -> None:
    assert crossing(0.4, 0.6) == (pytest.approx(0.0), WEIGHT_INTERPOLATED)
    assert crossing(0.45, 0.65)[0] == pytest.approx(0.5 - 0.05 / 0.2)
    assert crossing(0.1, 0.2) == (-MOST_SHIFT, WEIGHT_INTERPOLATED)


def test_it_is_trusted_little_where_either_pixel_shows_a_third_color_or_the_two_are_alike() -> None:
    for off, weight in (
        ((REACH - 1,), WEIGHT_OFF),
        ((REACH,), WEIGHT_OFF),
        ((REACH + 1,), WEIGHT_INTERPOLATED),
        ((REACH - 2,), WEIGHT_INTERPOLATED),
    ):
        assert crossing(0.4, 0.6, off)[1] == weight
    assert crossing(0.1, 0.2, (REACH,)) == (-0.5, WEIGHT_OFF)
    assert crossing(0.4, 0.44)[1] == WEIGHT_OFF
    assert crossing(0.4, 0.46)[1] == WEIGHT_INTERPOLATED
