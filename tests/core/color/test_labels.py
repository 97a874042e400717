"""Pixels to labels: a color is near where a pixel shows it, and distrusted the more the farther it is."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture
from reliefsmith.color.find import UNLABELED
from reliefsmith.color.labels import edge_labels_steps
from reliefsmith.color.mixing import Mixing
from reliefsmith.colorimetry import parse_hex
from reliefsmith.progress import drain

from .pictures import INK, Sheet, label_of, separated

PURPLE = "#7a3b8f"


@pytest.mark.parametrize("quality", [60, 75])
def test_a_sliver_without_a_calm_pixel_shows_its_color_all_along(quality: int) -> None:
    """A purple disc under a dark one, of which a crescent up to 5 px wide is left; a third of it came out."""
    sheet = Sheet(400).disc(200, 200, 120, PURPLE).disc(202.5, 197.5, 116, INK)
    result = separated(sheet.artwork(quality), background={"mode": "none"})
    drawn = np.abs(sheet.rgba()[..., :3].astype(float) - parse_hex(PURPLE)).sum(axis=-1) < 40
    got = result.labels == label_of(result, PURPLE)
    assert (drawn & got).sum() > 0.8 * drawn.sum()
    assert (got & ~drawn).sum() < 0.2 * drawn.sum()


@pytest.mark.parametrize(("open_", "farthest"), [(22, 12), (34, 12), (40, 39)])
def test_a_color_is_distrusted_the_more_the_farther_off_it_shows(open_: int, farthest: int) -> None:
    """Labels 1 and 2 leave so many levels open of a pixel beside them, which label 3 would explain.

    More than 36 of them are no noise and no washed tone of the two, however far off the third color shows.
    """
    third = 1.9 * open_
    colors = np.array([[255.0, 255, 255], [0, 0, 0], [100, 0, 0], [100, third, 0]])
    for distance in range(2, 40):
        seeds = np.full((1, 80), UNLABELED, dtype=np.uint8)
        seeds[0, [39, 41]], seeds[0, 40 + distance] = (1, 2), 3
        planes = [np.zeros((1, 80), dtype=np.uint8) for _ in range(3)]
        planes[0][0, 40], planes[1][0, 40] = 100, open_
        steps = edge_labels_steps(
            Mixing(tuple(planes), None), seeds, colors, 1, Capture(0.0, False, False, 1.0)
        )
        labels, _ = drain(steps)
        assert labels[0, 40] == (3 if distance <= farthest else 2)
