"""The figures of the proof: the front with its rulers, the piece as it hangs, back and key."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from ...model import NumberedArea
from ...polygons.cover import View
from ...polygons.rulers import NUMBERED_RANK, ruler_step, ruler_ticks
from ..canvas import AXIS, GREY, INK, LEAST_POINTS, PAPER, At, Canvas
from ..legend import LegendEntry
from ..views import Face, color_picture, hatch_picture, shadow_of
from ..wording import mm, scale_words
from .captions import CAPTION_MM, below_caption, caption

__all__ = [
    "RULER_MM",
    "SCALES",
    "back_room",
    "centered",
    "draw_back",
    "draw_front",
    "draw_key",
    "fitting",
    "front_room",
    "key_room",
    "marker",
]

SCALES = (
    *(3.0, 2.0, 1.5, 1.0, 1 / 1.25, 1 / 1.5, 1 / 2, 1 / 2.5, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 7.5, 1 / 10),
    *(1 / 15, 1 / 20, 1 / 30, 1 / 40, 1 / 50, 1 / 75, 1 / 100),
)
"""Scales that a drawing may have: only ones that are easily said."""
RULER_MM = 9.5
LEFT_MM = 14.5
RIGHT_MM = 6.5
"""Room beside the front: for ruler and mark of the cut, for the mark alone."""
PAD_MM = 4.0
MARKS_MM = 9.0
"""Width of the column of numbered marks beside the key."""
KEY_RULER_MM = (5.0, 4.0)
"""Room for the rulers of the key, to the left and below."""
KEY_TICK_MM = 0.6
"""Least distance of two ticks of the key, closer than those of the front."""
MOST_SCALE = 2.0
"""How much small pieces are enlarged beside the front, which is never."""
AREA_DISC_MM = 0.5
"""Radius of the disc under the number of an area, for each digit and for its rim."""
MARKER_MM = 1.9
"""Radius of a numbered mark on paper."""
KEY_PITCH = 0.7
"""Hatches of the small key, closer than those of the chips."""
ANCHOR_TOLERANCE_MM = 0.2
"""How exactly the middle of an area is found for its mark."""


def fitting(size_mm: At, room_mm: At, most: float) -> float:
    """Return the largest easily said scale up to `most` at which a size fits in the room.

    Examples
    --------
    >>> fitting((68, 40), (80, 60), 1.0), fitting((68, 90), (80, 60), 1.0)
    (1.0, 0.6666666666666666)
    """
    for scale in SCALES:
        if scale <= most and all(part * scale <= room for part, room in zip(size_mm, room_mm, strict=True)):
            return scale
    return SCALES[-1]


def front_room(size: At) -> At:
    """Return the room that a panel of this size has for the front itself, negative where it has none."""
    return (size[0] - LEFT_MM - RIGHT_MM, size[1] - CAPTION_MM - RULER_MM - PAD_MM)


def back_room(size: At) -> At:
    """Return the room that a panel has for the back."""
    return (size[0] - 2 * PAD_MM, size[1] - CAPTION_MM - PAD_MM)


def key_room(size: At) -> At:
    """Return the room that a panel has for the key, between its rulers and its numbered marks."""
    width, height = back_room(size)
    return (width - MARKS_MM - KEY_RULER_MM[0], height - KEY_RULER_MM[1])


def draw_front(canvas: Canvas, at: At, size: At, face: Face, cut_y_mm: float) -> float:
    """Draw the front in a panel with rulers below and to the left; return its scale."""
    canvas.panel(at, size)
    low_x, low_y, high_x, high_y = face.bounds
    room = front_room(size)
    scale = fitting((high_x - low_x, high_y - low_y), room, 1.0)
    width, height = (high_x - low_x) * scale, (high_y - low_y) * scale
    left = at[0] + LEFT_MM + (room[0] - width) / 2
    top = at[1] + CAPTION_MM + PAD_MM / 2 + (room[1] - height) / 2
    _place(canvas, (left, top), face, scale)
    caption(canvas, at, "Front", scale_words(scale), size[0])
    origin = (left - low_x * scale, top + high_y * scale)
    _ruler(canvas, (origin[0], top + height + 3.5), (low_x, high_x), scale, upright=False)
    _ruler(canvas, (left - 6.5, origin[1]), (low_y, high_y), scale, upright=True)
    y = top + (high_y - cut_y_mm) * scale
    for x, toward in ((left - 1.2, -1), (left + width + 1.2, 1)):
        canvas.line((x, y), (x + 2.4 * toward, y), fill=INK, width_mm=0.25)
        canvas.text((x + 3.6 * toward, y), "A", size=7, bold=True, anchor="mm")
    return scale


def draw_back(canvas: Canvas, at: At, size: At, face: Face) -> None:
    """Draw the back."""
    canvas.panel(at, size)
    low_x, low_y, high_x, high_y = face.bounds
    room = back_room(size)
    scale = fitting((high_x - low_x, high_y - low_y), room, MOST_SCALE)
    spot = (
        at[0] + (size[0] - (high_x - low_x) * scale) / 2,
        at[1] + CAPTION_MM + (room[1] - (high_y - low_y) * scale) / 2,
    )
    _place(canvas, spot, face, scale)
    caption(canvas, at, "Back", scale_words(scale), size[0])


def draw_key(
    canvas: Canvas,
    at: At,
    size: At,
    face: Face,
    entries: Sequence[LegendEntry],
    *,
    areas: Sequence[NumberedArea] = (),
) -> None:
    """Draw the piece in hatches with the number of each color beside it, for eyes and copies without color.

    Within it stand the numbers of the areas that have room, by which marks name them.
    """
    canvas.panel(at, size)
    words = "hatches; numbers of areas and mm for marks" if areas else "hatches, mm of marks"
    caption(canvas, at, "Color key", words, size[0])
    at, size = below_caption(canvas, at, size, "Color key", words)
    low_x, low_y, high_x, high_y = face.bounds
    room = key_room(size)
    scale = fitting((high_x - low_x, high_y - low_y), room, MOST_SCALE)
    view = View.around(face.bounds, canvas.px_per_mm * scale)
    left = at[0] + PAD_MM + KEY_RULER_MM[0] + (room[0] - (high_x - low_x) * scale) / 2
    top = at[1] + CAPTION_MM + (room[1] - (high_y - low_y) * scale) / 2
    # Hatches keep their pitch on paper, whatever the scale.
    picture = hatch_picture(face, view, canvas.px_per_mm / KEY_PITCH)
    canvas.paste(picture, (left, top))
    _frame(canvas, (left, top), face, scale)

    def on_page(x: float, y: float) -> At:
        return (left + (x - low_x) * scale, top + (high_y - y) * scale)

    spots = [(entry, spot) for entry in entries if (spot := _anchor_of(face, entry.number - 1)) is not None]
    places = [(on_page(x + radius / 2, y + radius / 2), entry) for entry, (x, y, radius) in spots]
    places.sort(key=lambda pair: (pair[0][1], pair[1].number))
    column = at[0] + size[0] - PAD_MM - MARKER_MM
    step = min(2 * MARKER_MM + 0.8, room[1] / max(len(places), 1))
    y = at[1] + CAPTION_MM
    for order, (place, entry) in enumerate(places):
        last = at[1] + CAPTION_MM + room[1] - (len(places) - order - 0.5) * step
        y = min(max(place[1], y + step / 2), last)
        _leader(canvas, place, (column, y), entry)
        y += step / 2
    for number, area in enumerate(areas, start=1):
        disc = AREA_DISC_MM * (1 + len(str(number)))
        if area.radius_mm * scale >= disc and _shows(face, area.at_mm):
            middle = on_page(*area.at_mm)
            canvas.disc(middle, disc, fill=PAPER)
            canvas.text(middle, str(number), size=LEAST_POINTS, bold=True, anchor="mm")


def _shows(face: Face, at_mm: At) -> bool:
    """Tell whether anything of the piece is seen at a place."""
    return any(shapely.intersects_xy(shape, *at_mm) for shape in face.shapes)


def _frame(canvas: Canvas, corner: At, face: Face, scale: float) -> None:
    """Draw the frame in which marks are placed: axes through the middle of the artwork, and two rulers."""
    low_x, low_y, high_x, high_y = face.bounds
    left, top = corner
    right, low = left + (high_x - low_x) * scale, top + (high_y - low_y) * scale
    x, y = left - low_x * scale, top + high_y * scale
    canvas.line((x, top), (x, low + 1.0), fill=AXIS, width_mm=0.12)
    canvas.line((left - 1.0, y), (right, y), fill=AXIS, width_mm=0.12)
    _ruler(canvas, (x, low + 1.0), (low_x, high_x), scale, upright=False, least_mm=KEY_TICK_MM)
    _ruler(canvas, (left - 1.0, y), (low_y, high_y), scale, upright=True, least_mm=KEY_TICK_MM)


def _leader(canvas: Canvas, place: At, mark: At, entry: LegendEntry) -> None:
    """Draw a numbered mark with a fine line to its place."""
    canvas.line(place, mark, fill=PAPER, width_mm=0.75)
    canvas.line(place, mark, fill=INK, width_mm=0.18)
    canvas.disc(place, 0.65, fill=PAPER)
    canvas.disc(place, 0.45)
    marker(canvas, mark, str(entry.number))


def _anchor_of(face: Face, part: int) -> tuple[float, float, float] | None:
    """Return middle and radius of the widest visible place of a part."""
    owned = [shape for shape, owner in zip(face.visible, face.parts, strict=True) if owner == part]
    visible = [piece for shape in owned for piece in shapely.get_parts(shape)]
    areas = [item for item in visible if item.geom_type == "Polygon" and item.area > 0]
    if not areas:
        return None
    line = shapely.maximum_inscribed_circle(max(areas, key=lambda item: item.area), ANCHOR_TOLERANCE_MM)
    x, y = shapely.get_coordinates(line)[0]
    return float(x), float(y), float(shapely.length(line))


def marker(canvas: Canvas, at: At, text: str, radius: float = MARKER_MM) -> None:
    """Draw a numbered round mark with a light rim, so that it stands out on any color."""
    canvas.disc(at, radius + 0.25, fill=PAPER)
    canvas.disc(at, radius)
    canvas.text(at, text, size=7.2 * min(radius / MARKER_MM, 1.0), bold=True, fill=PAPER, anchor="mm")


def _place(canvas: Canvas, at: At, face: Face, scale: float) -> None:
    """Put a face with its shadow so that its bounding box begins at a place."""
    pad = 2.5 / scale
    view = View.around(face.bounds, canvas.px_per_mm * scale, pad_mm=pad)
    picture = color_picture(face, view)
    spot = (at[0] - pad * scale, at[1] - pad * scale)
    canvas.paste(shadow_of(picture, canvas.px_per_mm), spot)
    canvas.paste(picture, spot)


def centered(at: At, size: At, view: View, canvas: Canvas) -> At:
    """Return where a picture of a view goes to stand in the middle of a panel, below its caption."""
    width, height = view.size_px[0] / canvas.px_per_mm, view.size_px[1] / canvas.px_per_mm
    return (
        at[0] + (size[0] - width) / 2,
        at[1] + CAPTION_MM - 2.0 + (size[1] - CAPTION_MM + 2.0 - height) / 2,
    )


def _ruler(
    canvas: Canvas, origin: At, ends_mm: At, scale: float, *, upright: bool, least_mm: float = 0.8
) -> None:
    """Draw a ruler in mm of the artwork, counted from its middle, its ticks away from the piece.

    Parameters
    ----------
    origin : (float, float)
        Where 0 stands on the page.
    ends_mm : (float, float)
        From where to where it goes, in mm of the artwork.
    least_mm : float
        Least distance of two ticks on the page.
    """
    step = ruler_step(least_mm / scale)
    for value, rank in ruler_ticks(*ends_mm, step):
        tick = (1.0, 1.8, 2.6)[rank]
        shade = INK if rank else GREY
        x, y = (origin[0], origin[1] - value * scale) if upright else (origin[0] + value * scale, origin[1])
        end = (x - tick, y) if upright else (x, y + tick)
        canvas.line((x, y), end, fill=shade, width_mm=0.13)
        if rank == NUMBERED_RANK:
            spot, anchor = ((x - 2.9, y), "rm") if upright else ((x, y + 4.6), "ms")
            canvas.text(spot, mm(value, 0), size=LEAST_POINTS, fill=GREY, anchor=anchor)
