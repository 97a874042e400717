"""Captions of the proof's figures, and what room they leave in their panels."""

from __future__ import annotations

from ..canvas import GREY, LEAST_POINTS, At, Canvas

__all__ = ["CAPTION_MM", "CAPTION_PAD_MM", "below_caption", "caption"]

CAPTION_MM = 8.0
"""Height of a caption of one or two lines."""
CAPTION_PAD_MM, CAPTION_GAP_MM = 3.5, 1.8
"""Room beside a caption, and between its title and its words."""
BROKEN_MM, DESCENT_MM = 4.4, 0.9
"""Base line of the first of several lines of a caption, and room below that of the last."""


def caption(canvas: Canvas, at: At, title: str, words: str, room: float) -> None:
    """Write a figure's title and what is to be said of it in the upper left corner of a panel `room` mm wide.

    The words get smaller until they fit beside the title; where they do not, they go on below it.
    """
    start, lines, points = _set_caption(canvas, title, words, room)
    x, y = at[0] + CAPTION_PAD_MM, at[1] + (5.4 if len(lines) < 2 else BROKEN_MM)
    canvas.text((x, y), title, size=8.5, bold=True)
    for order, line in enumerate(lines):
        spot = (x, y + order * canvas.leading(points)) if order else (x + start, y)
        canvas.text(spot, line, size=points, fill=GREY)


def below_caption(canvas: Canvas, at: At, size: At, title: str, words: str) -> tuple[At, At]:
    """Return a panel's corner and size without what its caption takes beyond `CAPTION_MM`."""
    _, lines, points = _set_caption(canvas, title, words, size[0])
    more = max(0.0, BROKEN_MM + (len(lines) - 1) * canvas.leading(points) + DESCENT_MM - CAPTION_MM)
    return (at[0], at[1] + more), (size[0], size[1] - more)


def _set_caption(canvas: Canvas, title: str, words: str, room: float) -> tuple[float, list[str], float]:
    """Return where the words begin beside the title, their lines and their size."""
    start = canvas.width(title, size=8.5, bold=True) + CAPTION_GAP_MM
    inner, points = room - 2 * CAPTION_PAD_MM, 7.5
    while points > LEAST_POINTS and canvas.width(words, size=points) > inner - start:
        points -= 0.5
    lines = canvas.wrapped(words, inner - start, size=points)
    if len(lines) > 1:
        lines = [lines[0], *canvas.wrapped(" ".join(lines[1:]), inner, size=points)]
    return start, lines, points
