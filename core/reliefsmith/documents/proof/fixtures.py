"""What holds a piece without hanging it, drawn in: screw heads in front; magnets, pin and tape behind."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from PIL import Image
from shapely import affinity

from ...model import Pocket
from ...polygons.cover import View
from ..holders import METAL, WEB, Hardware
from ..paint import paint

__all__ = ["draw_fixtures", "draw_screws"]

_RECESS = 0.28
"""Share of a screw's head that a bar of its cross recess is long, from the middle."""


def draw_screws(hardware: Hardware, centers_mm: Sequence[tuple[float, float]], view: View) -> Image.Image:
    """Draw the heads of screws in their countersinks."""
    picture = Image.new("RGBA", view.size_px)
    head = hardware.size_mm[1]
    for x, y in centers_mm:
        _dome(picture, shapely.Point(x, y), head, view)
        for dx, dy in ((_RECESS * head, 0.0), (0.0, _RECESS * head)):
            bar = shapely.LineString([(x - dx, y - dy), (x + dx, y + dy)])
            paint(picture, bar.buffer(0.06 * head, cap_style="flat"), view, (*METAL[0], 255))
    return picture


def draw_fixtures(hardware: Hardware, pockets: Sequence[Pocket], view: View) -> Image.Image:
    """Draw magnets, a pin or tape in their pockets, seen from behind: left and right exchanged."""
    picture = Image.new("RGBA", view.size_px)
    for pocket in pockets:
        middle = pocket.polygon.centroid
        place = shapely.Point(-middle.x, middle.y)
        if hardware.use == "magnet":
            _dome(picture, place, hardware.size_mm[0], view)
        elif hardware.use == "tape":
            for share, shade in ((1.0, WEB[0]), (0.96, WEB[2])):
                paint(picture, affinity.scale(_bar(place, hardware), share, share), view, (*shade, 255))
        else:
            _pin(picture, place, hardware, view)
    return picture


def _dome(picture: Image.Image, place: shapely.Point, across: float, view: View) -> None:
    for share, shade, shift in ((1.0, METAL[0], 0.0), (0.92, METAL[1], 0.0), (0.6, METAL[2], 0.06)):
        disc = shapely.transform(
            place.buffer(share * across / 2),
            lambda points, move=shift * across: points + np.array([-move, move]),
        )
        paint(picture, disc, view, (*shade, 255))


def _bar(place: shapely.Point, hardware: Hardware) -> shapely.Polygon:
    """Return the outline of a pin's bar or a strip of tape, level round its middle."""
    length, width = hardware.size_mm[:2]
    return shapely.box(place.x - length / 2, place.y - width / 2, place.x + length / 2, place.y + width / 2)


def _pin(picture: Image.Image, place: shapely.Point, hardware: Hardware, view: View) -> None:
    """Draw a bar with a needle above it, joint on one side, catch on the other."""
    length, width = hardware.size_mm[:2]
    x, y = place.x, place.y
    for share, shade in ((1.0, METAL[0]), (0.9, METAL[1])):
        paint(picture, affinity.scale(_bar(place, hardware), share, share), view, (*shade, 255))
    needle = shapely.LineString([(x - 0.44 * length, y), (x + 0.47 * length, y + 0.1 * width)])
    for share, shade in ((0.16, METAL[0]), (0.08, METAL[2])):
        paint(picture, needle.buffer(share * width), view, (*shade, 255))
    for end in (-0.44, 0.44):
        paint(picture, shapely.Point(x + end * length, y).buffer(0.32 * width), view, (*METAL[0], 255))
        paint(picture, shapely.Point(x + end * length, y).buffer(0.2 * width), view, (*METAL[2], 255))
