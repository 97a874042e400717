"""Pictures of the piece: front and back in color with a soft shadow, and the key in hatches and numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image, ImageFilter
from shapely import affinity

from ..model import Slab, Stack
from ..model.arrays import Color
from ..polygons.cover import View, coverages
from .hatch import hatch_for, hatch_plane

__all__ = [
    "Face",
    "back_face",
    "color_picture",
    "front_face",
    "hatch_picture",
    "rim",
    "shadow_of",
]

SAME_HEIGHT_MM = 1e-4
"""Heights closer than this are one level: far below a layer."""
SHADOW_MM = 0.42
"""How far a raised level throws its shadow, for the eye only."""
RIM_MM = 0.22
"""Width of the lit and shaded rims of a level, for the eye only."""

Plane = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Face:
    """What is seen from one side, lowest level first.

    Parameters
    ----------
    shapes : tuple of geometry
        Whole, each over the ones before it.
    visible : tuple of geometry
        What the later ones leave of each.
    parts : tuple of int
        Part indices, 0 the base.
    colors : tuple of color
    levels_mm : tuple of float
    """

    shapes: tuple[shapely.Geometry, ...]
    visible: tuple[shapely.Geometry, ...]
    parts: tuple[int, ...]
    colors: tuple[Color, ...]
    levels_mm: tuple[float, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Bounding box in mm."""
        low_x, low_y, high_x, high_y = shapely.total_bounds(list(self.shapes))
        return (float(low_x), float(low_y), float(high_x), float(high_y))

    def turned(self, angle_deg: float, about: tuple[float, float]) -> Face:
        """Return the face turned counter-clockwise about a point."""
        return self._changed(lambda shape: affinity.rotate(shape, angle_deg, origin=about))

    def mirrored(self) -> Face:
        """Return the face with left and right exchanged."""
        return self._changed(lambda shape: affinity.scale(shape, -1.0, 1.0, origin=(0.0, 0.0)))

    def _changed(self, change: Callable[[shapely.Geometry], shapely.Geometry]) -> Face:
        shapes, visible = (tuple(change(shape) for shape in group) for group in (self.shapes, self.visible))
        return Face(shapes, visible, self.parts, self.colors, self.levels_mm)


def front_face(stack: Stack) -> Face:
    """Return the finished piece seen from the front."""
    names = _part_names(stack)
    order = sorted(stack.seen, key=lambda slab: slab.highest_mm)
    return _face(order, names, [slab.highest_mm for slab in order])


def back_face(stack: Stack) -> Face:
    """Return the finished piece seen from the back: mirrored, the lowest last."""
    names = _part_names(stack)
    order = sorted(stack.seen, key=lambda slab: -slab.bottom_mm)
    return _face(order, names, [-slab.bottom_mm for slab in order]).mirrored()


def color_picture(face: Face, view: View) -> Image.Image:
    """Draw a face in its colors with lit rims and soft shadows, RGBA, transparent round the piece."""
    low_x, low_y, high_x, high_y = face.bounds
    corners = view.to_px(np.array([(low_x, high_y), (high_x, low_y)])) + np.array([(-1, -1), (1, 1)])
    (left, top), (right, bottom) = np.clip(np.rint(corners).astype(int), 0, view.size_px).tolist()
    picture = Image.new("RGBA", view.size_px)
    if left < right and top < bottom:
        picture.paste(_shaded(face, view.part(left, top, right, bottom)), (left, top))
    return picture


def _shaded(face: Face, view: View) -> Image.Image:
    """Draw a face over a whole view."""
    covers = coverages(face.visible, view)
    alpha = 1.0 - covers[0]
    gain, lift = _shading(covers, face.levels_mm, view.px_per_mm)
    gain /= np.maximum(alpha, np.float32(1 / 255))  # colors are not mixed with the ground at the outline
    bands = []
    share = np.empty_like(alpha)
    for channel in range(3):
        band = covers[1] * np.float32(face.colors[0][channel])
        for cover, color in zip(covers[2:], face.colors[1:], strict=True):
            band += np.multiply(cover, np.float32(color[channel]), out=share)
        band *= gain
        band += lift
        bands.append(_bytes(band))
    return Image.merge("RGBA", [*bands, _bytes(alpha * np.float32(255))])


def hatch_picture(face: Face, view: View, paper_px_per_mm: float) -> Image.Image:
    """Draw a face in ink on white, each part in its hatch, with outlines, RGBA.

    Hatches keep their pitch on paper (`paper_px_per_mm`), whatever the scale of the view.
    """
    covers = coverages(face.visible, view)
    alpha = 1.0 - covers[0]
    ink = np.zeros_like(alpha)
    for cover, part in zip(covers[1:], face.parts, strict=True):
        ink += cover * hatch_plane(hatch_for(part + 1), view.size_px, paper_px_per_mm)
    for cover in covers:
        ink = np.maximum(ink, rim(cover, max(round(0.12 * paper_px_per_mm), 1)))
    grey = _bytes(255 * (1 - np.float32(0.82) * np.clip(ink, 0, 1)))
    return Image.merge("RGBA", [grey, grey, grey, _bytes(alpha * np.float32(255))])


def shadow_of(picture: Image.Image, px_per_mm: float, *, opacity: float = 0.26) -> Image.Image:
    """Return the soft shadow that an RGBA picture throws on the paper, the same size, RGBA."""
    step = round(0.7 * px_per_mm)
    moved = Image.new("L", picture.size, 0)
    moved.paste(picture.getchannel("A"), (step // 2, step))
    soft = moved.filter(ImageFilter.GaussianBlur(0.8 * px_per_mm)).point(
        [round(value * opacity) for value in range(256)]
    )
    shadow = Image.new("RGBA", picture.size, (24, 26, 30, 0))
    shadow.putalpha(soft)
    return shadow


def _part_names(stack: Stack) -> list[str]:
    return list(dict.fromkeys(slab.part for slab in stack.slabs))


def _face(slabs: Sequence[Slab], names: list[str], levels: list[float]) -> Face:
    shapes = [slab.polygon for slab in slabs]
    return Face(
        tuple(shapes),
        tuple(_uncovered(shape, shapes[number + 1 :]) for number, shape in enumerate(shapes)),
        tuple(names.index(slab.part) for slab in slabs),
        tuple(slab.color for slab in slabs),
        tuple(levels),
    )


def _uncovered(shape: shapely.Geometry, above: Sequence[shapely.Geometry]) -> shapely.Geometry:
    """Return what shapes above leave of a shape."""
    return shapely.difference(shape, shapely.union_all(list(above))) if above else shape


def _shading(covers: Plane, levels_mm: Sequence[float], px_per_mm: float) -> tuple[Plane, Plane]:
    """Light the upper left rim of every level, shade its lower right one and what lies below it there.

    The shaded picture is color x the first plane + the second.
    """
    gain, lift = np.ones_like(covers[0]), np.zeros_like(covers[0])
    heights = sorted({round(level / SAME_HEIGHT_MM) for level in levels_mm})
    rim, throw = max(round(RIM_MM * px_per_mm), 1), SHADOW_MM * px_per_mm
    level = 1.0 - covers[0]
    for height in heights:
        if height > heights[0]:
            chosen = [round(item / SAME_HEIGHT_MM) >= height for item in levels_mm]
            level = covers[1:][chosen].sum(axis=0)
            step = round(throw)
            cast = 1 - np.float32(0.42) * _blurred(_moved(level, step, step), throw * 0.55) * (1 - level)
            gain *= cast
            lift *= cast
        lit = np.float32(0.25) * np.clip(level - _moved(level, rim, rim), 0, 1)
        dim = 1 - np.float32(0.24) * np.clip(level - _moved(level, -rim, -rim), 0, 1)
        gain *= (1 - lit) * dim
        lift = (lift * (1 - lit) + 255 * lit) * dim
    return gain, lift


def _bytes(plane: Plane) -> Image.Image:
    """Return a plane of 0 to 255 as a picture "L"; overwrites the plane."""
    np.clip(plane, 0, 255, out=plane)
    plane += np.float32(0.5)
    return Image.fromarray(plane.astype(np.uint8))


def _moved(plane: Plane, right: int, down: int) -> Plane:
    """Shift a plane by whole pixels; what comes in is empty."""
    height, width = plane.shape
    out = np.zeros_like(plane)
    if abs(right) >= width or abs(down) >= height:
        return out
    out[max(down, 0) : height + min(down, 0), max(right, 0) : width + min(right, 0)] = plane[
        max(-down, 0) : height - max(down, 0), max(-right, 0) : width - max(right, 0)
    ]
    return out


def _blurred(plane: Plane, radius_px: float) -> Plane:
    sharp = Image.fromarray((plane * 255 + 0.5).astype(np.uint8))
    return np.asarray(sharp.filter(ImageFilter.GaussianBlur(radius_px)), dtype=np.float32) / np.float32(255)


def rim(plane: Plane, width_px: int) -> Plane:
    """Return the outline just inside a covered area."""
    rim = np.zeros_like(plane)
    for right, down in ((width_px, 0), (-width_px, 0), (0, width_px), (0, -width_px)):
        rim = np.maximum(rim, plane - _moved(plane, right, down))
    return np.clip(rim, 0, 1)
