"""Areas of flat color: as traced in source pixels, then in millimetres with their frame."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from ..findings import Finding, Note
from .arrays import AS_IT_IS, Color, Homography, Palette

__all__ = ["GROUND_ROLE", "FlatAreas", "Frame", "NumberedArea", "TracedAreas"]

GROUND_ROLE = "ground"
"""How files call enclosed ground, which is no color of the art."""


@dataclass(frozen=True, slots=True)
class TracedAreas:
    """Areas as traced: a valid coverage in pixels of the upright source picture.

    Parameters
    ----------
    polygons : tuple of MultiPolygon
        One for each color, x right, y down, (0, 0) at the upper left corner of the upper left pixel.
        Neighbors share vertices exactly; the background is left out where nothing encloses it.
    colors : uint8 array of shape (k, 3)
        sRGB, in the order of `polygons`.
    image_px : (int, int)
        Width and height of the upright picture, cropped and straightened.
    turn_deg : float
        How far the art is turned clockwise as seen; 0 where unsure or straight.
    to_source : tuple of 9 floats
        Takes pixels of this picture to those of the upright source (see `Frame`).
    findings, notes : tuples
        Carried on from the stages before.
    ground : (int, int, int) or None
        Color of an opaque picture's ground; None where it is transparent, or nothing is background.
    enclosed : int or None
        Which entry is no color of the art but ground that the art encloses.
    """

    polygons: tuple[shapely.MultiPolygon, ...]
    colors: Palette
    image_px: tuple[int, int]
    turn_deg: float = 0.0
    to_source: Homography = AS_IT_IS
    findings: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
    ground: Color | None = None
    enclosed: int | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """The similarity between millimetres and pixels of the picture.

    A point (X, Y) in mm lies at origin_px + R(turn_deg) (X, -Y) / mm_per_px in the upright picture, cropped
    and straightened, with (0, 0) at the upper left corner of the upper left pixel and turn positive clockwise
    as seen. From there `to_source`, the rows of a 3 x 3 matrix for homogeneous coordinates, leads to pixels
    of the upright source; the identity where nothing was cropped or straightened.
    """

    mm_per_px: float
    origin_px: tuple[float, float]
    turn_deg: float
    image_px: tuple[int, int]
    to_source: Homography = AS_IT_IS


@dataclass(frozen=True, slots=True)
class NumberedArea:
    """One area, a connected piece of one color, as it was before any mark.

    Parameters
    ----------
    color : (int, int, int)
    at_mm : (float, float)
        The middle of its widest place.
    radius_mm : float
        Of the largest circle round that place within it.
    area_mm2 : float
    """

    color: Color
    at_mm: tuple[float, float]
    radius_mm: float
    area_mm2: float


@dataclass(frozen=True, slots=True)
class FlatAreas:
    """Areas of flat color in mm on the 1 um grid, the origin at the centre of their bounding box, y up.

    Parameters
    ----------
    polygons : tuple of MultiPolygon
        One for each color; together a valid coverage.
    colors : uint8 array of shape (k, 3)
    frame : Frame
    size_mm : (float, float)
        Width and height of the bounding box of all areas.
    ground : (int, int, int) or None
        Color of an opaque picture's ground; None where it is transparent, or nothing is background.
    enclosed : int or None
        Which entry is no color of the art but ground that the art encloses.
    numbered : tuple of NumberedArea
        Every area before marks, number 1 first: the same number for the same area whatever the size.
    """

    polygons: tuple[shapely.MultiPolygon, ...]
    colors: Palette
    frame: Frame
    size_mm: tuple[float, float]
    findings: tuple[Finding, ...] = ()
    notes: tuple[Note, ...] = ()
    ground: Color | None = None
    enclosed: int | None = None
    numbered: tuple[NumberedArea, ...] = ()

    @property
    def art(self) -> list[int]:
        """The entries that are colors of the art."""
        return [index for index in range(len(self.colors)) if index != self.enclosed]

    def color_at(self, x_mm: float, y_mm: float) -> Color | None:
        """Return the flat color of the area at a point, or None on the background.

        On a boundary the first color in the order of `polygons` is taken.
        """
        place = shapely.Point(x_mm, y_mm)
        for polygon, color in zip(self.polygons, self.colors, strict=True):
            if polygon.intersects(place):
                return int(color[0]), int(color[1]), int(color[2])
        return None
