"""The mixing space: planes in which edge pixels are weighted means, bins, and what compression leaves."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.mixing import (
    Mixing,
    mixing_planes,
    within_a_step,
)
from reliefsmith.colorimetry import luma_chroma
from reliefsmith.model import Artwork


def test_an_opaque_picture_mixes_as_it_is_stored() -> None:
    rgb = np.random.default_rng(3).integers(0, 256, (4, 5, 3)).astype(np.uint8)
    found = mixing_planes(Artwork(rgb, np.ones((4, 5), np.float32), (5, 4), 1.0, False, False))
    assert found.opaque is None
    assert (np.stack(found.planes, axis=-1) == rgb).all()
    assert found.shape == (4, 5)


def test_a_cut_out_picture_mixes_premultiplied_with_its_opacity() -> None:
    rgb = np.full((1, 4, 3), (200, 100, 51), np.uint8)
    alpha = np.array([[1.0, 0.5, 0.0, 251 / 255]], np.float32)
    found = mixing_planes(Artwork(rgb, alpha, (4, 1), 1.0, True, False))
    assert [plane.tolist()[0] for plane in found.planes] == [
        [200, 100, 0, 197],
        [100, 50, 0, 98],
        [51, 26, 0, 50],
        [255, 128, 0, 251],
    ]
    assert found.opaque is not None
    assert found.opaque.tolist() == [[True, False, False, True]]
    thinner = mixing_planes(Artwork(rgb, alpha - np.float32(1 / 255), (4, 1), 1.0, True, False))
    assert thinner.opaque is not None
    assert thinner.opaque.tolist() == [[True, False, False, False]]


def test_bins_are_of_six_bits_a_channel() -> None:
    planes = tuple(np.array([[value]], np.uint8) for value in (255, 4, 3))
    assert Mixing(planes, None).keys().tolist() == [[(63 << 12) | (1 << 6) | 0]]


def rgb_of(luma: float, blue: float, red: float) -> np.ndarray:
    """Return the color that has these luma and chroma."""
    base = luma_chroma(np.zeros((1, 3)))[0]
    matrix = (luma_chroma(np.eye(3)) - base).T
    return np.linalg.solve(matrix, np.array([luma, blue, red]) - base)


@pytest.mark.parametrize(
    ("luma", "blue", "red", "same"),
    [
        (2.4, 0.0, 0.0, True),
        (2.6, 0.0, 0.0, False),
        (-1.9, 2.4, -2.4, True),
        (0.0, 2.7, 0.0, False),
        (0.0, 0.0, -2.7, False),
    ],
)
def test_two_roundings_of_one_value_differ_by_a_step_at_most(
    luma: float, blue: float, red: float, same: bool
) -> None:
    color = rgb_of(120.0, 5.0, -9.0)
    other = rgb_of(120.0 + luma, 5.0 + blue, -9.0 + red)
    assert within_a_step(color, np.array([other, color])).tolist() == [same, True]
