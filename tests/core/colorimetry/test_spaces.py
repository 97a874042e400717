"""Spaces: tables, round trips, neutral greys."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.colorimetry import (
    decode_srgb,
    encode_srgb,
    linear_to_srgb,
    srgb_to_lab,
    srgb_to_linear,
    srgb_to_oklab,
)


def test_every_byte_returns_from_linear_light() -> None:
    ramp = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    assert (linear_to_srgb(srgb_to_linear(ramp)) == ramp).all()


@given(st.floats(0.0, 1.0))
def test_encode_undoes_decode(value: float) -> None:
    # 4e-8: the two branches of the published curve do not meet exactly.
    assert float(encode_srgb(decode_srgb(value))) == pytest.approx(value, abs=4e-8 + 1e-7 * value)


def test_greys_are_exactly_neutral_and_ordered() -> None:
    ramp = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    lab = srgb_to_lab(ramp)
    assert np.abs(lab[:, 1:]).max() < 1e-10
    assert (np.diff(lab[:, 0]) > 0).all()
    assert (np.diff(srgb_to_oklab(ramp)[:, 0]) > 0).all()


def test_bytes_and_floats_give_the_same_color() -> None:
    bytes_ = np.array([[12, 200, 77], [0, 1, 255]], dtype=np.uint8)
    np.testing.assert_allclose(srgb_to_lab(bytes_), srgb_to_lab(bytes_.astype(float)), atol=1e-12)


def test_values_outside_are_clipped_to_bytes() -> None:
    assert linear_to_srgb([[-1.0, 2.0, 0.5]]).tolist() == [[0, 255, 188]]


def test_any_leading_shape_is_kept() -> None:
    assert srgb_to_lab(np.zeros((2, 4, 3), np.uint8)).shape == (2, 4, 3)
