"""Shapes on pictures: as much of a pixel as they cover, and nothing beside them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from PIL import Image

from reliefsmith.documents.paint import paint
from reliefsmith.polygons.cover import View

VIEW = View(0.0, 10.0, 10.0, (100, 100))  # 10 x 10 mm from the lower left corner, ten pixels a millimetre
INK = (200, 100, 50, 255)


def _painted(shape: shapely.Geometry, ground: tuple[int, ...] = (0, 0, 0, 0)) -> np.ndarray:
    picture = Image.new("RGBA", VIEW.size_px, ground)
    paint(picture, shape, VIEW, INK)
    return np.asarray(picture).astype(int)


def test_a_box_of_whole_pixels_is_ink_and_all_else_stays() -> None:
    pixels = _painted(shapely.box(2, 3, 4, 7), (9, 9, 9, 255))
    inside = np.zeros((100, 100), bool)
    inside[30:70, 20:40] = True  # y goes down
    assert (pixels[inside] == INK).all()
    assert (pixels[~inside] == (9, 9, 9, 255)).all()


@pytest.mark.parametrize("share", [0.25, 0.5, 0.9])
def test_a_pixel_that_is_covered_in_part_is_mixed_by_that_part(share: float) -> None:
    pixels = _painted(shapely.box(2, 3, 2 + share / 10, 7), (0, 0, 0, 255))
    assert pixels[50, 20, :3] == pytest.approx(share * np.array(INK[:3]), abs=1.5)


def test_what_lies_in_part_outside_is_cut_off_and_what_lies_all_outside_is_nothing() -> None:
    assert (_painted(shapely.box(-5, -5, 5, 5))[50:, :50, 3] == 255).all()
    for shape in (shapely.box(20, 20, 30, 30), shapely.Polygon(), shapely.box(-9, 2, -1, 4)):
        assert not _painted(shape).any()


def test_a_round_shape_has_its_area() -> None:
    pixels = _painted(shapely.Point(5, 5).buffer(3, quad_segs=64), (0, 0, 0, 255))
    assert pixels[..., 0].sum() / INK[0] / 100 == pytest.approx(np.pi * 9, rel=0.01)
