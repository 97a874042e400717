"""The map of a bed: every piece where it lies, in its colors, with the number of its row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from PIL import Image
from shapely import affinity

from ..polygons import inscribed, polygons_of
from ..polygons.cover import View
from .canvas import GREY, HAIR, INK, PANEL, PAPER, Canvas, png_bytes
from .views import Face, color_picture

__all__ = ["MapPiece", "bed_map_png"]

WIDTH_MM = 180.0
MARGIN_MM = 9.0
DPI = 200
"""The map is as wide as a page; room round the bed for the rulers; pixels enough for print."""
TICK_MM = 50.0
"""Of the bed, between the marks of its rulers."""
LABEL_POINTS = (6.0, 15.0)
"""Type of a piece's number, at least and at most."""


@dataclass(frozen=True, slots=True)
class MapPiece:
    """A piece on a bed.

    Parameters
    ----------
    name : str
        Drawn on it.
    face : Face
        As it lies, seen from above, about its own origin.
    outline : MultiPolygon
        The same way.
    turn_deg : float
    at_mm : (float, float)
    """

    name: str
    face: Face
    outline: shapely.MultiPolygon
    turn_deg: float
    at_mm: tuple[float, float]


def bed_map_png(pieces: Sequence[MapPiece], bed_mm: tuple[float, float], *, title: str) -> bytes:
    """Draw a bed from above, its front at the bottom, with rulers in mm of the bed.

    Parameters
    ----------
    pieces : sequence of MapPiece
    bed_mm : (float, float)
    title : str
        Over the map.
    """
    scale = min((WIDTH_MM - 2 * MARGIN_MM) / side for side in bed_mm)
    height = bed_mm[1] * scale
    canvas = Canvas(WIDTH_MM, height + 2 * MARGIN_MM + 2.0, DPI)
    left, top = (WIDTH_MM - bed_mm[0] * scale) / 2, MARGIN_MM
    canvas.text((left, top - 3.0), title, size=11, bold=True)
    canvas.panel((left, top), (bed_mm[0] * scale, height), fill=PANEL, outline=GREY)
    _rulers(canvas, (left, top), bed_mm, scale)
    drawn: dict[tuple[str, float], tuple[Image.Image, View]] = {}
    for piece in pieces:
        key = (piece.name, piece.turn_deg)  # copies that lie alike are drawn once
        drawn[key] = picture, view = drawn.get(key) or _picture(piece, scale * canvas.px_per_mm)
        x, y = piece.at_mm[0] + view.left_mm, piece.at_mm[1] + view.top_mm
        canvas.paste(picture, (left + x * scale, top + height - y * scale))
    for piece in pieces:
        _name(canvas, (left, top + height), scale, piece)
    return png_bytes(canvas.image, dpi=canvas.dpi)


def _rulers(canvas: Canvas, at: tuple[float, float], bed_mm: tuple[float, float], scale: float) -> None:
    """Draw marks of mm along the front and the left edge, and lines across."""
    (left, top), (width, height) = at, (bed_mm[0] * scale, bed_mm[1] * scale)
    for number in range(int(max(bed_mm) / TICK_MM) + 1):
        mm = number * TICK_MM
        if mm <= bed_mm[0]:
            x = left + mm * scale
            canvas.line((x, top), (x, top + height), fill=HAIR, width_mm=0.1)
            canvas.text((x, top + height + 3.6), f"{mm:g}", size=7, fill=GREY, anchor="ms")
        if mm <= bed_mm[1]:
            y = top + height - mm * scale
            canvas.line((left, y), (left + width, y), fill=HAIR, width_mm=0.1)
            canvas.text((left - 1.2, y + 0.9), f"{mm:g}", size=7, fill=GREY, anchor="rs")
    canvas.text((left + width / 2, top + height + 7.0), "front of the bed", size=7, fill=GREY, anchor="ms")


def _picture(piece: MapPiece, px_per_mm: float) -> tuple[Image.Image, View]:
    face = piece.face.turned(piece.turn_deg, (0.0, 0.0))
    view = View.around(face.bounds, px_per_mm, pad_mm=0.5)
    return color_picture(face, view), view


def _name(canvas: Canvas, corner: tuple[float, float], scale: float, piece: MapPiece) -> None:
    """Write a piece's name in its widest place, on a white ground."""
    turned = affinity.rotate(piece.outline, piece.turn_deg, origin=(0.0, 0.0))
    widest = inscribed(max(polygons_of(turned), key=shapely.area))
    x = corner[0] + (piece.at_mm[0] + widest.x) * scale
    y = corner[1] - (piece.at_mm[1] + widest.y) * scale
    size, room = LABEL_POINTS[1], 1.2 * widest.radius * scale
    while size > LABEL_POINTS[0] and canvas.width(piece.name, size=size, bold=True) > room:
        size -= 0.5
    width, high = canvas.width(piece.name, size=size, bold=True), canvas.leading(size) * 0.72
    canvas.panel((x - width / 2 - 1.0, y - high * 0.75), (width + 2.0, high * 1.5), fill=PAPER, outline=INK)
    canvas.text((x, y), piece.name, size=size, bold=True, anchor="mm")
