"""The darkest and lightest pixels round each, against scipy's filters (scipy.ndimage, from the registry)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy import ndimage

from reliefsmith.colorimetry.window import extreme


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
