"""The photograph that a piece was made from, small, with the sheet of paper that was found in it."""

from __future__ import annotations

from PIL import Image, ImageDraw

from ...model import FoundSheet
from ..canvas import At, Canvas
from .captions import CAPTION_MM, CAPTION_PAD_MM, caption

__all__ = ["SOURCE_MM", "draw_sheet_found"]

SOURCE_MM = 34.0
"""Width of the panel, and its least height."""
_OUTLINE, _UNDER = (216, 27, 96), (255, 255, 255)
"""A color that neither paper nor tables have, on a white line that parts it from dark ones."""
_LINE_MM = 0.35  # of the outline, seen at arm's length


def draw_sheet_found(canvas: Canvas, at: At, size: At, sheet: FoundSheet) -> None:
    """Draw the photograph with the outline of the sheet in a panel."""
    canvas.panel(at, size)
    caption(canvas, at, "Sheet", "as found", size[0])
    room = (size[0] - 2 * CAPTION_PAD_MM, size[1] - CAPTION_MM - CAPTION_PAD_MM)
    height, width = sheet.shown.shape[:2]
    scale = min(canvas.px(room[0]) / width, canvas.px(room[1]) / height)
    shown = Image.fromarray(sheet.shown).resize((round(width * scale), round(height * scale)))
    corners = [(float(x), float(y)) for x, y in sheet.corners * sheet.scale * scale]
    draw = ImageDraw.Draw(shown)
    for color, wide in ((_UNDER, 2.0 * _LINE_MM), (_OUTLINE, _LINE_MM)):
        draw.line([*corners, *corners[:2]], fill=color, width=canvas.px(wide), joint="curve")
    left = at[0] + (size[0] - shown.size[0] / canvas.px_per_mm) / 2
    canvas.paste(shown, (left, at[1] + CAPTION_MM))
