"""The sides of a sheet to a part of a pixel: on drawn sheets, straight and bent, and what is left out."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork.sheet.refine import refined

from .pictures import PAPER, QUAD, TABLE, shown

STRAIGHT = np.zeros((4, 3))


SCALE = 4
PICTURE, TRUE = shown(scale=SCALE), QUAD * SCALE


@pytest.mark.parametrize("off", [0.0, 5.0, -5.0])
def test_corners_are_found_to_a_part_of_a_pixel_from_a_guess_some_off(off: float) -> None:
    """Pillow fills what its outline touches: a third of a pixel to the left here."""
    shift = off * np.array([[1.0, 0.5], [-0.5, 1.0], [0.5, -1.0], [1.0, 1.0]])
    corners, shares, inward = refined(PICTURE, TRUE + shift, STRAIGHT, SCALE)
    assert np.abs(corners - TRUE).max() < 0.4
    assert shares.min() > 0.95
    assert inward < 0.2


@pytest.mark.parametrize("bend", [-6.0, 6.0])
def test_bent_sides_are_followed_and_those_bent_inward_are_told(bend: float) -> None:
    """The upper side is bent by a parabola, outward where positive, none at the corners."""
    t = np.linspace(-1, 1, 80)
    (x0, y0), (x1, y1) = QUAD[:2]
    along = np.array([x1 - x0, y1 - y0]) / np.hypot(x1 - x0, y1 - y0)
    out = np.array([along[1], -along[0]]) * bend / SCALE
    side = (QUAD[0] + QUAD[1]) / 2 + t[:, None] * (QUAD[1] - QUAD[0]) / 2 + (1 - t[:, None] ** 2) * out
    picture = shown(np.concatenate([side, QUAD[2:]]), scale=SCALE)
    bows = STRAIGHT.copy()
    bows[0] = np.array([-0.7, 0, 0.7]) * bend / SCALE  # as it was found in the small picture
    corners, shares, inward = refined(picture, TRUE, bows, SCALE)
    assert np.abs(corners - TRUE).max() < 0.4
    assert shares.min() > 0.9
    assert inward == pytest.approx(max(-bend, 0.0), abs=0.3)


def test_a_pen_over_a_side_moves_no_corner() -> None:
    image = Image.fromarray(PICTURE)
    ImageDraw.Draw(image).rectangle([400, 110, 500, 180], fill=(30, 30, 120))
    corners, shares, _ = refined(np.asarray(image), TRUE + 2.0, STRAIGHT, SCALE)
    assert np.abs(corners - TRUE).max() < 0.4
    assert shares[0] == pytest.approx(0.8, abs=0.05)  # a hundred of its five hundred pixels are hidden
    assert shares[1:].min() > 0.95


def test_another_sheet_under_two_fifths_of_a_side_moves_no_corner() -> None:
    """Its edge lies 7 px outward there, as straight and as clear."""
    (x0, y0), (x1, y1) = TRUE[:2]
    image = Image.fromarray(PICTURE)
    x = np.array([x0 + 150, x0 + 350])
    y = y0 + (x - x0) * (y1 - y0) / (x1 - x0)
    ImageDraw.Draw(image).polygon(
        [(x[0], y[0] - 7), (x[1], y[1] - 7), (x[1], y[1] + 2), (x[0], y[0] + 2)], fill=PAPER
    )
    corners, shares, _ = refined(np.asarray(image), TRUE, STRAIGHT, SCALE)
    assert np.abs(corners - TRUE).max() < 0.4
    assert shares[0] == pytest.approx(0.6, abs=0.05)


def test_where_there_is_no_side_few_places_are_on_it() -> None:
    random = np.random.default_rng(3)
    noise = random.integers(0, 256, PICTURE.shape).astype(np.uint8)
    _, shares, _ = refined(noise, TRUE, STRAIGHT, SCALE)
    assert shares.max() < 0.5
    half = PICTURE.copy()
    half[:, 480:] = TABLE  # the sheet ends in the middle
    _, shares, _ = refined(half, TRUE, STRAIGHT, SCALE)
    assert shares[1] == 0
    assert shares[3] > 0.95
