"""The heron in reeds: a two-color ink drawing with thin strokes, enclosed paper, long toes and reed tips."""

from __future__ import annotations

import numpy as np
import shapely

from pen import Drawing, Points, blob, disc, spline, stroke

INK, RUST = 1, 2


def _reeds() -> tuple[list[shapely.Geometry], list[shapely.Geometry]]:
    """Return blades and stems in ink, and the seed heads in rust."""
    ink: list[shapely.Geometry] = []
    rust: list[shapely.Geometry] = []
    for foot, bend, tip in (
        ((250, 1650), (190, 1150), (96, 700)),
        ((272, 1650), (300, 1280), (262, 930)),
        ((1010, 1650), (1066, 1130), (1206, 560)),
        ((1040, 1650), (1130, 1330), (1262, 1080)),
        ((226, 1650), (120, 1420), (60, 1190)),
        ((960, 1650), (950, 1390), (1010, 1150)),
    ):
        ink.append(stroke(spline([foot, bend, tip]), 30, 34, 24, 4))
    for foot, bend, tip in (
        ((310, 1650), (372, 1150), (362, 640)),
        ((985, 1650), (1010, 1220), (1118, 760)),
        ((1060, 1650), (1166, 1240), (1190, 800)),
    ):
        stem = spline([foot, bend, tip])
        ink.append(stroke(stem, 15, 14, 9))
        head = stem[int(len(stem) * 0.72) : int(len(stem) * 0.9)]
        rust.append(stroke(head, 40, 50, 50, 38))
    ink.append(stroke(spline([(282, 1420), (252, 1200), (150, 1120), (40, 1180)]), 20, 22, 16, 4))
    ink.append(stroke(spline([(1064, 1480), (1150, 1200), (1290, 1130), (1360, 1230)]), 20, 22, 16, 4))
    return ink, rust


_NECK = [(654, 800), (690, 700), (704, 610), (650, 530), (566, 470), (536, 390), (564, 326), (588, 312)]


def _head() -> tuple[list[shapely.Geometry], list[shapely.Geometry], list[shapely.Geometry]]:
    """Return the head as paper, ink and rust shapes."""
    skull = blob([(470, 322), (520, 262), (590, 250), (640, 286), (632, 344), (570, 368), (508, 360)])
    bill = shapely.Polygon(
        np.vstack(
            [spline([(500, 300), (360, 330), (196, 374)]), spline([(196, 374), (360, 372), (506, 360)])]
        )
    )
    crown = stroke(spline([(506, 300), (566, 268), (630, 286), (716, 352), (800, 392)]), 10, 30, 26, 4)
    plume = stroke(spline([(616, 290), (700, 330), (764, 410)]), 14, 14, 4)
    eye = disc((540, 308), 13)
    gape = stroke(spline([(206, 373), (360, 352), (520, 336)]), 3, 8, 8)
    return [skull], [skull.buffer(9).difference(skull.buffer(-9)), crown, plume, eye, gape], [bill]


def _body() -> tuple[shapely.Geometry, list[shapely.Geometry], list[shapely.Geometry]]:
    """Return the body's outline, the wing in ink, and the lines of paper between its feathers."""
    body = blob(
        [
            (572, 800),
            (624, 720),
            (706, 704),
            (820, 770),
            (940, 880),
            (1040, 1010),
            (930, 1010),
            (800, 1024),
            (680, 990),
            (586, 910),
        ]
    )
    wing = blob(
        [(676, 800), (760, 790), (860, 850), (960, 950), (1050, 1060), (930, 1010), (800, 972), (700, 910)]
    )
    feathers = [
        spline([(730, 842), (840, 890), (970, 1000)]),
        spline([(716, 880), (820, 930), (930, 1000)]),
        spline([(772, 822), (880, 890), (990, 1000)]),
    ]
    lines = [stroke(line, 6, 16, 8) for line in feathers]
    breast = [
        stroke(spline([(x, y), (x + 14, y + 34), (x + 40, y + 60)]), 4, 13, 4)
        for x, y in ((604, 812), (650, 836), (622, 876), (668, 740), (690, 632))
    ]
    return body, [wing, *breast], lines


def _legs() -> list[shapely.Geometry]:
    """Return two thin legs with knees, and feet with long toes."""
    ink = []
    for hip, knee, foot in (((740, 1010), (716, 1270), (742, 1560)), ((820, 1016), (846, 1240), (812, 1560))):
        ink += [
            stroke(np.array([hip, knee], float), 30, 15),
            stroke(np.array([knee, foot], float), 15, 16),
            disc(knee, 15),
        ]
    for foot, tips in (
        ((742, 1560), ((560, 1626), (640, 1672), (800, 1700))),
        ((812, 1560), ((700, 1640), (930, 1668), (980, 1600))),
    ):
        ink += [
            stroke(
                spline([foot, np.add(np.multiply(foot, 0.45), np.multiply(tip, 0.55)) - [0, 8], tip]),
                16,
                13,
                5,
            )
            for tip in tips
        ]
    return ink


def _water() -> list[shapely.Geometry]:
    """Return ripples that carry reeds and feet."""
    lines: list[Points] = [
        spline([(120, 1654), (300, 1634), (480, 1652), (700, 1640), (920, 1656), (1120, 1636), (1290, 1652)]),
        spline([(250, 1712), (420, 1698), (600, 1714), (800, 1702), (1000, 1716), (1130, 1704)]),
    ]
    return [stroke(lines[0], 6, 20, 22, 20, 6), stroke(lines[1], 4, 16, 18, 16, 4)]


def draw() -> Drawing:
    """Return the drawing."""
    drawing = Drawing((1400, 1800), ["#f2ede1", "#1f2d4d", "#b9522b"])
    reeds, heads = _reeds()
    drawing.add(RUST, disc((812, 560), 330))
    drawing.add(INK, *reeds)
    drawing.add(RUST, *heads)
    drawing.add(INK, *_legs(), *_water())
    neck = spline(_NECK)
    body, wing, lines = _body()
    paper = shapely.union_all([body, stroke(neck, 120, 84, 62, 56, 52, 56)])
    skull, ink, rust = _head()
    drawing.add(INK, paper.buffer(9))
    drawing.add(RUST, *rust)
    drawing.add(0, paper.buffer(-9), *skull)
    drawing.add(INK, *ink, *wing)
    drawing.add(0, *lines)
    return drawing
