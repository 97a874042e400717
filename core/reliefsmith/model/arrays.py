"""Names for the array types that the model uses, with dtype, shape and meaning said once; values of them."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["AS_IT_IS", "Area", "ByContent", "Bytes", "Color", "Flags", "Floats", "Fractions", "Homography"]
__all__ += ["Ints", "Labels", "Palette", "Plane", "Points", "Rgb", "Shapes", "Triangles", "Vertices"]

Area: TypeAlias = shapely.Polygon | shapely.MultiPolygon
"""A polygon, or several that are one thing, in mm."""

Floats: TypeAlias = npt.NDArray[np.float64]
"""Numbers of any shape, which each function names."""

Ints: TypeAlias = npt.NDArray[np.int64]
"""Whole numbers of any shape: counts, indices, steps of the grid."""

Flags: TypeAlias = npt.NDArray[np.bool_]
"""Which of some things are chosen, of any shape."""

Shapes: TypeAlias = npt.NDArray[np.object_]
"""Geometries (n,) for functions of shapely that take many at once."""

Bytes: TypeAlias = npt.NDArray[np.uint8]
"""One level of 0 to 255 a pixel, (h, w)."""

Rgb: TypeAlias = npt.NDArray[np.uint8]
"""Picture (h, w, 3), sRGB, row 0 at the top."""

Plane: TypeAlias = npt.NDArray[np.float32]
"""One value a pixel, (h, w)."""

Labels: TypeAlias = npt.NDArray[np.uint8]
"""Label map (h, w); 0 is background, i is color i - 1 of the palette."""

Palette: TypeAlias = npt.NDArray[np.uint8]
"""Flat colors (k, 3), sRGB."""

Fractions: TypeAlias = npt.NDArray[np.float64]
"""Shares (k,), each 0 to 1."""

Points: TypeAlias = npt.NDArray[np.float64]
"""Points (n, 2), x and y."""

Vertices: TypeAlias = npt.NDArray[np.float64]
"""Mesh vertices (n, 3) in mm."""

Triangles: TypeAlias = npt.NDArray[np.int32]
"""Mesh triangles (m, 3), vertex indices, counter-clockwise seen from outside."""

Color: TypeAlias = tuple[int, int, int]
"""One sRGB color, 0 to 255 each."""

Homography: TypeAlias = tuple[float, float, float, float, float, float, float, float, float]
"""A 3 x 3 matrix for homogeneous places (x, y, 1), row by row."""

AS_IT_IS: Homography = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
"""The identity: nothing was cropped or straightened."""


class ByContent:
    """Makes a frozen dataclass that holds arrays a value like any other: known again by its content."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return self is other or (isinstance(other, ByContent) and self._content() == other._content())

    def __hash__(self) -> int:
        return hash(self._content())

    def _content(self) -> tuple[Any, ...]:
        values = (getattr(self, item.name) for item in fields(self))  # type: ignore[arg-type]
        plain = ((v.shape, v.tobytes()) if isinstance(v, np.ndarray) else v for v in values)
        return (type(self), *plain)
