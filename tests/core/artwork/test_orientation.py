"""Orientation: a picture stored in any of the eight ways comes upright, in every format that holds the tag.

The eight values are those of TIFF 6.0, section "Orientation" (tag 274), which EXIF 2.3 took over: where row 0
and column 0 of what is stored lie in the picture as seen.
"""

from __future__ import annotations

import io
import itertools
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork import read
from reliefsmith.recipe.sections import ArtworkSettings
from tiers import broad

from .turns import ORIENTATION

CORNERS = {"red": (210, 40, 40), "green": (40, 160, 60), "blue": (30, 60, 190), "black": (10, 10, 10)}
SEEN = [["red", "green"], ["blue", "black"]]

# By the published words, not by turns of the imaging library: the sides at which row 0 and column 0 are seen.
SIDES = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}
FORMATS = {
    "png": {"format": "PNG"},
    "jpeg": {"format": "JPEG", "quality": 95, "subsampling": 0},
    "webp": {"format": "WEBP", "lossless": True},
    "webp-lossy": {"format": "WEBP", "quality": 95},
    "tiff": {"format": "TIFF"},
    "tiff-lzw": {"format": "TIFF", "compression": "tiff_lzw"},
    "tiff-jpeg": {"format": "TIFF", "compression": "jpeg", "quality": 95},
    "heic": {},
}


def stored(upright: np.ndarray, orientation: int) -> Image.Image:
    """Store an upright picture so that its row 0 and column 0 are seen at the given sides."""
    rows, columns = SIDES[orientation]
    if rows in ("left", "right"):
        upright = upright.swapaxes(0, 1)
    if rows in ("bottom", "right"):
        upright = upright[::-1]
    if columns in ("bottom", "right"):
        upright = upright[:, ::-1]
    return Image.fromarray(np.ascontiguousarray(upright))


def scene(width: int, height: int) -> np.ndarray:
    """White, with a box of another color in each corner."""
    rgb = np.full((height, width, 3), 255, np.uint8)
    for row, line in enumerate(SEEN):
        for column, name in enumerate(line):
            top, left = row * (height - height // 4), column * (width - width // 4)
            rgb[top : top + height // 4, left : left + width // 4] = CORNERS[name]
    return rgb


def written(picture: Image.Image, kind: str, orientation: int) -> bytes:
    notes = Image.Exif()
    notes[ORIENTATION] = orientation
    file = io.BytesIO()
    if kind == "heic":
        heif = pytest.importorskip("pillow_heif", reason="the extra reliefsmith[heic] is not installed")
        container = heif.from_pillow(picture)
        container.info["exif"] = notes.tobytes()
        container.save(file, quality=95)
    else:
        picture.save(file, exif=notes, **FORMATS[kind])
    return file.getvalue()


def corners(rgb: np.ndarray) -> list[list[str]]:
    height, width = rgb.shape[:2]
    at = [[(y, x) for x in (width // 8, width - width // 8)] for y in (height // 8, height - height // 8)]
    names = list(CORNERS)
    table = np.array(list(CORNERS.values()), float)
    return [[names[int(np.abs(table - rgb[y, x]).sum(axis=1).argmin())] for y, x in line] for line in at]


# Left as it is, reduced, enlarged: the longest side decides, and narrow pictures take a seventh of the work.
SIZES = [(1040, 180), (2405, 241), (220, 120)]
CASES = list(itertools.product(FORMATS, sorted(SIDES), SIZES))


def _in_tier(case: tuple[str, int, tuple[int, int]]) -> bool:
    """Every format in every orientation once, and each of both in every size."""
    kind, orientation, size = case
    return (list(FORMATS).index(kind) + orientation) % len(SIZES) == SIZES.index(size)


@pytest.mark.parametrize(("kind", "orientation", "size"), broad(CASES, _in_tier))
def test_every_format_comes_upright(
    tmp_path: Path, kind: str, orientation: int, size: tuple[int, int]
) -> None:
    path = tmp_path / "turned"
    path.write_bytes(written(stored(scene(*size), orientation), kind, orientation))
    artwork = read(path, ArtworkSettings())
    assert artwork.source_px == size
    height, width = artwork.rgb.shape[:2]
    assert (width > height) is (size[0] > size[1])
    assert abs(width - size[0] * artwork.scale) < 1
    assert abs(height - size[1] * artwork.scale) < 1
    assert corners(artwork.rgb) == SEEN


@pytest.mark.parametrize("orientation", sorted(SIDES))
def test_turned_tiff_of_deep_grey_comes_upright(tmp_path: Path, orientation: int) -> None:
    grey = np.full((720, 1040), 65535, np.uint16)
    grey[:180, :260] = 0
    notes = Image.Exif()
    notes[ORIENTATION] = orientation
    stored(grey, orientation).save(tmp_path / "deep.tif", exif=notes)
    rgb = read(tmp_path / "deep.tif", ArtworkSettings()).rgb
    assert rgb.shape == (720, 1040, 3)
    assert (rgb[:180, :260] == 0).all()
    assert (rgb[:, 260:] == 255).all()
