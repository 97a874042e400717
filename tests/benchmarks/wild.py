"""Wilder ways pictures come, with the truth of the flat art: shadows, shading, strong light; own artworks.

The truth stays that of the artwork: a drop shadow adds no color, shading leaves each area one color, whose
truth is then the mean of what is shown.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import numpy as np
import shapely
from ownart import hand_drawn, lettering, rays
from PIL import Image
from scipy.ndimage import gaussian_filter, shift
from skimage.color import lab2rgb
from variants import MARGIN, PAPERS, Variant, paper_for, save_alpha, save_paper

from openart import OpenArt, drawn, placed, truth_in
from reliefsmith.colorimetry import ciede2000, parse_hex, srgb_to_lab

SHADOW_MARGIN, LIGHT_MARGIN = 0.10, 0.12
SHADOW_OPACITY, SHADOW_BLUR, SHADOW_OFFSET = (0.25, 0.45), (0.005, 0.02), (0.01, 0.03)
"""Ranges of a drop shadow: of black, and in shares of the longest side."""
SHADING = (6.0, 10.0)
"""L* by which the middle of a shaded area lies from its lightest and its darkest place."""
GENTLE_PX = 60.0
"""A smaller part has less of a range."""
SHADOW_EDGE = 0.012
"""Width of a cast shadow's edge in the photograph, in halves of its diagonal."""
SHADED_APART = 20.0
"""Colors nearer than that (CIEDE2000) are left out of shading: their ranges would meet."""


def save_shadow(
    art: OpenArt, folder: Path, longest: int, name: str = "art.png", **how: int
) -> tuple[Path, tuple] | None:
    """A soft drop shadow under the art, on paper."""
    paper = paper_for(art)
    if paper is None:
        return None
    rgb, alpha, shadow, matrix = _with_shadow(art, longest)
    ground = np.array(parse_hex(paper)) * (1.0 - shadow[..., None])
    picture = rgb * alpha[..., None] + ground * (1.0 - alpha[..., None])
    Image.fromarray(np.rint(picture).astype(np.uint8)).save(folder / name, **how)
    return folder / name, matrix


def save_shadow_alpha(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple]:
    """The same in a cut-out picture, whose shadow is half-transparent black."""
    rgb, alpha, shadow, matrix = _with_shadow(art, longest)
    opacity = alpha + shadow * (1.0 - alpha)
    color = rgb * (alpha / np.maximum(opacity, 1e-6))[..., None]
    picture = np.concatenate((color, 255.0 * opacity[..., None]), axis=2)
    Image.fromarray(np.rint(picture).astype(np.uint8)).save(folder / "art.png")
    return folder / "art.png", matrix


def _with_shadow(art: OpenArt, longest: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple]:
    """Return color, opacity and shadow of the art on its page, and the page's affine."""
    random = np.random.default_rng(sum(art.name.encode()))
    page, matrix = placed(art, longest, SHADOW_MARGIN)
    seen = np.asarray(drawn(art, page, matrix, None), dtype=np.float64)
    alpha = seen[..., 3] / 255.0
    offset = random.uniform(*SHADOW_OFFSET, 2) * longest * (1.0, random.choice((-1.0, 1.0)))
    blurred = gaussian_filter(shift(alpha, offset, order=1), random.uniform(*SHADOW_BLUR) * longest)
    return seen[..., :3], alpha, random.uniform(*SHADOW_OPACITY) * blurred, matrix


def save_shaded(
    art: OpenArt, folder: Path, longest: int, name: str = "art.png", **how: int
) -> tuple[Path, tuple, tuple] | None:
    """Every area with a gentle gradient of its own, linear or round, as shaded clip art has; on paper.

    The third value is the true colors: of each the mean of what is shown.
    """
    random = np.random.default_rng(sum(art.name.encode()))
    labs, ranges = (
        srgb_to_lab(np.array(art.colors, dtype=np.uint8)),
        random.uniform(*SHADING, len(art.colors)),
    )
    labs[:, 0] = np.clip(labs[:, 0], 4.0 + ranges, 97.0 - ranges)
    papers = [
        paper
        for paper in PAPERS
        if _least_gap(np.vstack((labs, srgb_to_lab(parse_hex(paper))))) > SHADED_APART
    ]
    if not papers:
        return None
    page, matrix = placed(art, longest, MARGIN)
    picture, left, colors = np.zeros((page[1], page[0], 3)), np.ones((page[1], page[0])), []
    for lab, reach, polygon in zip(labs, ranges, truth_in(art, matrix), strict=True):
        covered = _coverage(polygon, page)
        field = np.zeros_like(covered)
        for part in shapely.get_parts(polygon):
            _shade(part, field, covered, random)
        shown = np.broadcast_to(lab, (*field.shape, 3)).copy()
        shown[..., 0] += reach * field
        shown = 255.0 * lab2rgb(shown)
        colors.append(
            tuple(np.rint((shown * covered[..., None]).sum(axis=(0, 1)) / covered.sum()).astype(int))
        )
        picture += covered[..., None] * shown
        left -= covered
    picture += np.maximum(left, 0.0)[..., None] * parse_hex(papers[0])
    Image.fromarray(np.rint(np.clip(picture, 0, 255)).astype(np.uint8)).save(folder / name, **how)
    return folder / name, matrix, tuple(colors)


def _least_gap(labs: np.ndarray) -> float:
    return float((ciede2000(labs[:, None], labs[None]) + 1000 * np.eye(len(labs))).min())


def _shade(
    part: shapely.Polygon, field: np.ndarray, covered: np.ndarray, random: np.random.Generator
) -> None:
    """Write a gradient of mean 0 between -1 and 1 over a part; over small parts less: it stays gentle."""
    x0, y0, x1, y1 = part.bounds
    rows = slice(max(int(y0) - 2, 0), int(y1) + 3)
    columns = slice(max(int(x0) - 2, 0), int(x1) + 3)
    y, x = (
        np.mgrid[rows, columns][:, : covered[rows, columns].shape[0], : covered[rows, columns].shape[1]] + 0.5
    )
    if random.random() < 0.5:
        angle = random.uniform(0, 2 * np.pi)
        slope = x * np.cos(angle) + y * np.sin(angle)
    else:
        slope = np.hypot(x - random.uniform(x0, x1), y - random.uniform(y0, y1))
    weight = covered[rows, columns]
    slope = slope - np.average(slope, weights=weight + 1e-9)
    slope /= max(float(np.abs(slope[weight > 0.5]).max(initial=0.0)), GENTLE_PX / 2)
    field[rows, columns] = np.clip(slope, -1.0, 1.0)


def _coverage(shape: shapely.Geometry, page: tuple[int, int]) -> np.ndarray:
    """Return the share of each pixel that a shape covers, as the renderer has it."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    data = "".join("M" + " ".join(f"{x:.4f},{y:.4f}" for x, y in ring.coords) + "Z" for ring in rings)
    whole = OpenArt("", f'<path d="{data}" fill-rule="evenodd"/>', (0.0, 0.0, *map(float, page)), (), ())
    return np.asarray(drawn(whole, page, (1, 0, 0, 1, 0, 0), None))[..., 3] / 255.0


def save_light(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    """Photograph in worse light than `photo`: half of it lost in the corners, a hard shadow's edge, grain."""
    if paper_for(art, PAPERS[:1]) is None:
        return None
    random = np.random.default_rng(sum(art.name.encode()))
    turn = float(random.uniform(2, 4) * random.choice((-1, 1)))
    page, matrix = placed(art, longest, LIGHT_MARGIN, turn)
    picture = np.asarray(drawn(art, page, matrix, "#ffffff"), dtype=np.float32)
    y, x = np.mgrid[0 : page[1], 0 : page[0]].astype(np.float32) + 0.5
    x, y = (x - page[0] / 2) / np.hypot(*page) * 2, (y - page[1] / 2) / np.hypot(*page) * 2
    light = 0.95 * (1.0 - 0.5 * (x * x + y * y) ** 2)
    angle = random.uniform(0, 2 * np.pi)
    edge = (x * np.cos(angle) + y * np.sin(angle) - random.uniform(-0.3, 0.3)) / SHADOW_EDGE
    light *= 1.0 - random.uniform(0.12, 0.25) / (1.0 + np.exp(np.clip(edge, -30, 30)))
    blur = random.uniform(1.0, 1.5)
    for channel, tint in enumerate((1.0, 0.98, 0.93)):
        picture[..., channel] = gaussian_filter(picture[..., channel] * light * np.float32(tint), blur)
    picture += gaussian_filter(random.normal(0, 6.0, picture.shape), (0.7, 0.7, 0)).astype(np.float32)
    Image.fromarray(np.clip(np.rint(picture), 0, 255).astype(np.uint8)).save(folder / "art.jpg", quality=85)
    return folder / "art.jpg", matrix


_JPEG = {"name": "art.jpg", "quality": 80, "subsampling": 2}
_FLAT = (0.90, 0.99, 0.98, 0.15)
"""What must be reached: share of right counts, mean IoU, worst color's, boundary in pixels."""
_SHADED = (0.85, 0.98, 0.95, 0.30)

WILD = (
    Variant("shadow", 900, *_FLAT, 3.0, save_shadow),
    Variant("shadow-alpha", 1024, *_FLAT, 3.0, save_shadow_alpha),
    Variant("shadow-jpeg", 1200, *_FLAT, 3.0, partial(save_shadow, **_JPEG)),
    Variant("shaded", 900, *_SHADED, 6.0, save_shaded),
    Variant("shaded-jpeg", 1200, *_SHADED, 6.0, partial(save_shaded, **_JPEG)),
    Variant("light", 3000, *_SHADED, 6.0, save_light),
    *(
        variant
        for kind, draw in (("lettering", lettering), ("hand-drawn", hand_drawn), ("rays", rays))
        for variant in (
            Variant(kind, 900, *_FLAT, 3.0, save_paper, draw),
            Variant(f"{kind}-alpha", 1024, *_FLAT, 3.0, save_alpha, draw),
            Variant(f"{kind}-jpeg", 900, *_FLAT, 3.0, partial(save_paper, **_JPEG), draw),
        )
    ),
)
