"""The kite of the Larkwater Kite Day: four colors, a sun where the spars cross, a ribbon of bows."""

from __future__ import annotations

import numpy as np
import shapely

from pen import Drawing, Points, arc, blob, disc, moved, spline, stroke, turned

NAVY, RED, GOLD, TEAL = 1, 2, 3, 4
_TOP, _RIGHT, _BOTTOM, _LEFT = (640, 62), (1072, 486), (560, 1010), (246, 392)
_CROSS = (621.0, 446.0)
_BOW = 0.8
_END = shapely.Polygon([(322, 1490), (356, 1500), (330, 1578), (300, 1552), (262, 1564)])


def _sail() -> tuple[Points, list[shapely.Geometry]]:
    """Return the outline of the sail, its sides blown a little inward, and its four panels."""
    sides = []
    corners = [_TOP, _RIGHT, _BOTTOM, _LEFT]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        middle = (np.add(a, b) / 2) * 0.94 + np.array(_CROSS) * 0.06
        sides.append(spline([a, middle, b]))
    panels = [shapely.Polygon(np.vstack([side, [_CROSS]])) for side in sides]
    return np.vstack([side[:-1] for side in sides]), panels


def _sun() -> list[tuple[int, shapely.Geometry]]:
    """Return rays and the face of the sun."""
    marks: list[tuple[int, shapely.Geometry]] = []
    for i in range(12):
        reach = 206 if i % 2 == 0 else 172
        at = np.radians(30 * i + 15)
        tip = np.array(_CROSS) + reach * np.array([np.cos(at), np.sin(at)])
        foot = arc(_CROSS, 116, 30 * i + 15 - 10.5, 30 * i + 15 + 10.5, n=12)
        marks.append((GOLD, shapely.Polygon(np.vstack([foot, [tip]]))))
    marks += [(NAVY, disc(_CROSS, 122)), (GOLD, disc(_CROSS, 98))]
    x, y = _CROSS
    for side in (-1, 1):
        marks.append((NAVY, stroke(arc((x + side * 38, y - 10), 19, 200, 340, n=24), 8, 13, 8)))
        marks.append((RED, disc((x + side * 60, y + 22), 15)))
    marks.append((NAVY, stroke(arc((x, y + 8), 42, 22, 158, n=40), 8, 15, 8)))
    return marks


def _bow(center: Points, turn_deg: float, color: int) -> list[tuple[int, shapely.Geometry]]:
    """Return a bow tied across the ribbon: two loops, two ends, creases and a knot."""
    loop = [(14, 0), (62, -50), (120, -58), (134, 0), (118, 52), (60, 44)]
    end = [(8, 14), (66, 74), (96, 132), (56, 118), (40, 132), (16, 62)]
    marks: list[tuple[int, shapely.Geometry]] = []
    for mirror in (-1, 1):
        for points in (end, loop):
            shape = shapely.Polygon(np.array(points) * [mirror, 1]) if points is end else None
            shape = shape or blob([(mirror * px, py) for px, py in points])
            marks += [(NAVY, shape.buffer(15)), (color, shape)]
        crease = spline([(mirror * 26, -4), (mirror * 62, -12), (mirror * 96, -6)])
        marks.append((NAVY, stroke(crease, 14, 11, 6)))
    marks.append((NAVY, disc((0, 2), 33)))
    small = [(tone, shapely.affinity.scale(shape, _BOW, _BOW, origin=(0, 0))) for tone, shape in marks]
    return [(tone, moved(turned(shape, turn_deg, (0, 0)), center)) for tone, shape in small]


def draw() -> Drawing:
    """Return the drawing."""
    drawing = Drawing((1200, 1600), ["#ffffff", "#1b2a49", "#d8392b", "#f5b82e", "#1e8a8a"])
    outline, panels = _sail()
    ribbon = spline(
        [
            _BOTTOM,
            (512, 1098),
            (598, 1186),
            (770, 1206),
            (914, 1270),
            (894, 1386),
            (730, 1410),
            (548, 1376),
            (390, 1420),
            (318, 1520),
        ]
    )
    drawing.add(NAVY, stroke(ribbon, 30, 30, 28))
    for panel, color in zip(panels, (RED, TEAL, RED, TEAL), strict=True):
        drawing.add(color, panel)
    drawing.add(GOLD, *(_band(panel) for panel in panels))
    for a, b in ((_TOP, _BOTTOM), (_LEFT, _RIGHT)):
        drawing.add(NAVY, stroke(np.array([a, _CROSS, b], float), 18))
    drawing.add(NAVY, stroke(np.vstack([outline, outline[:1]]), 30))
    drawing.add(NAVY, *(disc(corner, 27) for corner in (_TOP, _RIGHT, _BOTTOM, _LEFT)))
    for color, shape in _sun():
        drawing.add(color, shape)
    for share, turn, color in ((0.222, 28, GOLD), (0.50, 62, TEAL), (0.772, 8, RED)):
        at = ribbon[round(share * (len(ribbon) - 1))]
        for tone, shape in _bow(at, turn, color):
            drawing.add(tone, shape)
    drawing.add(NAVY, _END.buffer(14))
    drawing.add(GOLD, _END)
    return drawing


def _band(panel: shapely.Polygon) -> shapely.Geometry:
    """Return a stripe that runs along a panel's outer side."""
    outer, inner = (shapely.affinity.scale(panel, share, share, origin=_CROSS) for share in (0.84, 0.72))
    return outer.difference(inner)
