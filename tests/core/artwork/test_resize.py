"""Working size by the picture's size alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from scipy.ndimage import maximum_filter, minimum_filter

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


@given(st.integers(0, 2**32 - 1), st.sampled_from(["L", "RGB", "RGBA"]), st.sampled_from([2, 3, 4]))
def test_enlarging_shows_no_value_that_the_pixels_round_it_have_not(
    seed: int, mode: str, factor: int
) -> None:
    """Flat shapes of a few tones: no ring of a lighter or darker one beside an edge."""
    tones = np.array([0, 60, 155, 211, 243], dtype=np.uint8)
    shape = (18, 22, len(mode)) if len(mode) > 1 else (18, 22)
    small = tones[np.random.default_rng(seed).integers(0, len(tones), shape)]
    large = np.asarray(enlarged(Image.fromarray(small), factor))
    size = (3, 3, 1) if len(mode) > 1 else (3, 3)
    for ends, keeps in ((maximum_filter, np.less_equal), (minimum_filter, np.greater_equal)):
        round_it = ends(small, size, mode="nearest").repeat(factor, axis=0).repeat(factor, axis=1)
        assert keeps(large, round_it).all()


def test_a_flat_area_beside_an_edge_stays_flat_and_the_edge_in_its_place() -> None:
    small = np.full((20, 20), 240, dtype=np.uint8)
    small[:, 10:] = 40
    large = np.asarray(enlarged(Image.fromarray(small), 3)).astype(float)
    assert set(np.unique(large[:, :27])) == {240.0}
    assert set(np.unique(large[:, 33:])) == {40.0}
    assert ((large - 40) / 200).sum(axis=1) == pytest.approx(30.0, abs=0.05)
