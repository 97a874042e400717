"""The section of the proof: the cut drawn with its layers, heights enlarged so that they can be read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw

from ...colorimetry import relative_luminance
from ...findings import count_words
from ...model.arrays import Color
from ..canvas import GREY, HAIR, INK, PAPER, At, Canvas
from ..cutaway import Band, Section
from ..legend import LegendEntry
from ..wording import mm
from .captions import CAPTION_MM, below_caption, caption
from .figures import PAD_MM

__all__ = ["draw_section", "ink_on"]

RAISES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30)
"""How many times heights may be enlarged over lengths."""
_TITLE, _TIMES = "Section A", ", heights drawn {:.3g} times larger"
LABEL_MM = 17.0
LABEL_STEP_MM = 3.0
"""Least distance of two height labels."""
SUPERSAMPLING = 4
"""Samples per pixel side: 17 steps of an edge's opacity are finer than the eye sees on paper."""
LEAST_NAMED_MM = 4.0
"""A band narrower than this on paper gets no number."""

ALIKE_SHARE = 0.8
"""A stretch over this share of the one below it goes on it, for the reader."""


def ink_on(color: Color) -> Color:
    """Return black or white ink, whichever reads better on a color.

    Examples
    --------
    >>> ink_on((255, 255, 0)), ink_on((20, 33, 61))
    ((34, 38, 43), (255, 255, 255))
    """
    luminance = float(relative_luminance(np.array(color, dtype=np.uint8)))
    dark = float(relative_luminance(np.array(INK, dtype=np.uint8)))
    on_white = 1.05 / (luminance + 0.05)
    return PAPER if on_white >= (luminance + 0.05) / (dark + 0.05) else INK


def draw_section(
    canvas: Canvas,
    at: At,
    size: At,
    section: Section,
    *,
    entries: Sequence[LegendEntry],
    layer_tops_mm: Sequence[float],
    words: str = "",
) -> None:
    """Draw the cut in a panel: parts in color and number, layer lines, heights at the right.

    Without layers, as where two plates lie on each other, the heights are those of the cut itself. `words`
    stand in the caption.
    """
    canvas.panel(at, size)
    said = ", ".join(filter(None, (count_words(len(layer_tops_mm), "layer") if layer_tops_mm else "", words)))
    corner, size = below_caption(canvas, at, size, _TITLE, said + _TIMES.format(RAISES[-1]))
    room = (size[0] - 2 * PAD_MM - LABEL_MM, size[1] - CAPTION_MM - 2 * PAD_MM)
    across = room[0] / (section.x_mm[1] - section.x_mm[0])
    raised = max([raise_ for raise_ in RAISES if section.top_mm * across * raise_ <= room[1]], default=1)
    up = min(across * raised, room[1] / section.top_mm)
    floor = corner[1] + CAPTION_MM + PAD_MM + (room[1] + section.top_mm * up) / 2
    left = at[0] + PAD_MM
    for band in section.bands:
        named = not _goes_on(band, section.bands)
        scale = (section.x_mm[0], across, up)
        _draw_band(canvas, band, entries[band.part], (left, floor), scale, named=named)
    end = left + room[0]
    canvas.line((left - 1.5, floor), (end + 1.5, floor), fill=INK, width_mm=0.3)
    heights = {z for entry in entries for z in entry.z_mm} if layer_tops_mm else section.levels_mm
    _height_labels(canvas, (end, floor), (up, floor - corner[1] - CAPTION_MM - PAD_MM), sorted(heights))
    times = _TIMES.format(up / across) if up > 1.001 * across else ""
    caption(canvas, at, _TITLE, said + times, room=size[0])
    for z_mm in layer_tops_mm:
        canvas.line((end + 0.6, floor - z_mm * up), (end + 1.8, floor - z_mm * up), fill=GREY, width_mm=0.12)


def _goes_on(band: Band, bands: Sequence[Band]) -> bool:
    """Tell whether a stretch goes on what stands below it, as steps of a countersink do: one number does."""
    start, end = band.profile[0][0], band.profile[-1][0]
    for other in bands:
        low, high = other.profile[0][0], other.profile[-1][0]
        shared = min(end, high) - max(start, low)
        rests = other.part == band.part and all(z == band.bottom_mm for _, z in other.profile)
        if rests and shared >= ALIKE_SHARE * (high - low):
            return True
    return False


def _draw_band(
    canvas: Canvas,
    band: Band,
    entry: LegendEntry,
    origin: At,
    scale: tuple[float, float, float],
    *,
    named: bool,
) -> None:
    """Draw one stretch in its color, with an outline and, if named, its number where there is room."""
    low_x, across, up = scale
    profile = [(origin[0] + (x - low_x) * across, origin[1] - z * up) for x, z in band.profile]
    under = origin[1] - band.bottom_mm * up
    outline = [(profile[0][0], under), *profile, (profile[-1][0], under)]
    _filled(canvas, outline, entry.color)
    width, high = profile[-1][0] - profile[0][0], min(y for _, y in profile)
    if named and width >= LEAST_NAMED_MM and under - high >= 2.4:
        middle = ((profile[0][0] + profile[-1][0]) / 2, (under + high) / 2)
        canvas.text(middle, str(entry.number), size=7, bold=True, fill=ink_on(entry.color), anchor="mm")


def _filled(canvas: Canvas, outline: Sequence[At], color: Color) -> None:
    """Fill a polygon with smooth edges and a fine outline."""
    x0, y0 = min(x for x, _ in outline), min(y for _, y in outline)
    x1, y1 = max(x for x, _ in outline), max(y for _, y in outline)
    left, top = canvas.px(x0), canvas.px(y0)
    width, height = canvas.px(x1) - left + 2, canvas.px(y1) - top + 2
    scale = canvas.px_per_mm * SUPERSAMPLING
    points = [(x * scale - left * SUPERSAMPLING, y * scale - top * SUPERSAMPLING) for x, y in outline]
    mask = Image.new("L", (width * SUPERSAMPLING, height * SUPERSAMPLING), 0)
    draw = ImageDraw.Draw(mask)
    draw.polygon(points, fill=255)
    edge = Image.new("L", mask.size, 0)
    ImageDraw.Draw(edge).line([*points, points[0]], fill=110, width=round(0.12 * scale))
    for layer, shade in ((mask, color), (edge, (0, 0, 0))):
        small = layer.reduce(SUPERSAMPLING)
        canvas.image.paste(Image.new("RGB", small.size, shade), (left, top), small)


def _height_labels(canvas: Canvas, corner: At, scale: tuple[float, float], heights: Sequence[float]) -> None:
    """Write heights at the right, each with a leader; `scale` is paper a millimetre, and the room above."""
    up, room = scale
    for z_mm, away in _placed(heights, up, room):
        y, level = corner[1] - away, corner[1] - z_mm * up
        canvas.line((corner[0] + 2.2, level), (corner[0] + 4.6, y), fill=HAIR, width_mm=0.15)
        canvas.text((corner[0] + 5.2, y), f"{mm(z_mm)} mm", size=7, anchor="lm")


def _placed(heights: Sequence[float], up: float, room: float) -> list[tuple[float, float]]:
    """Return rising heights with the place of their labels above the floor, pushed apart within the room.

    Where there are more than fit, the lowest two and the highest stay, and of the others evenly many: all
    heights stand beside the colors.

    Examples
    --------
    >>> _placed([0.0, 2.0, 2.4], 5.0, 20.0)
    [(0.0, 0.0), (2.0, 10.0), (2.4, 13.0)]
    >>> _placed([0.0, 2.0, 2.4, 3.0, 3.4], 5.0, 7.0)
    [(0.0, 0.0), (2.0, 4.0), (3.4, 7.0)]
    """
    most = max(int(room / LABEL_STEP_MM) + 1, 2)
    if len(heights) > most:
        rest = np.linspace(len(heights) - 1, 1, most - 1)[::-1]  # the last alone, if there is room for one
        heights = [heights[0], *(heights[round(at)] for at in rest)]
    places: list[float] = []
    for z_mm in heights:
        places.append(max(z_mm * up, places[-1] + LABEL_STEP_MM) if places else z_mm * up)
    limit = room
    for at in range(len(places) - 1, 0, -1):
        places[at] = min(places[at], limit)
        limit = places[at] - LABEL_STEP_MM
    return list(zip(heights, places, strict=True))
