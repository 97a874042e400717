"""Quadrilaterals between straight lines: that of a drawn sheet comes first, wherever lines cross it."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork.sheet.sidelines import between_lines
from reliefsmith.artwork.sheet.sides import grain_of

from .easy import off_px
from .pictures import QUAD, lab_of, shown

NONE = np.empty((0, 2, 2))


def found(rgb: np.ndarray, sides: np.ndarray = NONE) -> np.ndarray:
    lab = lab_of(rgb, noise=0.3)
    return between_lines(lab, sides, grain_of(lab))


@pytest.mark.parametrize("paper", [(240, 238, 232), (150, 118, 90), (40, 30, 20)])
def test_the_sheet_is_the_likeliest_whether_it_is_lighter_or_darker(paper: tuple[int, int, int]) -> None:
    quads = found(shown(paper=paper))
    assert off_px(quads[0], QUAD) < 2


def test_strokes_that_cross_the_picture_do_not_come_before_it() -> None:
    """Thin lines turn both ways, so they vote for nothing; the planks' joints are such."""
    image = Image.fromarray(shown())
    draw = ImageDraw.Draw(image)
    for x in (30, 125, 210):
        draw.line([(x, 0), (x + 8, 170)], fill=(60, 45, 30), width=2)
    assert off_px(found(np.asarray(image))[0], QUAD) < 2


def test_a_side_that_is_hidden_comes_from_what_was_found_otherwise() -> None:
    """The right side has no edge: as light beyond. Without the side that is given nothing has four."""
    rgb = shown(np.array([*QUAD[:1], [245.0, 44.2], [245.0, 139.4], *QUAD[3:]]))
    assert all(off_px(quad, QUAD) > 5 for quad in found(rgb))
    given = found(rgb, QUAD[None, 1:3])
    assert min(off_px(quad, QUAD) for quad in given) < 3


def test_all_are_convex_clockwise_and_no_more_than_are_kept() -> None:
    quads = found(shown(more=tuple(QUAD * 0.3 + np.array([[x, 100.0]]) for x in (0, 60, 120))))
    assert 1 <= len(quads) <= 60
    step = np.roll(quads, -1, axis=1) - quads
    after = np.roll(step, -1, axis=1)
    assert (step[..., 0] * after[..., 1] - step[..., 1] * after[..., 0] > 0).all()


def test_a_mirrored_picture_has_the_mirrored_sheet() -> None:
    there = found(np.ascontiguousarray(shown()[:, ::-1]))[0]
    assert off_px(there[::-1] * (-1, 1) + (240, 0), QUAD) < 2
