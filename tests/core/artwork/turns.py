"""How pictures are stored at each EXIF orientation."""

from __future__ import annotations

from PIL import Image

ORIENTATION = 0x0112
BEFORE_TURN = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}
"""How a camera's sensor sees an upright scene at each orientation (EXIF 2.3, tag 0x0112)."""
