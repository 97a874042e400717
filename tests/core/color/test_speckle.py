"""Speckled pictures collapse, all others stay as they are."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.areas import trace
from reliefsmith.color import separate
from reliefsmith.color.patches import collapsed_steps
from reliefsmith.model import Separation, TracedAreas
from reliefsmith.model.artwork import Artwork
from reliefsmith.polygons.runs import find_pieces
from reliefsmith.progress import drained
from reliefsmith.recipe.sections import AreasSettings, BackgroundSettings, ColorSettings
from work import counted

collapsed = drained(collapsed_steps)


def test_flat_art_and_lettering_stay_as_they_are() -> None:
    labels = np.zeros((600, 600), np.uint8)
    for row in range(20, 580, 40):
        for column in range(20, 580, 40):  # 196 strokes of 3 x 20 px
            labels[row : row + 20, column : column + 3] = 1
    assert collapsed(labels) is labels


def test_a_mosaic_of_more_than_a_thousand_tiles_stays_as_it_is() -> None:
    labels = np.zeros((800, 1000), np.uint8)
    tiles = labels.reshape(32, 25, 40, 25)
    tiles[:, 3:22, :, 3:22] = 1 + np.indices((32, 40)).sum(axis=0)[:, None, :, None] % 3
    assert len(find_pieces(labels).areas) == 1281
    assert collapsed(labels) is labels


def test_speckles_on_two_halves_leave_the_two_halves() -> None:
    rng = np.random.default_rng(5)
    labels = np.zeros((400, 400), np.uint8)
    labels[:, 200:] = 1
    speckles = rng.random(labels.shape) < 0.15
    rough = np.where(speckles, 1 - labels, labels).astype(np.uint8)
    smooth = collapsed(rough)
    assert (smooth != labels).mean() < 0.01
    assert len(find_pieces(smooth).areas) == 2


def test_no_patch_that_is_left_is_too_small_to_print() -> None:
    labels = np.random.default_rng(2).integers(0, 9, (300, 500)).astype(np.uint8)
    smooth = collapsed(labels)
    assert find_pieces(smooth).areas.min() >= (500 / 200) ** 2


@pytest.mark.parametrize("turned", [False, True])
def test_the_vote_does_not_lean(turned: bool) -> None:
    labels = np.zeros((400, 400), np.uint8)
    labels[:, 200:] = 1
    rough = labels.copy()
    rough[1::4, 1::4] = 1 - rough[1::4, 1::4]
    flip = (lambda grid: grid.T) if turned else (lambda grid: grid)
    smooth = collapsed(np.ascontiguousarray(flip(rough)))
    np.testing.assert_array_equal(flip(smooth), labels)


def scene() -> Artwork:
    """Return a picture as wild as a photograph: soft clouds of color at every scale, and grain."""
    rng = np.random.default_rng(7)
    picture = np.full((400, 400, 3), 120.0)
    for scale, strength in ((100, 50), (25, 35), (5, 25), (1, 12)):
        coarse = rng.normal(0, strength, (400 // scale, 400 // scale, 3))
        picture += np.kron(coarse, np.ones((scale, scale, 1)))
    rgb = np.clip(picture, 0, 255).astype(np.uint8)
    return Artwork(rgb, np.ones((400, 400), np.float32), (400, 400), 1.0, False, False)


def test_a_wild_picture_becomes_a_bounded_number_of_areas_by_bounded_work() -> None:
    art = scene()

    def areas_of_it() -> tuple[Separation, TracedAreas]:
        separation = separate(art, background=BackgroundSettings(), flat_colors=ColorSettings())
        return separation, trace(art, separation, AreasSettings())

    (separation, areas), calls = counted(areas_of_it)
    assert len(separation.colors) <= 8
    assert sum(len(polygon.geoms) for polygon in areas.polygons) <= 1500
    assert calls < 400_000  # measured: 211,405
