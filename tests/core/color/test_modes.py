"""Modes: pixels counted by color, and the colors round which they gather."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.color.mixing import Mixing
from reliefsmith.color.modes import Bins, count_bins, find_clusters
from reliefsmith.colorimetry import ciede2000, srgb_to_lab


def mixing(pixels: np.ndarray) -> Mixing:
    return Mixing(tuple(np.ascontiguousarray(pixels[..., channel]) for channel in range(3)), None)


def bins(*rows: tuple[tuple[float, float, float], float]) -> Bins:
    means = np.array([color for color, _ in rows], np.float64)
    return Bins(
        np.arange(len(rows)), np.array([count for _, count in rows], np.float64), means, srgb_to_lab(means)
    )


def greys(gap: float) -> tuple[float, float]:
    """Return two greys that lie a CIEDE2000 apart."""
    levels = np.linspace(100.0, 140.0, 4001)
    gaps = ciede2000(srgb_to_lab(np.repeat(levels[:, None], 3, axis=1)), srgb_to_lab(np.full(3, 100.0)))
    return 100.0, float(levels[np.argmin(np.abs(gaps - gap))])


@given(st.integers(0, 2**32 - 1), st.integers(1, 6))
def test_every_chosen_pixel_counts_once_in_the_bin_of_its_key(seed: int, colors: int) -> None:
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colors, 3)).astype(np.uint8)
    pixels = palette[rng.integers(0, colors, (9, 11))]
    chosen = rng.random((9, 11)) < 0.7
    picture = mixing(pixels)
    found = count_bins(picture, picture.keys(), chosen)
    own = (pixels >> 2).astype(np.int64) @ [4096, 64, 1]
    keys, counts = np.unique(own[chosen], return_counts=True)
    assert found.keys.tolist() == keys.tolist()
    assert found.counts.tolist() == counts.tolist()
    for key, mean in zip(found.keys, found.means, strict=True):
        assert mean == pytest.approx(pixels[chosen & (own == key)].mean(axis=0))


def test_many_runs_are_counted_as_few_are() -> None:
    """Beyond 32768 runs another way of counting begins."""
    pixels = np.random.default_rng(5).integers(0, 256, (200, 200, 3)).astype(np.uint8)
    picture = mixing(pixels)
    found = count_bins(picture, picture.keys(), np.ones((200, 200), bool))
    keys, counts = np.unique((pixels >> 2).astype(np.int64) @ [4096, 64, 1], return_counts=True)
    assert found.keys.tolist() == keys.tolist()
    assert found.counts.tolist() == counts.tolist()
    assert (found.means.T * found.counts).sum() == pytest.approx(float(pixels.sum()))


def test_a_mode_has_the_exact_value_of_its_commonest_color() -> None:
    found = find_clusters(bins(((100, 100, 100), 1000), ((101, 100, 100), 100), ((99, 101, 100), 100)), 0.0)
    assert found.colors.tolist() == [[100.0, 100.0, 100.0]]
    assert found.weights.tolist() == [1200.0]
    assert found.of_bin.tolist() == [0, 0, 0]


def test_colors_above_a_quarter_of_the_peak_share_in_the_value() -> None:
    found = find_clusters(bins(((100, 100, 100), 75), ((101, 101, 101), 25)), 0.0)
    assert found.colors[0] == pytest.approx([100.25] * 3)
    found = find_clusters(bins(((100, 100, 100), 81), ((101, 101, 101), 19)), 0.0)
    assert found.colors[0] == pytest.approx([100.0] * 3)


@pytest.mark.parametrize(("sigma", "radius"), [(0.0, 1.5), (2.0, 2.5)])
def test_two_colors_are_two_modes_from_a_radius_on_that_noise_widens(sigma: float, radius: float) -> None:
    for gap, count in ((radius - 0.1, 1), (radius + 0.1, 2)):
        one, other = greys(gap)
        found = find_clusters(bins(((one,) * 3, 1000), ((other,) * 3, 2)), sigma)
        assert len(found.colors) == count


def test_modes_come_by_weight_and_a_single_pixel_makes_none() -> None:
    found = find_clusters(bins(((200, 30, 40), 1), ((20, 60, 200), 2), ((250, 250, 250), 50)), 0.0)
    assert found.weights.tolist() == [50.0, 2.0]
    assert found.of_bin.tolist() == [-1, 1, 0]


def test_no_more_modes_are_found_than_a_map_of_bytes_can_name() -> None:
    levels = np.arange(0, 256, 36)
    colors = [(float(r), float(g), float(b)) for r in levels for g in levels for b in levels]
    found = find_clusters(bins(*((color, 9) for color in colors)), 0.0)
    assert len(colors) == 512
    assert len(found.colors) == 255
    assert (found.of_bin < 0).any()


def test_without_a_calm_pixel_there_is_no_mode() -> None:
    found = find_clusters(Bins(np.zeros(0, int), np.zeros(0), np.zeros((0, 3)), np.zeros((0, 3))), 0.0)
    assert found.colors.shape == (0, 3)
