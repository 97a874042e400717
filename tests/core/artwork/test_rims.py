"""Rims of sharpening go, and nothing else does: outlines, lines and compressed pictures stay as they are."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter
from scipy import ndimage

from reliefsmith.artwork.rims import without_rims
from reliefsmith.progress import drained
from reliefsmith.recipe import Recipe
from reliefsmith.walk.pipeline import Job, find_areas

OVER = 4
CORAL, TEAL, PLUM = "#e0604a", "#1f7f86", "#4a2048"


def lantern(side: int = 700, outline: str | None = None, width: float = 0.0) -> Image.Image:
    """Draw a coral lantern with a teal band and a plum foot on white, each with an outline if wanted."""
    page = Image.new("RGB", (side * OVER, side * OVER), "white")
    pen = ImageDraw.Draw(page)
    how = {"outline": outline, "width": round(width * OVER)}
    scaled = [[value * side * OVER for value in box] for box in ((0.2, 0.1, 0.8, 0.75), (0.3, 0.3, 0.7, 0.5))]
    pen.ellipse(scaled[0], fill=CORAL, **how)
    pen.rectangle(scaled[1], fill=TEAL, **how)
    pen.polygon(
        [(x * side * OVER, y * side * OVER) for x, y in ((0.4, 0.74), (0.6, 0.74), (0.7, 0.93), (0.3, 0.93))],
        fill=PLUM,
    )
    return page.resize((side, side), Image.Resampling.BOX)


def compressed(image: Image.Image, quality: int) -> Image.Image:
    file = BytesIO()
    image.save(file, "JPEG", quality=quality, subsampling=2)
    return Image.open(file).convert("RGB")


@pytest.mark.parametrize("quality", [0, 40, 60, 85])
@pytest.mark.parametrize("outline", [None, "#7a2418", "#000000"])
@pytest.mark.parametrize("width", [1.5, 3.0, 5.0])
def test_what_was_not_sharpened_stays(quality: int, outline: str | None, width: float) -> None:
    image = lantern(outline=outline, width=width)
    image = compressed(image, quality) if quality else image
    assert without_rims(image) == (image, ())


@pytest.mark.parametrize(("radius", "percent"), [(1.5, 120), (2.0, 150), (3.0, 80)])
def test_rims_go_and_flat_color_is_left_up_to_the_edge(radius: float, percent: int) -> None:
    drawn = lantern()
    found, notes = without_rims(drawn.filter(ImageFilter.UnsharpMask(radius, percent, 0)))
    want, got = np.asarray(drawn).astype(int), np.asarray(found).astype(int)
    sharpened = np.asarray(drawn.filter(ImageFilter.UnsharpMask(radius, percent, 0))).astype(int)
    beside = (ndimage.maximum_filter(want, (3, 3, 1)) == ndimage.minimum_filter(want, (3, 3, 1))).all(axis=2)
    assert [item.code for item in notes] == ["rims-removed"]
    assert (np.abs(sharpened - want).max(axis=2)[beside] > 12).mean() > 0.005
    assert (np.abs(got - want).max(axis=2)[beside] > 12).mean() < 0.0005


@pytest.mark.parametrize("quality", [0, 80])
@pytest.mark.parametrize(("radius", "percent"), [(1.5, 120), (2.5, 120)])
def test_a_sharpened_picture_has_its_own_colors_only(
    tmp_path: Path, radius: float, percent: int, quality: int
) -> None:
    image = lantern().filter(ImageFilter.UnsharpMask(radius, percent, 0))
    path = tmp_path / ("lantern.jpg" if quality else "lantern.png")
    image.save(path, **({"quality": quality} if quality else {}))
    assert len(find_areas(path).colors) == 3
    assert "rims-removed" in {
        item.code for item in drained(Job(path).steps)(Recipe(), "artwork")["artwork"].notes
    }


def test_a_line_of_another_color_survives_beside_rims() -> None:
    drawn = lantern()
    pen = ImageDraw.Draw(drawn)
    for x in range(150, 560, 50):
        pen.line([(x, 60), (x, 640)], fill="#111111", width=2)
    found, _ = without_rims(drawn.filter(ImageFilter.UnsharpMask(2.0, 120, 0)))
    line = (np.asarray(drawn) == 17).all(axis=2)
    assert (np.asarray(found)[line].max(axis=1) < 40).mean() > 0.95


def test_other_modes_and_small_pictures_are_returned_as_they_are() -> None:
    for image in (Image.new("RGBA", (200, 200), "#ff000080"), Image.new("RGB", (20, 400), "white")):
        assert without_rims(image) == (image, ())
