"""Shading folds, flats stay: the border of two neighbors tells, whatever their colors' distance."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage.filters import threshold_otsu

from reliefsmith.color.fold import borders, halves
from reliefsmith.colorimetry import parse_hex
from reliefsmith.model.artwork import Artwork

from .pictures import Sheet, separated

BROWN, TAN = "#8a5a32", "#9c6b40"  # CIEDE2000 6.5 apart
SIZE = 240


def painted(kind: str, angle: float = 0.3, reach: float = 1.0, quality: int = 0) -> Artwork:
    """Return a disc on paper that goes from brown to tan: in an edge, or by shading of some kind."""
    share = np.asarray(Sheet(SIZE, None).disc(120, 120, 90, BROWN).rgba())[..., 3:] / 255.0
    y, x = np.mgrid[:SIZE, :SIZE] + 0.5
    along = ((x - 120) * np.cos(angle) + (y - 120) * np.sin(angle)) / 90
    way = {
        "flats": np.clip(along * 90 + 0.5, 0, 1),
        "linear": along / 2 + 0.5,
        "radial": np.hypot(x - 100, y - 110) / 110,
        "banded": np.floor((along / 2 + 0.5) * 5) / 5,
        "airbrushed": 1 / (1 + np.exp(-along * 18)),
    }[kind.removeprefix("shaded ")]
    one, other = (np.array(parse_hex(ink), dtype=np.float64) for ink in (BROWN, TAN))
    color = one + reach * np.clip(way, 0, 1)[..., None] * (other - one)
    if kind.startswith("shaded"):
        color += 5 * ((y - 120) / 90)[..., None]
    rgb = np.rint(share * np.clip(color, 0, 255) + (1 - share) * 255).astype(np.uint8)
    if quality:
        data = BytesIO()
        Image.fromarray(rgb).save(data, "JPEG", quality=quality)
        rgb = np.asarray(Image.open(data))
    return Artwork(rgb, np.ones((SIZE, SIZE), np.float32), (SIZE, SIZE), 1.0, False, quality > 0)


def colors_of(artwork: Artwork) -> set[tuple[int, ...]]:
    return {tuple(color) for color in separated(artwork).colors.tolist()}


@pytest.mark.parametrize("quality", [0, 75])
@pytest.mark.parametrize("kind", ["flats", "shaded flats"])
def test_two_browns_that_meet_in_an_edge_stay_two(kind: str, quality: int) -> None:
    for angle in (0.3, 1.2):
        assert len(colors_of(painted(kind, angle, quality=quality))) == 2


@pytest.mark.parametrize("quality", [0, 75])
@pytest.mark.parametrize("kind", ["linear", "radial", "banded"])
def test_two_browns_of_a_shaded_body_are_one_part(kind: str, quality: int) -> None:
    """From end to end they are as far from each other as the two flat browns."""
    assert len(colors_of(painted(kind, quality=quality))) == 1


def test_an_airbrushed_edge_is_shading() -> None:
    assert len(colors_of(painted("airbrushed"))) == 1


def test_shading_that_is_too_wide_for_one_color_is_cut_in_two_and_said() -> None:
    wide = separated(painted("linear", reach=4.5))
    assert len(wide.colors) == 2
    assert abs(wide.shares[0] - wide.shares[1]) < 0.2  # at its middle
    (said,) = [note for note in wide.notes if note.code == "shading-cut"]
    assert all("#{:02x}{:02x}{:02x}".format(*color) in said.message for color in wide.colors.tolist())
    narrow = separated(painted("linear"))
    assert "shading-cut" not in [note.code for note in narrow.notes]


@settings(max_examples=6, deadline=None)
@given(
    kind=st.sampled_from(["flats", "shaded flats", "linear", "airbrushed"]),
    reach=st.sampled_from([1.0, 4.5]),
    angle=st.floats(0.0, 6.28),
)
def test_mirrored_and_turned_the_same_is_folded(kind: str, reach: float, angle: float) -> None:
    artwork = painted(kind, angle, reach)
    wanted = sorted(colors_of(artwork))
    for rgb in (artwork.rgb[:, ::-1], artwork.rgb.transpose(1, 0, 2)):
        turned = replace(artwork, rgb=np.ascontiguousarray(rgb))
        found = sorted(colors_of(turned))
        assert len(found) == len(wanted)
        assert np.abs(np.array(found) - np.array(wanted)).max() <= 1


@pytest.mark.filterwarnings("error")
def test_an_area_without_pixels_borders_on_none() -> None:
    plane = np.zeros((12, 12), np.uint8)
    plane[:, 6:] = 200
    areas = [np.zeros(0, np.int64), np.flatnonzero(plane == 0), np.flatnonzero(plane == 200)]
    pairs, edges = borders([plane] * 3, areas, 1.0)
    assert pairs.tolist() == [[1, 2]]
    assert edges.tolist() == [True]


@given(st.integers(40, 200), st.integers(12, 50), st.integers(20, 2000), st.integers(0, 2**32 - 1))
def test_a_small_patch_is_one_half_and_the_noise_round_it_the_other(
    ground: int, gap: int, count: int, seed: int
) -> None:
    """Of a hundredth of the pixels and less: the mean of all lies in the noise of the rest."""
    rng = np.random.default_rng(seed)
    noise = rng.integers(-1, 2, 100 * count)
    values = np.concatenate([ground + noise, np.full(count, ground + gap)]).astype(np.uint8)
    beyond = halves([values, values, values], np.arange(len(values)))
    assert np.flatnonzero(beyond).tolist() == list(range(100 * count, 101 * count))


def test_halves_part_where_scikit_image_does() -> None:
    rng = np.random.default_rng(7)
    for spread in (2, 9, 30):
        values = np.clip(rng.normal(120, spread, 4000), 0, 255).astype(np.uint8)
        beyond = halves([values, values, values], np.arange(len(values)))
        assert (beyond == (values > threshold_otsu(values))).all()
