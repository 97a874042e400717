"""Dots made colors again: on Pillow's own dithering, on checkers, and on paint that is none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.extra.numpy import array_shapes, arrays
from PIL import Image

from reliefsmith.artwork.dither import commonest, counted, dots, folded, packed

RED, WHITE = (200, 30, 40), (250, 250, 250)
PICTURES = arrays(np.uint8, array_shapes(min_dims=2, max_dims=2, max_side=9).map(lambda s: (*s, 3)))


@settings(max_examples=20)
@given(PICTURES)
def test_a_color_is_a_number_by_its_three_bytes_and_each_is_counted(rgb: np.ndarray) -> None:
    numbers = packed(rgb)
    bytes_of = np.concatenate([rgb, np.zeros((*rgb.shape[:2], 1), np.uint8)], axis=2)[..., [2, 1, 0, 3]]
    assert np.array_equal(numbers, np.ascontiguousarray(bytes_of).view("<i4")[..., 0])
    values, counts = counted(numbers)
    wanted = np.unique(numbers, return_counts=True)
    assert np.array_equal(values, wanted[0])
    assert np.array_equal(counts, wanted[1])
    color = commonest(rgb)
    assert (rgb == color).all(axis=2).sum() == counts.max()


def checkers(
    one: tuple[int, int, int], other: tuple[int, int, int], size: tuple[int, int] = (40, 50)
) -> np.ndarray:
    rows, columns = np.mgrid[: size[0], : size[1]]
    return np.where(((rows + columns) % 2)[..., None], one, other).astype(np.uint8)


def test_checkers_become_their_mean_up_to_an_edge_and_paint_stays_exact() -> None:
    """Dots beside plain white: but for two pixels at the edge nothing of it changes."""
    rgb = np.concatenate([checkers(RED, (20, 20, 20)), np.full((40, 30, 3), WHITE, np.uint8)], axis=1)
    found = folded(rgb)
    mean = (np.array(RED) + 20) / 2
    assert np.abs(found[4:-4, 4:46].astype(float) - mean).max() <= 4
    assert (found[:, 53:] == WHITE).all()


def test_between_two_dotted_areas_each_pixel_takes_its_own_side() -> None:
    rgb = np.concatenate([checkers(RED, (20, 20, 20)), checkers(WHITE, (10, 120, 220))], axis=1)
    found = folded(rgb).astype(float)
    assert np.abs(found[4:-4, 4:47] - (np.array(RED) + 20) / 2).max() <= 6
    assert np.abs(found[4:-4, 53:-4] - np.array([130, 185, 235])).max() <= 6


@pytest.mark.parametrize("turn", [np.rot90, np.flipud, np.fliplr])
def test_a_turned_picture_is_folded_as_the_upright_one(turn: object) -> None:
    rgb = np.concatenate([checkers(RED, (20, 20, 20)), np.full((40, 30, 3), WHITE, np.uint8)], axis=1)
    off = np.abs(folded(np.ascontiguousarray(turn(rgb))).astype(int) - turn(folded(rgb)))
    assert off.max() <= 6  # where two windows are as calm, one of them is taken
    assert off.mean() < 0.5


def test_clear_pixels_lend_no_color_and_keep_theirs() -> None:
    rgb = checkers(RED, (20, 20, 20))
    opaque = np.ones(rgb.shape[:2], bool)
    opaque[:, 25:] = False
    rgb[:, 25:] = checkers((0, 255, 0), (0, 0, 255))[:, 25:]
    found = folded(rgb, opaque)
    assert np.array_equal(found[:, 25:], rgb[:, 25:])
    assert np.abs(found[4:-4, 4:25].astype(float) - (np.array(RED) + 20) / 2).max() <= 6


def test_edges_without_dots_are_left() -> None:
    rgb = np.full((60, 60, 3), WHITE, np.uint8)
    rgb[20:, 20:] = RED
    rows, columns = np.mgrid[:60, :60]
    rgb[np.hypot(rows - 30, columns - 30) < 17] = (20, 20, 20)
    assert np.array_equal(folded(rgb), rgb)


def tiles(rgb: np.ndarray, side: int = 48) -> tuple[np.ndarray, np.ndarray]:
    rows, columns = rgb.shape[0] // side, rgb.shape[1] // side
    cut = rgb[: rows * side, : columns * side].reshape(rows, side, columns, side, 3)
    part = np.ascontiguousarray(cut.transpose(0, 2, 1, 3, 4)).reshape(-1, side, side, 3)
    return part, packed(part)


def gradient() -> np.ndarray:
    rows, columns = np.mgrid[:192, :192]
    return np.stack([60 + 0 * rows, 80 + columns // 2, 120 + rows // 2], axis=-1).astype(np.uint8)


def test_what_pillow_dithers_is_told_from_gradients_noise_and_stripes() -> None:
    """Floyd and Steinberg's dots are even; those strewn by chance are not, and stripes are no dots."""
    palette = Image.new("P", (1, 1))
    palette.putpalette([0, 0, 0, 255, 255, 255, 200, 40, 40, 40, 40, 200, 40, 160, 60])
    even = np.asarray(
        Image.fromarray(gradient())
        .quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG)
        .convert("RGB")
    )
    assert dots(*tiles(even)) == (True, False)
    assert dots(*tiles(gradient()))[0] is False
    strewn = np.where(np.random.default_rng(2).random((192, 192, 1)) < 0.5, RED, WHITE).astype(np.uint8)
    assert dots(*tiles(strewn)) == (False, True)
    stripes = np.broadcast_to(np.where(np.arange(192)[:, None, None] % 2, RED, WHITE), (192, 192, 3)).astype(
        np.uint8
    )
    assert dots(*tiles(stripes))[0] is False
    assert dots(*tiles(np.swapaxes(stripes, 0, 1)))[0] is False
    wide = np.kron(
        checkers(RED, WHITE, (96, 96)), np.ones((2, 2, 1), np.uint8)
    )  # no pixel between two equal ones
    assert dots(*tiles(wide))[0] is False
