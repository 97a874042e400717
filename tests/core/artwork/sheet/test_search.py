"""Sheets of paper are found where they are sure, to a part of a pixel, and else nothing is."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from reliefsmith.artwork.sheet import search
from reliefsmith.artwork.sheet.search import find_sheet
from reliefsmith.artwork.sheet.shapes import convex
from sheetphotos import photograph
from tiers import broad

from .easy import EASY, easy, off_px


@pytest.mark.parametrize("seed", broad([14, 78], lambda seed: seed == 78))
def test_white_paper_is_found_on_a_white_desk_by_faint_edges(seed: int) -> None:
    """Paper and desk differ by 3 to 8 L* there."""
    photo = photograph(seed)
    assert photo.about["table"] == "white desk"
    found = find_sheet(np.asarray(photo.image.convert("RGB")))
    assert found is not None
    assert off_px(found.corners, photo.corners) < 5.0


@pytest.mark.parametrize("rounds", [0, 1])
def test_where_no_side_holds_any_quadrilateral_nothing_is_found(monkeypatch, rounds: int) -> None:
    """As in parts of photographs: all that was proposed folds when it is moved onto its sides."""
    left = rounds

    def none_after(quads: np.ndarray, size: tuple[int, ...]) -> np.ndarray:
        nonlocal left
        left -= 1
        return convex(quads, size) & (left >= 0)

    monkeypatch.setattr(search, "convex", none_after)
    assert find_sheet(np.asarray(easy().image.convert("RGB"))) is None


def test_a_sheet_that_is_not_whole_is_left_alone() -> None:
    cut_off = photograph(9, table="wood", **{**EASY, "fill": 1.5})
    assert find_sheet(np.asarray(cut_off.image.convert("RGB"))) is None


def test_pictures_without_any_shape_have_no_sheet() -> None:
    grey = np.random.default_rng(0).normal(128, 3, (480, 640, 1)).clip(0, 255)
    assert find_sheet(np.repeat(grey, 3, axis=2).astype(np.uint8)) is None
    assert find_sheet(np.full((480, 640, 3), 90, np.uint8)) is None


@pytest.mark.parametrize(("color", "is_paper"), [((238, 232, 214), True), ((232, 190, 40), False)])
def test_a_painted_stripe_is_no_sheet(color: tuple[int, int, int], is_paper: bool) -> None:
    """Such as one of a flag in a photograph of it."""
    random = np.random.default_rng(4)
    image = Image.new("RGB", (1200, 1600), (70, 74, 82))
    ImageDraw.Draw(image).polygon([(200, 500), (1010, 560), (985, 1000), (190, 940)], fill=color)
    grain = random.normal(0, 2, (1600, 1200, 1))
    picture = np.clip(np.asarray(image.filter(ImageFilter.GaussianBlur(1))) + grain, 0, 255)
    assert (find_sheet(picture.astype(np.uint8)) is not None) is is_paper


def test_a_sheet_is_found_in_a_grey_picture() -> None:
    found = find_sheet(np.asarray(easy().image.convert("L").convert("RGB")))
    assert found is not None
    assert off_px(found.corners, easy().corners) < 1.5
