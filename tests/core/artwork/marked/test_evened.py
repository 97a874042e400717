"""What was drawn on a sheet: straight, by where each place must go, and white paper white."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork.marked.evened import drawing, straight
from reliefsmith.formats.classlayout import CROP_MM, FIELD

from .flat import MARGIN_MM, drawn, lying, true


def ramp() -> Image.Image:
    """A picture whose red goes with x and whose green with y."""
    rows, columns = np.mgrid[:822, :612]
    return Image.fromarray(np.stack([columns / 3, rows / 4, 0 * rows], axis=-1).astype(np.uint8))


@pytest.mark.parametrize(
    ("box", "px_per_mm"), [((0, 0, 180, 250), 1.0), ((20, 30, 50.5, 90), 4.0), ((-7, -7, 3, 2), 3.0)]
)
def test_each_place_of_a_part_is_where_it_lay(
    box: tuple[float, float, float, float], px_per_mm: float
) -> None:
    image = ramp()
    flat = lying(np.asarray(image.convert("L")))
    for place in (flat, replace(flat, lens=0.15)):
        part = np.asarray(straight(image, place, box, px_per_mm)).astype(float)
        left, top, right, low = box
        assert part.shape[:2] == (round((low - top) * px_per_mm), round((right - left) * px_per_mm))
        rows, columns = np.mgrid[: part.shape[0], : part.shape[1]] + 0.5
        x, y = place.pixels(np.stack([columns, rows], axis=-1) / px_per_mm + (left, top)).transpose(2, 0, 1)
        inner = np.s_[2:-2, 2:-2]
        assert np.abs(part[..., 0] - (x - 0.5) / 3)[inner].max() < 2.5
        assert np.abs(part[..., 1] - (y - 0.5) / 4)[inner].max() < 2.5


def test_paper_becomes_white_under_a_warm_and_uneven_light_and_ink_keeps_its_color() -> None:
    """Light from .9 at one side to .6 at the other, with less blue: a drawing of one third of red."""
    grey = drawn().astype(float)
    (x, y), (u, v) = (np.rint(true(np.array(place))).astype(int) for place in ((60, 80), (120, 160)))
    rgb = np.repeat(grey[..., None] / 240 * 255, 3, axis=2)
    rgb[y:v, x:u] *= (1.0, 0.4, 0.3)
    light = np.linspace(0.9, 0.6, grey.shape[1])[None, :, None] * (1.0, 0.95, 0.8)
    photo = Image.fromarray((rgb * light).astype(np.uint8))  # without the noise of a camera, as a scan may be
    found = np.asarray(drawing(photo, lying(grey))).astype(float)
    left, top, right, low = FIELD
    scale = 4.0  # the photograph has 3 px a mm; four are the least of a drawing
    assert found.shape[:2] == pytest.approx(
        ((low - top - 2 * CROP_MM) * scale, (right - left - 2 * CROP_MM) * scale), abs=1
    )
    for place in ((20, 40), (160, 40), (90, 200)):
        row, column = (
            round((at - start - CROP_MM) * scale) for at, start in zip(place[::-1], (top, left), strict=True)
        )
        assert found[row - 8 : row + 8, column - 8 : column + 8].mean(axis=(0, 1)) == pytest.approx(
            [250] * 3, abs=3
        )
    row, column = (round((at - start - CROP_MM) * scale) for at, start in ((120, top), (90, left)))
    ink = found[row - 20 : row + 20, column - 20 : column + 20].mean(axis=(0, 1))
    assert ink == pytest.approx([250, 100, 75], abs=8)
    assert MARGIN_MM > 7  # of bare paper, that the light is looked for on
