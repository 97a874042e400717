"""Pictures between their pixels, against scipy's interpolation of first order."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from reliefsmith.artwork.bilinear import sampled


@pytest.mark.parametrize("shape", [(7, 9), (2, 2), (7, 9, 3)])
def test_it_is_the_interpolation_of_first_order_with_the_rim_going_on_outside(shape: tuple[int, ...]) -> None:
    """A pixel's middle lies at .5; at the last one a thousandth of its neighbor is mixed in."""
    random = np.random.default_rng(4)
    picture = random.integers(0, 256, shape).astype(np.uint8)
    at = random.uniform(-3, 12, (40, 5, 2))
    found = sampled(picture, at)
    assert found.shape == (40, 5, *shape[2:])
    planes = np.moveaxis(np.atleast_3d(picture), 2, 0)
    rows, columns = at[..., 1] - 0.5, at[..., 0] - 0.5
    wanted = [
        ndimage.map_coordinates(plane.astype(float), (rows, columns), order=1, mode="nearest")
        for plane in planes
    ]
    assert np.abs(np.moveaxis(np.array(wanted), 0, -1).reshape(found.shape) - found).max() < 0.6


def test_middles_of_pixels_are_their_own_and_a_ramp_stays_a_ramp() -> None:
    picture = np.arange(20, dtype=np.uint8).reshape(4, 5) * 10
    rows, columns = np.mgrid[:3, :4]
    assert (
        sampled(picture, np.stack([columns + 0.5, rows + 0.5], axis=-1)).tolist() == picture[:3, :4].tolist()
    )
    assert sampled(picture, np.array([[1.75, 2.25], [2.0, 1.5]])).tolist() == pytest.approx([100.0, 65.0])
