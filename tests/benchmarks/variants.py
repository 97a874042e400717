"""How pictures of a known artwork come: cut out, on paper, compressed, photographed, tiny."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from openart import OpenArt, drawn, placed
from reliefsmith.colorimetry import ciede2000, srgb_to_lab

MARGIN, ALPHA_MARGIN = 0.06, 0.03
PAPERS = ("#ffffff", "#b8b8b8")
"""White, and grey for artworks with a white of their own."""
RESAVED_CUT = (3, 5)
"""Pixels cut off at the left and the top: JPEG's blocks are 8 x 8, in chroma 16 x 16."""


@dataclass(frozen=True)
class Variant:
    """A way pictures come, and what must be reached (medians; share of right counts).

    `save` gives the file, the affine from the art to its pixels, and the true colors where they are not the
    artwork's; None where the artwork is left out. `draw` makes an artwork from a seed and a number, where the
    pictures are not open art.
    """

    name: str
    longest: int
    right: float
    mean_iou: float
    worst_iou: float
    error_px: float
    color_limit: float
    save: Callable[[OpenArt, Path, int], tuple | None]
    draw: Callable[[int, int], OpenArt] | None = None


def paper_for(art: OpenArt, papers: tuple[str, ...] = PAPERS) -> str | None:
    """Return the first paper that no color of the art is near to, None where there is none."""
    for paper in papers:
        rgb = np.array([int(paper[i : i + 2], 16) for i in (1, 3, 5)], dtype=np.uint8)
        apart = ciede2000(srgb_to_lab(np.array(art.colors, dtype=np.uint8)), srgb_to_lab(rgb[None, :]))
        if apart.min() >= 5.0:
            return paper
    return None


def save_alpha(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple]:
    page, matrix = placed(art, longest, ALPHA_MARGIN)
    drawn(art, page, matrix, None).save(folder / "art.png")
    return folder / "art.png", matrix


def save_paper(
    art: OpenArt, folder: Path, longest: int, name: str = "art.png", **how: int
) -> tuple[Path, tuple] | None:
    paper = paper_for(art)
    if paper is None:
        return None
    page, matrix = placed(art, longest, MARGIN)
    drawn(art, page, matrix, paper).save(folder / name, **how)
    return folder / name, matrix


def save_jpeg(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    return save_paper(art, folder, longest, "art.jpg", quality=60, subsampling=2)


def save_resaved(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    """JPEG that was cut to another block grid and saved again, as pictures come that have been passed on."""
    saved = save_jpeg(art, folder, longest)
    if saved is None:
        return None
    path, matrix = saved
    image = Image.open(path)
    cut = image.crop((*RESAVED_CUT, image.width, image.height))
    cut.save(path, quality=75, subsampling=2)
    return path, (*matrix[:4], matrix[4] - RESAVED_CUT[0], matrix[5] - RESAVED_CUT[1])


def save_photo(art: OpenArt, folder: Path, longest: int) -> tuple[Path, tuple] | None:
    """Photograph on white paper: vignetting, a soft shadow edge, blur, noise, turned 1 to 4 degrees."""
    if paper_for(art, PAPERS[:1]) is None:
        return None
    random = np.random.default_rng(sum(art.name.encode()))
    turn = float(random.uniform(1, 4) * random.choice((-1, 1)))
    page, matrix = placed(art, longest, 0.12, turn)
    picture = np.asarray(drawn(art, page, matrix, "#ffffff"), dtype=np.float32)
    y, x = np.mgrid[0 : page[1], 0 : page[0]].astype(np.float32) / longest - 0.5
    angle = random.uniform(0, 2 * math.pi)
    radius = np.hypot(x - random.uniform(-0.1, 0.1), y - random.uniform(-0.1, 0.1))
    light = 0.93 + 0.10 * (x * math.cos(angle) + y * math.sin(angle))
    light *= 1.0 - 0.45 * radius**2 - 0.35 * radius**4
    edge = (x * math.cos(angle + 1.1) + y * math.sin(angle + 1.1) - random.uniform(-0.2, 0.2)) / 0.05
    light *= 1.0 - 0.10 / (1.0 + np.exp(np.clip(edge, -30, 30)))
    tint = np.array([1.0, 0.985, 0.95], dtype=np.float32)
    for channel in range(3):
        picture[..., channel] = gaussian_filter(picture[..., channel] * light * tint[channel], 1.0)
    picture += random.normal(0, 2.0, picture.shape).astype(np.float32)
    image = Image.fromarray(np.clip(np.rint(picture), 0, 255).astype(np.uint8))
    image.save(folder / "art.jpg", quality=92)
    return folder / "art.jpg", matrix


VARIANTS = (
    Variant("alpha", 1024, 0.95, 0.998, 0.995, 0.06, 3.0, save_alpha),
    Variant("paper", 900, 0.92, 0.998, 0.995, 0.06, 3.0, save_paper),
    Variant("large", 2400, 0.92, 0.998, 0.995, 0.06, 3.0, save_paper),
    Variant("jpeg", 1500, 0.90, 0.996, 0.992, 0.13, 3.0, save_jpeg),
    Variant("resaved", 1500, 0.90, 0.996, 0.992, 0.13, 3.0, save_resaved),
    Variant("photo", 3000, 0.85, 0.99, 0.98, 0.30, 6.0, save_photo),
    Variant("tiny", 200, 0.90, 0.985, 0.97, 0.10, 3.0, save_paper),
)
