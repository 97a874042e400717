"""The truth of the wilder pictures is what they show."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from ownart import INKS, SIZE, hand_drawn, lettering, rays
from PIL import Image
from wild import SHADING, save_shaded, save_shadow, save_shadow_alpha

from openart import OpenArt, document, truth_in
from reliefsmith.colorimetry import ciede2000, parse_hex, srgb_to_lab
from tiers import broad

FINE = 4
NEAR_BOUNDARY = 0.2  # units: the renderer without anti-aliasing may err by most of a sample there


@pytest.mark.parametrize("number", broad([0, 1, 2], lambda number: number == 0))
@pytest.mark.parametrize("draw", [lettering, hand_drawn, rays])
def test_polygons_agree_with_a_render_without_antialiasing(draw, number: int) -> None:
    art = draw(5, number)
    text = document(art.body, art.box, (SIZE, SIZE), (1, 0, 0, 1, 0, 0), "#ffffff")
    png = resvg_py.svg_to_bytes(
        svg_string=text, width=int(SIZE * FINE), shape_rendering="crisp_edges", skip_system_fonts=True
    )
    seen = np.asarray(Image.open(BytesIO(bytes(png))).convert("RGB"))
    random = np.random.default_rng(number)
    corners = shapely.get_coordinates(np.array(art.polygons, dtype=object))
    places = random.choice(corners, 4000) + random.normal(0, 3.0, (4000, 2))
    at = np.floor(places * FINE).astype(int)
    at = at[((at >= 0) & (at < SIZE * FINE)).all(axis=1)]
    points = shapely.points((at + 0.5) / FINE)
    rings = shapely.union_all([shapely.boundary(polygon) for polygon in art.polygons])
    shapely.prepare(rings)
    sure = ~shapely.dwithin(rings, points, NEAR_BOUNDARY)
    want = np.full((len(at), 3), 255)
    for color, polygon in zip(art.colors, art.polygons, strict=True):
        shapely.prepare(polygon)
        want[shapely.contains(polygon, points)] = color
    assert sure.sum() > 2000
    assert (seen[at[sure, 1], at[sure, 0]] == want[sure]).all()


def test_inks_can_be_told_from_each_other_and_from_paper() -> None:
    labs = srgb_to_lab(np.array([parse_hex(ink) for ink in (*INKS, "#ffffff", "#b8b8b8")], dtype=np.uint8))
    apart = ciede2000(labs[:, None], labs[None]) + 1000 * np.eye(len(labs))
    assert apart.min() > 15


def art() -> OpenArt:
    """Two areas that touch, far from the edge of a pixel grid by design of the pages."""
    shapes = (shapely.box(0, 0, 60, 100), shapely.box(60, 0, 100, 100))
    body = '<path d="M0,0H60V100H0Z" fill="#c81e28"/><path d="M60,0H100V100H60Z" fill="#1e5fd0"/>'
    polygons = tuple(shapely.MultiPolygon([shape]) for shape in shapes)
    return OpenArt("two", body, (0.0, 0.0, 100.0, 100.0), ((200, 30, 40), (30, 95, 208)), polygons)


def test_a_shadow_leaves_the_art_and_darkens_the_paper(tmp_path: Path) -> None:
    path, matrix = save_shadow(art(), tmp_path, 400)
    seen = np.asarray(Image.open(path)).astype(int)
    for color, polygon in zip(art().colors, truth_in(art(), matrix), strict=True):
        x0, y0, x1, y1 = (int(v) for v in polygon.buffer(-2).bounds)
        assert (seen[y0:y1, x0:x1] == color).all()
    x0, y0, x1, y1 = (int(v) for v in shapely.total_bounds(truth_in(art(), matrix)))
    outside = np.ones(seen.shape[:2], dtype=bool)
    outside[y0 - 1 : y1 + 2, x0 - 1 : x1 + 2] = False
    paper = seen[outside]
    assert (paper.max(axis=1) - paper.min(axis=1) <= 1).all()
    assert 255 * 0.5 < paper.min() < 255 * 0.9
    cut, _ = save_shadow_alpha(art(), tmp_path, 400)
    with Image.open(cut) as image:
        over = Image.new("RGBA", image.size, "#ffffff")
        over.alpha_composite(image)
    assert np.abs(np.asarray(over.convert("RGB")).astype(int) - seen).max() <= 2


def test_shading_keeps_the_mean_and_the_place_of_each_area(tmp_path: Path) -> None:
    path, matrix, colors = save_shaded(art(), tmp_path, 400)
    lab = srgb_to_lab(np.asarray(Image.open(path)))
    for color, polygon in zip(colors, truth_in(art(), matrix), strict=True):
        x0, y0, x1, y1 = (int(v) for v in polygon.buffer(-2).bounds)
        own = lab[y0:y1, x0:x1].reshape(-1, 3)
        assert ciede2000(own.mean(axis=0), srgb_to_lab(np.array(color, dtype=np.uint8))) < 1.0
        reach = np.abs(own[:, 0] - own[:, 0].mean()).max()
        assert SHADING[0] - 1.5 < reach < SHADING[1] + 1.5
        assert np.abs(np.diff(lab[y0:y1, x0:x1, 0], axis=0)).max() < 1.0  # gentle
