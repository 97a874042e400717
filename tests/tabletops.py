"""Tables as they lie under sheets in made photographs: 1 m wide, (n, n, 3) in sRGB, drawn by lot."""

from __future__ import annotations

import cv2
import numpy as np
from skimage import data

__all__ = ["PENS", "TABLES", "TABLE_MM", "TABLE_PX", "noise"]

TABLE_MM = 1000.0
TABLE_PX = 2000
"""Side of the table's picture, which repeats."""
PENS = [
    (25, 60, 160),
    (200, 40, 40),
    (30, 130, 60),
    (240, 190, 30),
    (40, 40, 45),
    (230, 110, 30),
    (120, 60, 150),
]


def _waves(lot, down: int, across: int) -> np.ndarray:
    """Return smooth waves of about this length in px, of deviation 1, over a table."""
    coarse = noise(lot, TABLE_PX // down + 2, TABLE_PX // across + 2)
    waves = cv2.resize(coarse, (TABLE_PX, TABLE_PX), interpolation=cv2.INTER_CUBIC)
    return waves / waves.std()


def noise(lot, *shape: int) -> np.ndarray:
    """Return white noise of deviation 1."""
    return lot.standard_normal(shape, dtype=np.float32)


def _planks(lot, color: np.ndarray) -> np.ndarray:
    x = np.arange(TABLE_PX)
    value = 1 + 0.07 * _waves(lot, 150, 3) + 0.08 * _waves(lot, 500, 30)
    plank = lot.integers(160, 320)
    value *= 1 + 0.12 * lot.normal(0, 1, TABLE_PX // plank + 1)[x // plank]
    value[:, x % plank < 3] *= 0.55
    return color * value[..., None]


def _wood(lot) -> np.ndarray:
    return _planks(lot, np.array([150, 105, 65.0]) * lot.uniform(0.5, 1.1))


def _light_wood(lot) -> np.ndarray:
    return _planks(lot, np.array([214, 184, 146.0]) * lot.uniform(0.9, 1.08))


def _cloth(lot) -> np.ndarray:
    y, x = np.ogrid[0:TABLE_PX, 0:TABLE_PX]
    weave = 0.06 * np.sin(x * 1.9) * np.sin(y * 1.9) + 0.03 * noise(lot, TABLE_PX, TABLE_PX)
    return lot.uniform(40, 200, 3) * (1 + 0.1 * _waves(lot, 150, 150) + weave)[..., None]


def _checked_cloth(lot) -> np.ndarray:
    """Bands of a color and white, woven: three shades of checks."""
    y, x = np.ogrid[0:TABLE_PX, 0:TABLE_PX]
    side = int(lot.integers(30, 90))
    color, white = np.array(PENS[lot.integers(4)]) * 1.0, np.array([235, 233, 226.0])
    share = ((x // side % 2 + y // side % 2) / 2)[..., None]
    weave = 1 + 0.04 * (np.sin(x * 1.7) * np.sin(y * 1.7))[..., None]
    return (white * (1 - share) + color * share) * weave


def _tiles(lot) -> np.ndarray:
    y, x = np.ogrid[0:TABLE_PX, 0:TABLE_PX]
    side = int(lot.choice([200, 250, 400]))
    color = lot.uniform(150, 235) * np.array([1.0, lot.uniform(0.94, 1), lot.uniform(0.85, 1)])
    shades = 1 + 0.04 * lot.normal(0, 1, (TABLE_PX // side + 1, TABLE_PX // side + 1))
    picture = color * shades[y // side, x // side][..., None]
    picture[(x % side < 7) | (y % side < 7)] = color * lot.uniform(0.5, 0.8)
    return picture


def _plain(lot) -> np.ndarray:
    return lot.uniform(30, 210, 3) * (1 + 0.01 * noise(lot, TABLE_PX, TABLE_PX, 1))


def _white_desk(lot) -> np.ndarray:
    return lot.uniform(205, 240) * np.ones(3) * (1 + 0.008 * noise(lot, TABLE_PX, TABLE_PX, 1))


def _rough(lot) -> np.ndarray:
    """Bricks, grass or gravel, photographed (scikit-image's own pictures), tinted and mirrored to repeat."""
    rough = [data.brick, data.grass, data.gravel][lot.integers(3)]().astype(np.float32)
    large = cv2.resize(rough, (TABLE_PX // 2, TABLE_PX // 2), interpolation=cv2.INTER_CUBIC)
    large = np.hstack([large, large[:, ::-1]])
    tint = np.array([1.0, lot.uniform(0.85, 1.05), lot.uniform(0.7, 1.0)])
    return np.vstack([large, large[::-1]])[..., None] * tint


TABLES = {
    "wood": _wood,
    "light wood": _light_wood,
    "cloth": _cloth,
    "checked cloth": _checked_cloth,
    "tiles": _tiles,
    "plain": _plain,
    "white desk": _white_desk,
    "rough": _rough,
}
