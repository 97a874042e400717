"""Screws, magnets, pins and tape drawn in: at their places, in their sizes, from the right side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image
from scipy import ndimage

from reliefsmith.documents.holders import METAL, WEB, hardware_named
from reliefsmith.documents.proof.fixtures import draw_fixtures, draw_screws
from reliefsmith.model import Pocket
from reliefsmith.polygons.cover import View

PX = 10.0
VIEW = View(-30.0, 20.0, PX, (600, 400))
SCREW = replace(hardware_named("screw"), size_mm=(4.0, 8.0))


def _boxes(picture: Image.Image) -> list[tuple[float, float, float, float]]:
    """Where something is drawn: left, low, right, high in mm, from the left on."""
    regions, _ = ndimage.label(np.asarray(picture)[..., 3] > 127)
    found = [
        (
            VIEW.left_mm + columns.start / PX,
            VIEW.top_mm - rows.stop / PX,
            VIEW.left_mm + columns.stop / PX,
            VIEW.top_mm - rows.start / PX,
        )
        for rows, columns in ndimage.find_objects(regions)
    ]
    return sorted(found)


def _pocket(kind: str, x: float, y: float) -> Pocket:
    return Pocket(kind, shapely.Point(x, y).buffer(5), 1.0, "back")  # type: ignore[arg-type]


def test_heads_of_screws_lie_round_their_holes_as_wide_as_they_are() -> None:
    found = _boxes(draw_screws(SCREW, [(-15.0, 2.0), (12.0, -3.0)], VIEW))
    assert found == [pytest.approx((-19, -2, -11, 6), abs=0.6), pytest.approx((8, -7, 16, 1), abs=0.6)]


def test_a_head_has_a_dark_cross_in_its_middle() -> None:
    pixels = np.asarray(draw_screws(SCREW, [(0.0, 0.0)], VIEW)).astype(int)
    for x, y, is_dark in ((0, 0, True), (1.5, 0, True), (0, -1.5, True), (1.5, 1.5, False)):
        pixel = pixels[round((20 - y) * PX), round((x + 30) * PX), :3]
        assert (np.abs(pixel - METAL[0]).sum() < 9) == is_dark


@pytest.mark.parametrize(("x", "y"), [(-12.0, 3.0), (7.0, -5.0)])
def test_what_lies_in_the_back_is_seen_with_left_and_right_exchanged(x: float, y: float) -> None:
    magnet = hardware_named("magnet")
    (found,) = _boxes(draw_fixtures(magnet, [_pocket("magnet", x, y)], VIEW))
    half = magnet.size_mm[0] / 2
    assert found == pytest.approx((-x - half, y - half, -x + half, y + half), abs=0.7)


@pytest.mark.parametrize("kind", ["pin", "tape"])
def test_bars_and_strips_have_their_length_and_width(kind: str) -> None:
    hardware = replace(hardware_named(kind), size_mm=(26.0, 6.0, 1.0))
    (found,) = _boxes(draw_fixtures(hardware, [_pocket(kind, 0.0, 0.0)], VIEW))
    assert found == pytest.approx((-13, -3, 13, 3), abs=0.5)  # a pin's joint and catch are round


def test_a_pin_is_of_metal_and_a_strip_is_not() -> None:
    for kind, shades in (("pin", METAL), ("tape", WEB)):
        hardware = replace(hardware_named(kind), size_mm=(26.0, 6.0, 1.0))
        pixels = np.asarray(draw_fixtures(hardware, [_pocket(kind, 0.0, 0.0)], VIEW)).astype(int)
        pixel = pixels[round((20 + 2.2) * PX), round((30 - 4) * PX), :3]
        assert min(np.abs(pixel - shade).sum() for shade in shades) < 9


def test_each_pocket_has_what_lies_in_it_and_none_is_nothing() -> None:
    magnet = hardware_named("magnet")
    two = draw_fixtures(magnet, [_pocket("magnet", -15.0, 0.0), _pocket("magnet", 15.0, 0.0)], VIEW)
    assert len(_boxes(two)) == 2
    assert not np.asarray(draw_fixtures(magnet, [], VIEW)).any()
    assert not np.asarray(draw_screws(SCREW, [], VIEW)).any()
