"""Noise of a plane: that of made noise, none on drawings, and the early end never another value."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from reliefsmith.colorimetry import noise_sigma


@pytest.mark.parametrize("sigma", [1.5, 4.0, 9.0])
def test_the_noise_put_in_is_found(sigma: float) -> None:
    rng = np.random.default_rng(5)
    plane = 120 + rng.normal(0.0, sigma, (600, 500))
    assert noise_sigma(np.rint(plane).clip(0, 255).astype(np.uint8)) == pytest.approx(sigma, rel=0.08)


def test_a_clean_drawing_has_none() -> None:
    plane = np.full((300, 300), 250, np.uint8)
    plane[50:200, 80:220] = 30
    assert noise_sigma(plane) == 0.0


@pytest.mark.parametrize("share", [0.1, 0.3, 0.6, 0.9])
def test_few_rows_of_a_large_plane_never_hide_its_noise(share: float) -> None:
    """Noise in a share of the columns; the median over all rows, by plain differences, decides."""
    rng = np.random.default_rng(7)
    plane = np.full((380, 500), 120, np.uint8)
    wide = round(share * plane.shape[1])
    plane[:, :wide] += rng.integers(0, 12, (len(plane), wide)).astype(np.uint8)
    twice = np.diff(np.diff(plane.astype(int), 2, axis=0), 2, axis=1)
    assert noise_sigma(plane) == pytest.approx(np.median(np.abs(twice)) / (6 * 0.6745), abs=1e-12)
    assert (noise_sigma(plane) > 0) == (share > 0.5)


@given(
    arrays(
        np.uint8, array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9), elements=st.integers(0, 3)
    ),
    st.floats(0.0, 1.0),
)
def test_it_is_the_median_of_the_kernels_response(plane: np.ndarray, share: float) -> None:
    """After Immerkaer's kernel, by plain sums of every 3 by 3 window; `share` of the pixels is cleared."""
    plane[np.random.default_rng(1).random(plane.shape) < share] = 0
    kernel = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]])
    rows, columns = (side - 2 for side in plane.shape)
    found = [
        abs(int((kernel * plane[y : y + 3, x : x + 3]).sum()))
        for y in range(max(rows, 0))
        for x in range(max(columns, 0))
    ]
    expected = float(np.median(found)) / (6 * 0.6745) if found else 0.0
    assert noise_sigma(plane) == pytest.approx(expected, abs=1e-12)
