"""The figures of the proof: the front with its rulers, the piece as it hangs, back and key."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from .canvas import GREY, INK, PAPER, At, Canvas
from .legend import LegendEntry
from .masks import View
from .piece import Face, color_picture, hatch_picture, shadow_of
from .wording import mm, scale_words

__all__ = [
    "CAPTION_MM",
    "RULER_MM",
    "SCALES",
    "back_room",
    "caption",
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
CAPTION_MM = 8.0
RULER_MM = 9.5
LEFT_MM = 14.5
RIGHT_MM = 6.5
"""Room beside the front: for ruler and mark of the cut, for the mark alone."""
PAD_MM = 4.0
MARKS_MM = 9.0
"""Width of the column of numbered marks beside the key."""
MOST_SCALE = 2.0
"""How much small pieces are enlarged beside the front, which is never."""
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
    """Return the room that a panel has for the key, beside its numbered marks."""
    width, height = back_room(size)
    return (width - MARKS_MM, height)


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
    caption(canvas, at, "Front", scale_words(scale))
    _ruler(canvas, (left, top + height + 3.5), width, scale, upright=False)
    _ruler(canvas, (left - 6.5, top + height), height, scale, upright=True)
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
    caption(canvas, at, "Back", scale_words(scale))


def draw_key(canvas: Canvas, at: At, size: At, face: Face, entries: Sequence[LegendEntry]) -> None:
    """Draw the piece in hatches with the number of each color, for eyes and copies without color."""
    canvas.panel(at, size)
    low_x, low_y, high_x, high_y = face.bounds
    room = key_room(size)
    scale = fitting((high_x - low_x, high_y - low_y), room, MOST_SCALE)
    view = View.around(face.bounds, canvas.px_per_mm * scale)
    left = at[0] + PAD_MM + (room[0] - (high_x - low_x) * scale) / 2
    top = at[1] + CAPTION_MM + (room[1] - (high_y - low_y) * scale) / 2
    # Hatches keep their pitch on paper, whatever the scale.
    picture = hatch_picture(face, view, canvas.px_per_mm / KEY_PITCH)
    canvas.paste(picture, (left, top))
    caption(canvas, at, "Color key", "in hatches")
    spots = [(entry, spot) for entry in entries if (spot := anchor_of(face, entry.number - 1)) is not None]
    spots.sort(key=lambda pair: (-pair[1][1], pair[0].number))
    outside = []
    for entry, (x, y, radius) in spots:
        place = (left + (x - low_x) * scale, top + (high_y - y) * scale)
        if radius * scale >= MARKER_MM:
            marker(canvas, place, str(entry.number), radius=MARKER_MM * 0.84)
        else:
            outside.append((place, entry))
    column = at[0] + size[0] - PAD_MM - MARKER_MM
    step = min(2 * MARKER_MM + 0.8, room[1] / max(len(outside), 1))
    y = at[1] + CAPTION_MM
    for order, (place, entry) in enumerate(outside):
        last = at[1] + CAPTION_MM + room[1] - (len(outside) - order - 0.5) * step
        y = min(max(place[1], y + step / 2), last)
        _leader(canvas, place, (column, y), entry)
        y += step / 2


def _leader(canvas: Canvas, place: At, mark: At, entry: LegendEntry) -> None:
    """Draw a numbered mark with a fine line to its place."""
    canvas.line(place, mark, fill=PAPER, width_mm=0.75)
    canvas.line(place, mark, fill=INK, width_mm=0.18)
    canvas.disc(place, 0.65, fill=PAPER)
    canvas.disc(place, 0.45)
    marker(canvas, mark, str(entry.number))


def anchor_of(face: Face, part: int) -> tuple[float, float, float] | None:
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


def caption(canvas: Canvas, at: At, title: str, words: str, room: float | None = None) -> None:
    """Write a figure's title and what is to be said of it, in the upper left corner of its panel."""
    start = canvas.text((at[0] + 3.5, at[1] + 5.4), title, size=8.5, bold=True)
    points = 7.5
    if room is not None:
        words, points = canvas.fitted(words, room - start - 8.5, size=points)
    canvas.text((at[0] + 3.5 + start + 1.8, at[1] + 5.4), words, size=points, fill=GREY)


def _ruler(canvas: Canvas, start: At, length_mm: float, scale: float, *, upright: bool) -> None:
    """Draw a ruler in mm of the piece from a start rightward, or upward, its ticks toward the piece."""
    step = next(step for step in (1, 2, 5, 10, 20, 50, 100) if step * scale >= 0.8 or step == 100)
    for count in range(int(length_mm / scale / step + 1e-6) + 1):
        away = count * step * scale
        tick = 2.6 if count % 10 == 0 else 1.8 if count % 5 == 0 else 1.0
        shade = INK if count % 5 == 0 else GREY
        if upright:
            x, y = start[0], start[1] - away
            canvas.line((x, y), (x - tick, y), fill=shade, width_mm=0.13)
            if count % 10 == 0:
                canvas.text((x - 2.9, y), mm(count * step, 0), size=6, fill=GREY, anchor="rm")
        else:
            x, y = start[0] + away, start[1]
            canvas.line((x, y), (x, y + tick), fill=shade, width_mm=0.13)
            if count % 10 == 0:
                canvas.text((x, y + 4.6), mm(count * step, 0), size=6, fill=GREY, anchor="ms")
