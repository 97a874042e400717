"""Polygons to pixels: a window on the plan, smooth-edged masks, one label image so that neighbors meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image, ImageDraw

from ..plane import polygons_of

__all__ = ["SUPERSAMPLING", "View", "coverages", "labels", "smooth_mask"]

SUPERSAMPLING = 4
"""Samples per pixel side: 17 steps of an edge's opacity are finer than the eye sees on paper."""

Plane = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class View:
    """A window on millimetres.

    Parameters
    ----------
    left_mm, top_mm : float
        The window's upper left corner, y up.
    px_per_mm : float
    size_px : (int, int)
    """

    left_mm: float
    top_mm: float
    px_per_mm: float
    size_px: tuple[int, int]

    @classmethod
    def around(cls, bounds: Sequence[float], px_per_mm: float, *, pad_mm: float = 0.0) -> View:
        """Return the window on a bounding box (x0, y0, x1, y1) with room all round."""
        low_x, low_y, high_x, high_y = bounds
        width = round((high_x - low_x + 2 * pad_mm) * px_per_mm) + 1
        height = round((high_y - low_y + 2 * pad_mm) * px_per_mm) + 1
        return cls(low_x - pad_mm, high_y + pad_mm, px_per_mm, (width, height))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in mm of the piece."""
        return (self.size_px[0] / self.px_per_mm, self.size_px[1] / self.px_per_mm)

    def to_px(self, points: npt.NDArray[np.float64], factor: int = 1) -> npt.NDArray[np.float64]:
        """Return pixel coordinates, (0, 0) at the upper left corner, of points (n, 2) in mm."""
        scale = self.px_per_mm * factor
        placed: npt.NDArray[np.float64] = (points - (self.left_mm, self.top_mm)) * (scale, -scale)
        return placed


def labels(shapes: Sequence[shapely.Geometry], view: View) -> Image.Image:
    """Paint shapes in their order, the first as 1, the second as 2, ..., on a supersampled label image."""
    width, height = view.size_px
    image = Image.new("L", (width * SUPERSAMPLING, height * SUPERSAMPLING), 0)
    for value, shape in enumerate(shapes, start=1):
        if any(polygon.interiors for polygon in polygons_of(shape)):
            image.paste(value, mask=_paint(Image.new("1", image.size, 0), shape, view, 1))
        else:
            _paint(image, shape, view, value)
    return image


def coverages(image: Image.Image, count: int) -> Plane:
    """Return how much of each pixel each label covers, float32 (count + 1, h, w), summing to one."""
    planes = [
        np.asarray(
            image.point([255 * (value == label) for value in range(256)]).reduce(SUPERSAMPLING),
            dtype=np.float32,
        )
        for label in range(count + 1)
    ]
    return np.stack(planes) / np.float32(255)


def smooth_mask(shape: shapely.Geometry, view: View) -> Image.Image:
    """Return the mask "L" of a shape with smooth edges."""
    width, height = view.size_px
    image = Image.new("L", (width * SUPERSAMPLING, height * SUPERSAMPLING), 0)
    return _paint(image, shape, view, 255).reduce(SUPERSAMPLING)


def _paint(image: Image.Image, shape: shapely.Geometry, view: View, value: int) -> Image.Image:
    """Paint polygons, the larger first, so that an island inside another's opening stays."""
    draw = ImageDraw.Draw(image)
    for polygon in sorted(polygons_of(shape), key=lambda item: -shapely.Polygon(item.exterior).area):
        for ring, fill in [(polygon.exterior, value), *((ring, 0) for ring in polygon.interiors)]:
            points = view.to_px(shapely.get_coordinates(ring), SUPERSAMPLING)
            draw.polygon(points.ravel().tolist(), fill=fill)
    return image
