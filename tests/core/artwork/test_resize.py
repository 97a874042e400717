"""Working size by the picture's size alone."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from reliefsmith.artwork.resize import LEAST_PX, enlarged, enlargement, reduction

SIDES = st.integers(16, 20_000)


@given(SIDES, SIDES, st.booleans())
def test_reduced_pictures_fit_and_are_not_reduced_too_far(width: int, height: int, powers: bool) -> None:
    factor = reduction((width, height), powers_of_two=powers)
    assert max(width, height) / factor <= 2 * LEAST_PX
    if factor > 1:
        assert max(width, height) / factor >= LEAST_PX
    if powers:
        assert factor & (factor - 1) == 0


@given(SIDES, SIDES)
def test_enlarged_pictures_stay_below_the_working_size(width: int, height: int) -> None:
    factor = enlargement((width, height))
    assert factor == 1 or max(width, height) * factor < 2 * LEAST_PX
    assert factor == 1 or reduction((width, height), powers_of_two=False) == 1


def test_enlarging_keeps_the_center_of_mass() -> None:
    rng = np.random.default_rng(3)
    image = Image.fromarray(rng.integers(0, 255, (24, 30), dtype=np.uint8)).resize((30, 24))
    for factor in (2, 3, 4):
        large = np.asarray(enlarged(image, factor)).astype(float)
        small = np.asarray(image).astype(float)
        for axis in (0, 1):
            fine = (np.arange(large.shape[axis]) + 0.5) / factor
            coarse = np.arange(small.shape[axis]) + 0.5
            got = (large.sum(axis=1 - axis) * fine).sum() / large.sum()
            want = (small.sum(axis=1 - axis) * coarse).sum() / small.sum()
            assert abs(got - want) < 0.1
