"""Color differences: the properties of a difference."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.colorimetry import ciede2000, contrast_ratio, srgb_to_lab

LABS = st.tuples(st.floats(0, 100), st.floats(-110, 110), st.floats(-110, 110))


@given(LABS, LABS)
def test_difference_is_symmetric_and_not_negative(one: tuple, other: tuple) -> None:
    there, back = float(ciede2000(one, other)), float(ciede2000(other, one))
    assert there >= 0
    assert there == pytest.approx(back, abs=1e-9)


@given(LABS)
def test_a_color_does_not_differ_from_itself(lab: tuple) -> None:
    assert float(ciede2000(lab, lab)) == 0.0


def test_shapes_broadcast_to_a_table() -> None:
    labs = srgb_to_lab(np.array([[0, 0, 0], [255, 0, 0], [255, 255, 255]], np.uint8))
    table = ciede2000(labs[:, None], labs[None])
    assert table.shape == (3, 3)
    assert table[0, 2] == pytest.approx(100.0)


def test_contrast_does_not_depend_on_the_order() -> None:
    one, other = np.array([[10, 20, 30]], np.uint8), np.array([[200, 180, 90]], np.uint8)
    assert contrast_ratio(one, other) == contrast_ratio(other, one)
    assert contrast_ratio(one, one) == 1.0
