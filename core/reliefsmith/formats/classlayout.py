"""What stands where on a class's sheet, in mm from the upper left corner of its frame of 180 x 250 mm.

Four marks stand in the corners: a ring of one unit, a gap of two, and a square of two, so that a line across
goes dark, light, dark, light, dark as 1 : 2 : 2 : 2 : 1. Codes that readers look for have other ratios
(1 : 1 : 3 : 1 : 1, or all alike). Between the upper ones stands whose sheet it is, between the lower ones its
number, and the field to draw in lies between; its line is measured too: only along it a lens's bulge shows.
"""

from __future__ import annotations

from .sheetnumber import COLUMNS, ROWS

__all__ = [
    "CELLS_AT",
    "CELL_MM",
    "CELL_STEP_MM",
    "CROP_MM",
    "FIELD",
    "FRAME_MM",
    "LINE_MM",
    "MARKS",
    "MARK_MM",
]
__all__ += ["NAME_MM", "RINGS_MM", "RULER", "cell_at"]

FRAME_MM = (180.0, 250.0)
"""Fits on A4 (ISO 216) and on US letter with margins of 14 mm and more, which home printers leave."""
MARK_MM = 16.0
"""Side of a corner mark; its narrowest ring is 2 mm wide."""
MARKS = ((0.0, 0.0), (164.0, 0.0), (164.0, 234.0), (0.0, 234.0))
"""Upper left corners of the marks, clockwise."""
RINGS_MM = (0.0, 2.0, 6.0)
"""How far the squares of a mark lie within it: dark from the first on, light from the second, dark again."""
FIELD = (0.0, 22.0, 180.0, 216.0)
"""Left, top, right and lower end of the middle of the line round the drawing."""
LINE_MM = 0.6
"""How wide that line is."""
CROP_MM = 1.2
"""How far within that line a drawing is cut out, so that nothing of the line is taken for it."""
RULER = (40.0, 226.0, 140.0)
"""Left end, height and right end: 100 mm."""
CELLS_AT = (23.0, 234.0)
CELL_MM, CELL_STEP_MM = 6.0, 8.0
"""Where the cells of the number begin, how large they are, and from one to the next."""
NAME_MM = 100.0
"""Width of the line for a name."""


def cell_at(row: int, column: int) -> tuple[float, float]:
    """Return the upper left corner of a cell of the number.

    Examples
    --------
    >>> cell_at(1, 0)
    (23.0, 244.0)
    """
    if not (0 <= row < ROWS and 0 <= column < COLUMNS):
        raise ValueError(f"there is no cell in row {row}, column {column}")
    return CELLS_AT[0] + column * CELL_STEP_MM, CELLS_AT[1] + row * (CELL_STEP_MM + 2.0)
