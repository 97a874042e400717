"""How pictures come that were passed on: small and compressed, a small one blown up again, sharpened."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PIL import Image, ImageFilter
from variants import Variant, save_paper

from openart import OpenArt


def save_blown(
    art: OpenArt, folder: Path, longest: int, *, times: int, how: Image.Resampling, **saved: int
) -> tuple[Path, tuple] | None:
    """A small picture that an app enlarged, with smoothing or without."""
    small = save_paper(art, folder, longest // times)
    if small is None:
        return None
    path, matrix = small
    image = Image.open(path)
    large = image.resize((image.width * times, image.height * times), how)
    path = folder / ("large.jpg" if saved else "large.png")
    large.save(path, **saved)
    return path, tuple(value * times for value in matrix)


def save_sharpened(
    art: OpenArt, folder: Path, longest: int, *, radius: float, percent: int, **saved: int
) -> tuple[Path, tuple] | None:
    """A picture that an app or a scanner sharpened."""
    drawn = save_paper(art, folder, longest)
    if drawn is None:
        return None
    path, matrix = drawn
    sharp = Image.open(path).convert("RGB").filter(ImageFilter.UnsharpMask(radius, percent, 0))
    path = folder / ("sharp.jpg" if saved else "sharp.png")
    sharp.save(path, **saved)
    return path, matrix


def _saved(name: str, quality: int) -> partial:
    return partial(
        save_paper, name=name, quality=quality, **({"subsampling": 2} if name.endswith("jpg") else {})
    )


_SMALL = (0.90, 0.98, 0.96, 0.20)
"""What must be reached: share of right counts, mean IoU, worst color's, boundary in pixels."""
_SHARP = (0.90, 0.99, 0.98, 0.35)
"""The same where sharpening has changed how edge pixels mix."""
_BLOWN = (0.90, 0.985, 0.97, 0.30)
"""The same where a pixel of the small picture is three."""

PASSED_ON = (
    Variant("thumbnail-jpeg", 200, *_SMALL, 3.0, _saved("art.jpg", 80)),
    Variant("chat-jpeg", 300, *_SMALL, 3.0, _saved("art.jpg", 50)),
    Variant("small-jpeg", 400, *_SMALL, 3.0, _saved("art.jpg", 75)),
    Variant("small-webp", 300, *_SMALL, 3.0, _saved("art.webp", 60)),
    Variant("blocks", 900, *_BLOWN, 3.0, partial(save_blown, times=3, how=Image.Resampling.NEAREST)),
    Variant("blown", 900, *_BLOWN, 3.0, partial(save_blown, times=3, how=Image.Resampling.BICUBIC)),
    Variant(
        "blown-jpeg",
        900,
        *_BLOWN,
        3.0,
        partial(save_blown, times=3, how=Image.Resampling.BILINEAR, quality=80, subsampling=2),
    ),
    Variant("sharpened", 900, *_SHARP, 3.0, partial(save_sharpened, radius=2.0, percent=150)),
    Variant(
        "sharpened-jpeg",
        1500,
        *_SHARP,
        3.0,
        partial(save_sharpened, radius=2.0, percent=120, quality=80, subsampling=2),
    ),
)
