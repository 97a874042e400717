"""The lantern badge: a paper lantern at night in three colors, with an opening at the top to hang it by."""

from __future__ import annotations

import numpy as np
import shapely

from pen import Drawing, arc, disc, ellipse, stroke

PLUM, ORANGE, YELLOW = 1, 2, 3
_CENTER = (700.0, 880.0)
_LAMP = (700.0, 900.0)
_HOOP = np.linspace(np.pi, 0, 48)  # half an ellipse, seen from a little above


def _star(center: tuple[float, float], radius: float, points: int = 4) -> shapely.Polygon:
    """Return a star with slim points."""
    angles = np.arange(2 * points) * np.pi / points - np.pi / 2
    reach = np.where(np.arange(2 * points) % 2 == 0, radius, radius * 0.36)
    return shapely.Polygon(
        np.column_stack([center[0] + reach * np.cos(angles), center[1] + reach * np.sin(angles)])
    )


def _frame() -> list[tuple[int, shapely.Geometry]]:
    """Return the scalloped rim and the loop with its opening."""
    rim = [disc(_CENTER, 600)]
    rim += [disc(arc(_CENTER, 596, a, a, n=1)[0], 54) for a in np.arange(0, 360, 10.0)]
    loop = disc((700, 200), 158)
    yoke = shapely.Polygon([(546, 230), (854, 230), (930, 360), (470, 360)])
    body = shapely.union_all([*rim, loop, yoke.buffer(10)])
    body = body.buffer(40).buffer(-40).buffer(-12).buffer(12)  # fillets where the loop meets the rim
    beads = [disc(arc(_CENTER, 576, a, a, n=1)[0], 21) for a in np.arange(0, 360, 10.0) if a != 270]
    ring = disc(_CENTER, 528).difference(disc(_CENTER, 500))
    opening = disc((700, 190), 84)
    return [(PLUM, body), (YELLOW, shapely.union_all(beads)), (ORANGE, ring), (0, opening)]


def _lamp() -> list[tuple[int, shapely.Geometry]]:
    """Return the paper lantern: shell, ribs, light, caps and tassel."""
    x, y = _LAMP
    shell = ellipse(_LAMP, 330, 262)
    marks: list[tuple[int, shapely.Geometry]] = [(ORANGE, shell)]
    marks.append((YELLOW, ellipse((x, y), 218, 258)))
    marks.append((ORANGE, ellipse((x, y), 104, 262)))
    for rx in (330, 218, 104):
        edge = np.asarray(ellipse(_LAMP, rx, 262).exterior.coords)
        marks.append((PLUM, stroke(edge, 16)))
    for rise in (-150, 0, 150):
        half = 334 * np.sqrt(1 - (rise / 264) ** 2)
        hoop = np.column_stack([x + half * np.cos(_HOOP), y + rise + 28 * np.sin(_HOOP)])
        marks.append((PLUM, stroke(hoop, 16).intersection(shell.buffer(4))))
    marks += _caps(x, y)
    return marks


def _caps(x: float, y: float) -> list[tuple[int, shapely.Geometry]]:
    """Return the caps above and below, the cord and the tassel."""
    marks: list[tuple[int, shapely.Geometry]] = []
    for side in (-1, 1):
        cap = shapely.box(x - 128, y + side * 262 - 27, x + 128, y + side * 262 + 27).buffer(16)
        marks += [(PLUM, cap.buffer(14)), (YELLOW, cap)]
        slots = [
            shapely.box(x + dx - 9, y + side * 262 - 24, x + dx + 9, y + side * 262 + 24)
            for dx in (-84, -28, 28, 84)
        ]
        marks.append((ORANGE, shapely.union_all(slots).buffer(5)))
    marks.append((YELLOW, stroke(np.array([(x, y - 300), (x, y - 402)]), 20)))
    marks.append((YELLOW, disc((x, y + 338), 28)))
    tassel = shapely.Polygon([(x - 24, y + 352), (x + 24, y + 352), (x + 50, y + 446), (x - 50, y + 446)])
    marks.append((YELLOW, tassel.buffer(6)))
    marks += [(PLUM, stroke(np.array([(x + d * 8, y + 386), (x + d * 20, y + 456)]), 13)) for d in (-1, 1)]
    return marks


def draw() -> Drawing:
    """Return the drawing."""
    drawing = Drawing((1400, 1600), ["#f4f1e8", "#43204d", "#ee7b22", "#ffd34d"])
    for color, shape in (*_frame(), *_lamp()):
        drawing.add(color, shape)
    moon = disc((396, 640), 74).difference(disc((431, 618), 64))
    drawing.add(YELLOW, moon.buffer(-6).buffer(6))
    drawing.add(YELLOW, _star((982, 620), 58), _star((900, 512), 36), _star((520, 520), 40))
    drawing.add(ORANGE, _star((1010, 1188), 46), _star((390, 1188), 46))
    drawing.add(YELLOW, _star((906, 1262), 34), _star((494, 1262), 34))
    return drawing
