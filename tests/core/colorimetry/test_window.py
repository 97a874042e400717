"""Windows round each pixel, against scipy's filters (scipy.ndimage, from the registry)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy import ndimage

from reliefsmith.colorimetry.window import amid, extreme, widened


@pytest.mark.parametrize("name", ["maximum", "minimum"])
@given(
    values=arrays(
        np.uint8, array_shapes(min_dims=2, max_dims=3, min_side=1, max_side=9), elements=st.integers(0, 255)
    )
)
def test_it_is_the_filter_over_three_by_three_pixels(name: str, values: np.ndarray) -> None:
    size = (3, 3, 1)[: values.ndim]
    wanted = getattr(ndimage, f"{name}_filter")(values, size=size, mode="nearest")
    assert np.array_equal(extreme(values, getattr(np, name)), wanted)


@given(st.integers(0, 2**32 - 1), st.integers(0, 7), st.integers(1, 20), st.integers(1, 20))
def test_widening_takes_every_bit_within_the_reach(seed: int, reach: int, height: int, width: int) -> None:
    bits = np.random.default_rng(seed).integers(0, 256, (height, width)).astype(np.uint16)
    bits *= np.random.default_rng(seed + 1).random((height, width)) < 0.1
    found = widened(bits, reach)
    for row in range(height):
        for column in range(width):
            around = bits[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1]
            assert found[row, column] == np.bitwise_or.reduce(around, axis=None)


@given(st.integers(0, 2**32 - 1), st.integers(0, 4), st.integers(1, 20), st.integers(1, 20))
def test_amid_others_is_what_an_erosion_leaves(seed: int, reach: int, height: int, width: int) -> None:
    flags = np.random.default_rng(seed).random((height, width)) < 0.9
    eroded = ndimage.binary_erosion(flags, np.ones((2 * reach + 1,) * 2), border_value=0)
    assert np.array_equal(amid(flags, reach), eroded)
