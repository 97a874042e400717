"""Small drawn pictures of a sheet on a table, in Lab, for tests of what is seen of sheets."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw
from skimage.filters import gaussian

from reliefsmith.colorimetry import srgb_to_lab

QUAD = np.array([[55.0, 32.0], [180.0, 40.0], [190.0, 135.0], [45.0, 127.0]])
SIZE = (240, 170)
PAPER, TABLE = (240, 238, 232), (120, 90, 60)


def shown(
    quad: np.ndarray = QUAD,
    paper: tuple[int, int, int] = PAPER,
    table: tuple[int, int, int] = TABLE,
    scale: int = 1,
    more: tuple[np.ndarray, ...] = (),
) -> np.ndarray:
    """Return a picture (h, w, 3) of one color on another, drawn three times as fine for soft edges."""
    finer = 3 * scale
    image = Image.new("RGB", (SIZE[0] * finer, SIZE[1] * finer), table)
    draw = ImageDraw.Draw(image)
    for one in (quad, *more):
        # Pillow counts from the middle of the upper left pixel.
        draw.polygon([tuple(corner) for corner in (one * finer - 0.5).tolist()], fill=paper)
    return np.array(image.reduce(3))


def lab_of(rgb: np.ndarray, noise: float = 0.0) -> np.ndarray:
    """Return a picture in Lab, smoothed as that in which sheets are looked for."""
    lab = srgb_to_lab(rgb.reshape(-1, 3)).reshape(rgb.shape)
    lab = lab + np.random.default_rng(6).normal(0, noise, lab.shape) if noise else lab
    return gaussian(lab, 1.0, channel_axis=-1)
