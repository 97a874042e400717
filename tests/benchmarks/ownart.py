"""Artworks of what open ones lack, drawn by seed with exact truth: lettering, hand-drawn lines, thin rays.

All lengths are in pixels of the variant `paper` at 900 px, so that an artwork's box fills its page at one
pixel a unit. Truth comes from the SVG as for open artworks (svgtruth.py).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from glyphs import line_width, set_line

from openart import OpenArt
from svgtruth import as_multi, visible_areas

SIZE = 792.0
"""Side of every artwork: 900 px without the margins of `paper`."""

INKS = ("#c81e28", "#1e5fd0", "#f7c923", "#14213d", "#2a7f62", "#e8792b", "#7a3b8f", "#5b3a29", "#63b5e5")
"""No two nearer than dE00 14, none near white or the grey paper."""

WORDS = (
    "LARKWATER",
    "Kite Day",
    "Larkwater Kite Day",
    "Bird Hide",
    "HERON",
    "Night Walkers",
    "Red Bows",
    "Teal Bows",
    "Hesper Reedwell",
    "Mirabel Oakhollow",
    "Tobin Fennimarsh",
    "Ysolde Brackwater",
    "Corin Lanternby",
    "Philippa Wickstone",
    "No 27 & 48",
    "LANTERNS AT DUSK",
)
CAP_HEIGHTS = (60.0, 44.0, 32.0, 24.0, 17.0, 12.0)
"""Of the lines of one artwork, the largest first."""


def art_of(name: str, body: str) -> OpenArt:
    """Return an artwork with the truth of its body, colors by falling area."""
    box = (0.0, 0.0, SIZE, SIZE)
    seen = visible_areas(body, box)
    colors = sorted(seen, key=lambda color: (-seen[color].area, color))
    return OpenArt(name, body, box, tuple(colors), tuple(as_multi(seen[color]) for color in colors))


def lettering(seed: int, number: int) -> OpenArt:
    """Lines of words from 60 to 12 px of cap height in one to three colors, on a plate or on paper."""
    random = np.random.default_rng((seed, 1, number))
    plate = number % 3
    inks = list(random.permutation(INKS)[: 2 + number % 3])
    body = []
    if plate == 1:
        body.append(f'<rect x="0" y="76" width="{SIZE}" height="640" rx="70" fill="{inks.pop()}"/>')
    elif plate == 2:
        body.append(f'<ellipse cx="396" cy="396" rx="396" ry="330" fill="{inks.pop()}"/>')
    font = ("Lato-Bold", "Lato-Regular")[number % 2]
    heights = np.sort(random.choice(CAP_HEIGHTS, 5, replace=False))[::-1]
    at = 396.0 - (heights.sum() * 2.0) / 2 + heights[0]
    for line, height in enumerate(heights):
        room = SIZE - (120.0 if plate == 1 else 90.0 + 1.3 * abs(at - 396.0) if plate == 2 else 10.0)
        fitting = [word for word in WORDS if line_width(word, font, height) <= room]
        word = str(random.choice(fitting or WORDS[3:5]))
        left = 396.0 - line_width(word, font, height) / 2
        body.append(f'<path d="{set_line(word, font, height, (left, at))}" fill="{inks[line % len(inks)]}"/>')
        at += height * 2.0
    return art_of(f"lettering/{seed}-{number}", "".join(body))


def hand_drawn(seed: int, number: int) -> OpenArt:
    """Blobs with a wobbling outline and strokes of 2 to 10 px over them, in two to five colors."""
    random = np.random.default_rng((seed, 2, number))
    inks = list(random.permutation(INKS)[: 2 + number % 4])
    shapes = [_blob(random) for _ in range(random.integers(2, 6))]
    shapes += [_stroke(random, *sorted(random.uniform(2.0, 10.0, 2))) for _ in range(random.integers(5, 12))]
    colors = [*inks, *random.choice(inks, len(shapes))][: len(shapes)]
    body = "".join(_drawn(shape, color) for shape, color in zip(shapes, colors, strict=True))
    return art_of(f"hand-drawn/{seed}-{number}", body)


def rays(seed: int, number: int) -> OpenArt:
    """A disc with 24 to 48 rays, 1.5 to 4 px wide at the foot, tapering to a point; half on plates."""
    random = np.random.default_rng((seed, 3, number))
    inks = list(random.permutation(INKS)[:3])
    count, width = int(random.integers(24, 49)), float(random.uniform(1.5, 4.0))
    radius, gap = float(random.uniform(90.0, 150.0)), float(random.choice((0.0, 12.0)))
    reach = float(random.uniform(300.0, 385.0))
    body = []
    if number % 2:
        body.append(f'<circle cx="396" cy="396" r="396" fill="{inks.pop()}"/>')
    angles = np.arange(count) * 2 * np.pi / count + random.uniform(0, 1)
    for place, angle in enumerate(angles):
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        foot = 396.0 + along * ((radius - 2.0) if gap == 0.0 else radius + gap)
        points = [
            foot + across * width / 2,
            396.0 + along * reach * (1.0, 0.8)[place % 2],
            foot - across * width / 2,
        ]
        body.append(_drawn(shapely.Polygon(points), inks[place % 2 if number % 4 > 1 else 0]))
    body.append(f'<circle cx="396" cy="396" r="{radius}" fill="{inks[number % 3 % 2]}"/>')
    return art_of(f"rays/{seed}-{number}", "".join(body))


def _blob(random: np.random.Generator) -> shapely.Geometry:
    angle = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    radius = np.ones(360)
    for wave in range(2, 14):
        radius += random.normal(0, 0.14 / wave) * np.cos(wave * angle + random.uniform(0, 2 * np.pi))
    radius *= random.uniform(60.0, 190.0)
    middle = random.uniform(200.0, SIZE - 200.0, 2)
    return shapely.Polygon(
        middle + radius[:, None] * np.stack((np.cos(angle), np.sin(angle)), axis=1)
    ).buffer(0)


def _stroke(random: np.random.Generator, thin: float, thick: float) -> shapely.Geometry:
    """Return a line as a hand draws it: it bends, trembles, and its width swells between two values."""
    steps = np.linspace(0.0, 1.0, 160)
    points = np.linspace(*random.uniform(20.0, SIZE - 20.0, (2, 2)), 160)
    for wave in range(1, 9):
        points += random.normal(0, 60.0 / wave**2, 2) * np.sin(np.pi * wave * steps)[:, None]
    points += random.normal(0, 0.25, points.shape)
    points = np.clip(points, 12.0, SIZE - 12.0)
    swell = (1 + np.cos(2 * np.pi * (random.uniform(1, 3) * steps + random.uniform()))) / 2
    width = thin + (thick - thin) * swell
    discs = shapely.buffer(shapely.points(points), width / 2, quad_segs=12)
    return shapely.union_all(shapely.convex_hull([shapely.union(*pair) for pair in pairwise(discs)]))


def _drawn(shape: shapely.Geometry, color: str) -> str:
    rings = shapely.get_rings(shapely.get_parts(shape))
    data = "".join("M" + " ".join(f"{x:.4f},{y:.4f}" for x, y in ring.coords) + "Z" for ring in rings)
    return f'<path d="{data}" fill="{color}" fill-rule="evenodd"/>'
