"""Screenshots: known by the first line that every screen shows, and cut down to the emblem on them.

The first line of a screen is low, lies near its edge, and holds one thing at either end with a wide gap
between: a clock and signs on a telephone, a name and buttons on a window. What is drawn has no such line;
where it has something in both corners, the two mirror each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ..model.arrays import Flags, Rgb
from ..polygons.groups import joined
from ..polygons.runs import find_pieces
from .dither import commonest
from .opening import MIN_SIDE_PX

__all__ = ["Box", "emblem_box", "is_screen"]

Box: TypeAlias = tuple[int, int, int, int]
"""Left, top, right, lower end in px."""

_ALIKE = 28
"""Levels within which a row has one ground: compression leaves waves beside letters."""
_STRIP = 0.12
"""Share of the longest side that is looked at for the first line."""
_LINE = (4, 0.05)
"""Height of the first line: px at least, share of the longest side at most."""
_LINE_GAP = 0.006
"""Rows of the longest side that may be empty within it, as between a letter and its dot."""
_ENDS = 0.3
"""Share of the width from either side within which the line begins and ends."""
_WIDE = 0.2
"""Share of the width that its widest gap takes at least."""
_MIRRORED = 0.75
"""Share of its columns from which both ends are the same: ornaments or holes in two corners."""

_OFF_PAGE = 10
"""Levels from the page's color to something on it."""
_CELLS = 500
"""Along the longest side, in which things on a page are told apart."""
_BAR = (0.17, 0.3)
"""Shares of the longest side: height of a bar from side to side, width of one from top to bottom."""
_OUTER = 0.07
"""Share of the longest side at every side where no emblem lies."""
_JOINED = (1.5, 0.035)
"""Letters and lines of one emblem are nearer than so many of their heights, and than this share of a side."""
_PLATE = 0.08
"""Share of the longest side from which a rectangle is a picture or card of its own."""
_FRAMED = 0.15
"""Share of a card from which a picture on it is taken instead of the card."""
_LEAST_EMBLEM = 0.01
"""Share of the screen."""
_FRAME_SHARE = 0.9
"""Share of the pixels along a rectangle's sides that must be as they are expected."""
_MARGIN = 0.05
"""Ground that is kept round an emblem, as share of its longest side."""


@dataclass(frozen=True, slots=True)
class _Thing:
    """What stands on a page: its box in px, the ends exclusive, and how many pixels of it are no page."""

    left: int
    top: int
    right: int
    bottom: int
    ink: int

    @property
    def width(self) -> int:
        return self.right - self.left

    @property
    def height(self) -> int:
        return self.bottom - self.top

    @property
    def longest(self) -> int:
        return max(self.width, self.height)

    @property
    def area(self) -> int:
        return self.width * self.height

    def gap(self, other: _Thing) -> int:
        """Return the distance to another one along the axis where it is greater, 0 if they overlap."""
        across = max(other.left - self.right, self.left - other.right)
        return max(across, other.top - self.bottom, self.top - other.bottom, 0)

    def with_other(self, other: _Thing) -> _Thing:
        """Return the box round both."""
        return _Thing(
            min(self.left, other.left),
            min(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
            self.ink + other.ink,
        )


def is_screen(rgb: Rgb) -> bool:
    """Return whether a picture (h, w, 3) has a screen's first line along one of its sides."""
    return any(_has_first_line(np.rot90(rgb, turns)) for turns in range(4))


def emblem_box(rgb: Rgb) -> Box | None:
    """Return where on a screenshot (h, w, 3) its emblem lies, or None where nothing is large enough."""
    return _emblem(rgb, None)


def _has_first_line(rgb: Rgb) -> bool:
    """Return whether the upper edge has a low line with different things at both ends."""
    width, longest = rgb.shape[1], max(rgb.shape[:2])
    planes = np.ascontiguousarray(rgb[: int(_STRIP * longest)].transpose(2, 0, 1))
    left = planes[..., :1]
    off = (np.maximum(planes, left) - np.minimum(planes, left)) > _ALIKE
    ink: Flags = off[0] | off[1] | off[2]
    side = max(width // 200, 1)
    closed = np.asarray(ink[:, :side].any(axis=1) | ink[:, -side:].any(axis=1))
    if closed.any():  # below it the picture reaches its sides
        ink = ink[: int(closed.argmax())]
    rows = np.flatnonzero(ink.any(axis=1))
    if not len(rows) or rows[0] == 0:
        return False
    after = np.flatnonzero(np.diff(rows) > max(int(_LINE_GAP * longest), 1) + 1)
    first, last = int(rows[0]), int(rows[after[0]] if len(after) else rows[-1])
    if not _LINE[0] <= last - first + 1 <= _LINE[1] * longest or last == len(ink) - 1:
        return False
    columns: Flags = np.asarray(ink[first : last + 1].any(axis=0))
    at = np.flatnonzero(columns)
    if at[0] > _ENDS * width or at[-1] < (1.0 - _ENDS) * width or np.diff(at).max(initial=0) < _WIDE * width:
        return False
    both, either = columns & columns[::-1], columns | columns[::-1]
    return bool(both.sum() <= _MIRRORED * either.sum())


def _emblem(rgb: Rgb, card: npt.NDArray[np.int16] | None) -> Box | None:
    """Return the largest thing on a page that is no bar: a picture as it is, else with some ground."""
    height, width = rgb.shape[:2]
    on_card = card is not None
    page = commonest(rgb) if card is None else card
    things = _things(rgb, page)
    ours = [one for one in things if not _is_bar(one, (width, height), outer=not on_card)]
    groups = _joined(ours, [_is_plate(rgb, page, one) for one in ours], max(width, height))
    if not groups:
        return None
    one = max(groups, key=lambda group: group.ink)
    if one.area < (_FRAMED if on_card else _LEAST_EMBLEM) * height * width:
        return None
    if min(one.width, one.height) < 2 * MIN_SIDE_PX:
        return None
    is_plate = _is_plate(rgb, page, one)
    if on_card:
        return _inside(rgb, one) if is_plate else None
    if is_plate:
        return _picture_on(rgb, one)
    margin = min([round(_MARGIN * one.longest)] + [one.gap(other) // 2 for other in things if one.gap(other)])
    return (
        max(one.left - margin, 0),
        max(one.top - margin, 0),
        min(one.right + margin, width),
        min(one.bottom + margin, height),
    )


def _picture_on(rgb: Rgb, plate: _Thing) -> Box:
    """Return the inside of a picture, or of the picture that fills most of a card of one color."""
    box = left, top, right, bottom = _inside(rgb, plate)
    frame = _ring(rgb, plate, _soft_px(rgb))
    card = commonest(frame[None])
    one_color = np.abs(frame.astype(np.int16) - card).max(axis=1) <= _OFF_PAGE
    inner = _emblem(rgb[top:bottom, left:right], card) if one_color.mean() > _FRAME_SHARE else None
    return box if inner is None else (left + inner[0], top + inner[1], left + inner[2], top + inner[3])


def _inside(rgb: Rgb, plate: _Thing) -> Box:
    """Return the box of a rectangle without its soft edges; where the screen cuts it, there are none."""
    height, width = rgb.shape[:2]
    soft = _soft_px(rgb)
    return (
        plate.left + soft * (plate.left > 0),
        plate.top + soft * (plate.top > 0),
        plate.right - soft * (plate.right < width),
        plate.bottom - soft * (plate.bottom < height),
    )


def _soft_px(rgb: Rgb) -> int:
    """Return how far from the edge of a picture on the screen its own pixels surely begin."""
    longest: int = max(rgb.shape[:2])
    return -(-longest // _CELLS) + 1


def _things(rgb: Rgb, page: npt.NDArray[np.int16]) -> list[_Thing]:
    """Return what hangs together on a page, in cells of a few pixels."""
    height, width = rgb.shape[:2]
    cell = -(-max(height, width) // _CELLS)
    rows, columns = -(-height // cell), -(-width // cell)
    off: Flags = np.zeros((rows * cell, columns * cell), dtype=bool)
    off[:height, :width] = np.abs(rgb.astype(np.int16) - page).max(axis=2) > _OFF_PAGE
    cells = np.asarray(off.reshape(rows, cell, columns, cell).any(axis=(1, 3)))
    pieces = find_pieces(cells.view(np.uint8), diagonal=True)
    found: list[_Thing] = []
    if not cells.any():
        return found
    for pixels in pieces.pixels_of(np.flatnonzero(pieces.labels == 1)):
        y, x = np.divmod(pixels, columns)
        ends = (min(int(x.max() + 1) * cell, width), min(int(y.max() + 1) * cell, height))
        found.append(_Thing(int(x.min()) * cell, int(y.min()) * cell, *ends, len(pixels) * cell * cell))
    return found


def _is_bar(one: _Thing, size: tuple[int, int], *, outer: bool) -> bool:
    """Return whether something runs along a side of the screen, or lies in the outermost strip."""
    width, height = size
    longest = max(size)
    across = one.left <= 2 and one.right >= width - 2 and one.height < _BAR[0] * longest
    down = one.top <= 2 and one.bottom >= height - 2 and one.width < _BAR[1] * longest
    reach = _OUTER * longest
    at_end = one.bottom < reach or one.top > height - reach or one.right < reach or one.left > width - reach
    return across or down or (outer and at_end)


def _ring(rgb: Rgb, one: _Thing, inset: int) -> Rgb:
    """Return the pixels (n, 3) along the inside of a box."""
    part = rgb[one.top + inset : one.bottom - inset, one.left + inset : one.right - inset]
    return np.concatenate([part[0], part[-1], part[:, 0], part[:, -1]])


def _is_plate(rgb: Rgb, page: npt.NDArray[np.int16], one: _Thing) -> bool:
    """Return whether something is a rectangle with paint along all of its sides."""
    if min(one.width, one.height) < _PLATE * max(rgb.shape[:2]):
        return False
    frame = _ring(rgb, one, _soft_px(rgb))
    return bool((np.abs(frame.astype(np.int16) - page).max(axis=1) > _OFF_PAGE).mean() > _FRAME_SHARE)


def _joined(things: list[_Thing], plates: list[bool], longest: int) -> list[_Thing]:
    """Join letters and lines that stand near each other; rectangles stay alone."""
    pairs = [
        (a, b)
        for a, one in enumerate(things)
        for b, other in enumerate(things[:a])
        if not (plates[a] or plates[b])
        and one.gap(other) <= min(_JOINED[0] * min(one.height, other.height), _JOINED[1] * longest)
    ]
    first, second = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    count, group = joined(len(things), first, second)
    found: list[_Thing | None] = [None] * count
    for number, one in zip(group.tolist(), things, strict=True):
        so_far = found[number]
        found[number] = one if so_far is None else so_far.with_other(one)
    return [one for one in found if one is not None]
