"""Shapes painted on pictures, with smooth edges."""

from __future__ import annotations

import numpy as np
import shapely
from PIL import Image

from ..polygons.cover import View, window

__all__ = ["paint"]


def paint(picture: Image.Image, shape: shapely.Geometry, view: View, color: tuple[int, ...]) -> None:
    """Paint a shape on a picture of the view, with smooth edges."""
    covering = window(shape, view)
    if covering is not None:
        rows, columns, covered = covering
        picture.paste(
            color, (columns.start, rows.start), Image.fromarray((covered * 255 + 0.5).astype(np.uint8))
        )
