"""Where the proof's blocks stand: figures in rows, or beside a tall front so that it keeps its true size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..canvas import At
from .figures import MOST_SCALE, back_room, fitting, front_room, key_room

__all__ = ["FOOTER_MM", "GAP_MM", "MARGIN_MM", "PAGE_MM", "Box", "Layout", "lay_out"]

PAGE_MM = (210.0, 297.0)
"""A4, ISO 216."""
MARGIN_MM = 13.0
GAP_MM = 4.0
FOOTER_MM = 19.0
MOST_FIGURES_MM = 60.0
FIGURES_MM = 42.0
LEAST_FIGURES_MM = 34.0
"""Height of the row of back, key and section: at most, as wished, and for a tall front in true size."""
LEAST_VIEWS_MM = 70.0
LEAST_HANGING_MM = 58.0
LEAST_WIDE_MM = 46.0
"""Least height of a wide front beside the view of it hanging."""
LEAST_COLUMN_MM = 50.0
"""Least width of the hanging view beside the front, and of the column beside a large front."""
LEAST_FRONT_SHARE = 0.44
"""Width of the front beside a column, at least."""
SMALL_SHARE = 0.27
"""Width of back and of key in their row."""
COLUMN_SHARES = (0.32, 0.22, 0.25, 0.21)
"""Heights of hanging view, back, key and section in the column."""
PAIR_SHARES = (0.41, 0.37, 0.22)
"""Heights of hanging view, of back and key beside each other, and of the section in the column."""


@dataclass(frozen=True, slots=True)
class Box:
    """A block's upper left corner and size in mm of the page."""

    at: At
    size: At


@dataclass(frozen=True, slots=True)
class Layout:
    """The boxes of the figures; `hanging` is None where nothing hangs."""

    front: Box
    hanging: Box | None
    back: Box
    key: Box
    section: Box


def lay_out(piece_mm: At, top_mm: float, room_mm: float, *, hangs: bool) -> Layout:
    """Place the figures of a piece of this size from `top_mm` down in a height of `room_mm`.

    The front goes in a row with the hanging view and the others in a row below, or it lies over the key of a
    wide piece, each as low as it is, or it stands beside a column of the others. That one is taken which
    shows the front largest, never over its true size, then the key, in which colors must be told apart, then
    the back.
    """
    column = _column(piece_mm, top_mm, room_mm)
    ways = [
        _rows(piece_mm, top_mm, room_mm, hangs=hangs),
        _wide(piece_mm, top_mm, room_mm, hangs=hangs),
        _stacked(column, hangs=hangs),
        _paired(column, hangs=hangs),
    ]
    return max(ways, key=lambda way: _shown(piece_mm, way))  # of equals the first


def _shown(piece_mm: At, way: Layout) -> tuple[float, float, float]:
    """Return the scales of front, key and back."""
    return (
        fitting(piece_mm, front_room(way.front.size), 1.0),
        fitting(piece_mm, key_room(way.key.size), MOST_SCALE),
        fitting(piece_mm, back_room(way.back.size), MOST_SCALE),
    )


def _rows(piece_mm: At, top_mm: float, room_mm: float, *, hangs: bool) -> Layout:
    width = PAGE_MM[0] - 2 * MARGIN_MM
    around = front_room((0.0, 0.0))
    need_width, need = piece_mm[0] - around[0], piece_mm[1] - around[1] + 1.0
    room = room_mm - GAP_MM
    views = min(max(need, LEAST_VIEWS_MM), room - FIGURES_MM)
    if views < need <= room - LEAST_FIGURES_MM:
        views = need
    figures = min(room - views, MOST_FIGURES_MM)
    views = room - figures
    first = width
    if hangs:
        first = min(max(need_width, (width - GAP_MM) / 2), width - GAP_MM - LEAST_HANGING_MM)
    second = MARGIN_MM + first + GAP_MM
    small, y = (width - 2 * GAP_MM) * SMALL_SHARE, top_mm + views + GAP_MM
    return Layout(
        Box((MARGIN_MM, top_mm), (first, views)),
        Box((second, top_mm), (width - first - GAP_MM, views)) if hangs else None,
        Box((MARGIN_MM, y), (small, figures)),
        Box((MARGIN_MM + small + GAP_MM, y), (small, figures)),
        Box((MARGIN_MM + 2 * (small + GAP_MM), y), (width - 2 * (small + GAP_MM), figures)),
    )


def _wide(piece_mm: At, top_mm: float, room_mm: float, *, hangs: bool) -> Layout:
    """Put front, key and the others in three rows, the first two no higher than a wide piece needs."""
    width = PAGE_MM[0] - 2 * MARGIN_MM
    around = front_room((0.0, 0.0))
    need_width, need = piece_mm[0] - around[0], piece_mm[1] - around[1] + 1.0
    beside = hangs and need_width <= width - GAP_MM - LEAST_HANGING_MM
    first = max(need_width, (width - GAP_MM) / 2) if beside else width
    room = room_mm - 2 * GAP_MM
    front = min(max(need, LEAST_WIDE_MM if beside else 0.0), room - 2 * LEAST_FIGURES_MM)
    scale = fitting(piece_mm, key_room((width, room)), MOST_SCALE)
    key = min(piece_mm[1] * scale - key_room((0.0, 0.0))[1] + 1.0, room - front - LEAST_FIGURES_MM)
    key_y = top_mm + front + GAP_MM
    y, last = key_y + key + GAP_MM, room - front - key
    count = 3 if hangs and not beside else 2
    third = (width - (count - 1) * GAP_MM) / count
    boxes = [Box((MARGIN_MM + n * (third + GAP_MM), y), (third, last)) for n in range(count)]
    hanging = boxes[0] if count == 3 else None
    if beside:
        hanging = Box((MARGIN_MM + first + GAP_MM, top_mm), (width - first - GAP_MM, front))
    front_box, key_box = Box((MARGIN_MM, top_mm), (first, front)), Box((MARGIN_MM, key_y), (width, key))
    return Layout(front_box, hanging, boxes[-2], key_box, boxes[-1])


def _column(piece_mm: At, top_mm: float, room_mm: float) -> tuple[Box, Box]:
    """Return the boxes of the front and of the column beside it."""
    width = PAGE_MM[0] - 2 * MARGIN_MM
    need_width = piece_mm[0] - front_room((0.0, 0.0))[0]
    first = min(max(need_width, width * LEAST_FRONT_SHARE), width - GAP_MM - LEAST_COLUMN_MM)
    rest = Box((MARGIN_MM + first + GAP_MM, top_mm), (width - first - GAP_MM, room_mm))
    return Box((MARGIN_MM, top_mm), (first, room_mm)), rest


def _stacked(column: tuple[Box, Box], *, hangs: bool) -> Layout:
    """Put the others in the column one below the other."""
    front, rest = column
    boxes = _cut_down(rest, COLUMN_SHARES if hangs else COLUMN_SHARES[1:])
    back, key, section = boxes[-3:]
    return Layout(front, boxes[0] if hangs else None, back, key, section)


def _paired(column: tuple[Box, Box], *, hangs: bool) -> Layout:
    """Put back and key beside each other in the column."""
    front, rest = column
    boxes = _cut_down(rest, PAIR_SHARES if hangs else PAIR_SHARES[1:])
    (x, y), (width, height) = boxes[-2].at, boxes[-2].size
    half = (width - GAP_MM) / 2
    back, key = Box((x, y), (half, height)), Box((x + half + GAP_MM, y), (half, height))
    return Layout(front, boxes[0] if hangs else None, back, key, boxes[-1])


def _cut_down(column: Box, shares: Sequence[float]) -> list[Box]:
    """Cut a column into boxes of these shares of its height, gaps between."""
    room, y, boxes = column.size[1] - GAP_MM * (len(shares) - 1), column.at[1], []
    for share in shares:
        height = room * share / sum(shares)
        boxes.append(Box((column.at[0], y), (column.size[0], height)))
        y += height + GAP_MM
    return boxes
