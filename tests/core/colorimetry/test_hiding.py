"""Readings of a test piece give back the coefficients that made them; measured ones replace assumed ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.colorimetry import linear_to_srgb, srgb_to_linear, to_hex
from reliefsmith.colorimetry.hiding import (
    HIDES,
    coefficients_of,
    hiding_layers,
    measured,
    measured_stock,
    reflectance,
    shown_share,
    thick,
)
from reliefsmith.errors import RecipeError
from reliefsmith.recipe.tables import Spool

NAVY = (27, 42, 73)


@given(
    st.tuples(*[st.floats(0.01, 4.0)] * 3),
    st.tuples(*[st.floats(1.0, 12.0)] * 3),
    st.floats(0.1, 0.6),
    st.floats(0.0, 0.1),
)
@settings(max_examples=60)
def test_two_exact_readings_give_the_coefficients(
    k: tuple[float, ...], s: tuple[float, ...], mm: float, ground: float
) -> None:
    backing = np.full(3, ground)
    own, over = thick(k, s), reflectance(k, s, mm, backing)
    share = (over - backing) / (own - backing)
    if (own - backing < 0.06).any() or (own > 0.97).any() or (share < 0.03).any() or (share > 0.97).any():
        return  # nothing that a reading could resolve
    found = measured("x", own, over, mm, backing)
    assert found is not None
    assert found.scattering == pytest.approx(s, rel=1e-6)
    assert found.absorption == pytest.approx(k, rel=1e-5)
    assert not found.assumed


def test_a_channel_without_contrast_takes_the_others_scattering() -> None:
    k, s = (0.1, 0.1, 40.0), (6.0, 6.0, 6.0)
    backing = np.array([0.02, 0.02, thick(k, s)[2]])
    found = measured("yellow", thick(k, s), reflectance(k, s, 0.2, backing), 0.2, backing)
    assert found is not None
    assert found.scattering == pytest.approx((6, 6, 6), rel=1e-6)


def test_equal_filaments_tell_nothing() -> None:
    assert measured("x", [0.3] * 3, [0.3] * 3, 0.2, [0.29] * 3) is None


def test_readings_of_eight_bits_give_the_right_number_of_layers() -> None:
    k, s = (0.3, 0.4, 0.9), (7.0, 7.0, 7.0)
    backing = srgb_to_linear(np.array(NAVY, dtype=np.uint8))
    own = _hex(thick(k, s))
    spool = Spool(
        "cream", own, thin_color=_hex(reflectance(k, s, 0.2, backing)), thin_mm=0.2, thin_over=to_hex(NAVY)
    )
    ((color, found),) = measured_stock([spool])
    assert found.scattering == pytest.approx(s, rel=0.05)
    exact = next(n for n in range(1, 40) if shown_share(found, n * 0.2, NAVY) >= HIDES)
    assert hiding_layers(found, 0.2, NAVY) == exact
    assert coefficients_of(color, [(color, found)]) is found
    assert coefficients_of((20, 20, 20), [(color, found)]).assumed


def test_a_reading_is_given_whole_or_not_at_all() -> None:
    with pytest.raises(RecipeError, match="all three or none"):
        Spool("cream", "#eeeecc", thin_mm=0.2)
    assert measured_stock([Spool("cream", "#eeeecc")]) == ()


def _hex(light: np.ndarray) -> str:
    red, green, blue = (int(value) for value in linear_to_srgb(light))
    return to_hex((red, green, blue))
