"""Fringe of a color made transparent: freed to a clean cut-out; clean cut-outs stay to the byte."""

from __future__ import annotations

import io
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork import read
from reliefsmith.artwork.fringe import without_fringe
from reliefsmith.color import separate
from reliefsmith.recipe.sections import ArtworkSettings, BackgroundSettings, ColorSettings
from tiers import broad

PAINTS = ((200, 30, 40), (20, 60, 160), (30, 140, 70))
SMALL, LARGE = (300, 200), (1500, 1000)
FINE = 4  # times as fine as the picture; each pixel is a mean of so many each way


def shapes(size: tuple[int, int], outline: tuple[int, int, int] | None = None, width: int = 0) -> Image.Image:
    """A kite, a disc and a pennant, drawn fine, on clear ground."""
    scale = size[0] * FINE / 300
    image = Image.new("RGBA", (size[0] * FINE, size[1] * FINE))
    draw = ImageDraw.Draw(image)
    edge = {"outline": outline, "width": width * FINE} if outline else {}
    for paint, corners in zip(
        (PAINTS[0], PAINTS[2]),
        ([(150, 15), (260, 90), (150, 185), (40, 90)], [(230, 20), (285, 30), (260, 70)]),
        strict=True,
    ):
        draw.polygon([(x * scale, y * scale) for x, y in corners], fill=paint, **edge)
    draw.ellipse([20 * scale, 20 * scale, 80 * scale, 80 * scale], fill=PAINTS[1], **edge)
    return image


def on_ground(size: tuple[int, int], ground: tuple[int, int, int], **options: object) -> Image.Image:
    fine = shapes(size, **options)
    flat = Image.new("RGB", fine.size, ground)
    flat.paste(fine.convert("RGB"), (0, 0), fine.getchannel("A"))
    return flat.resize(size, Image.Resampling.BOX)


def keyed(picture: Image.Image, ground: tuple[int, int, int], tolerance: int = 0) -> Image.Image:
    """Make a color transparent as simple apps do: by its exact value, or all within a tolerance."""
    rgb = np.asarray(picture)
    clear = np.abs(rgb.astype(int) - ground).max(axis=2) <= tolerance
    return Image.fromarray(np.dstack([rgb, np.where(clear, 0, 255).astype(np.uint8)]))


def compressed(picture: Image.Image, quality: int) -> Image.Image:
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=quality)
    return Image.open(file).convert("RGB")


GROUNDS = [(255, 255, 255), (0, 0, 0), (0, 200, 80), (255, 0, 255), (240, 235, 220)]


@pytest.mark.parametrize("under", [True, False], ids=["color-kept", "color-lost"])
@pytest.mark.parametrize("tolerance", [0, 12, 30])
@pytest.mark.parametrize("ground", GROUNDS)
def test_edges_become_those_of_a_clean_cut_out(
    ground: tuple[int, int, int], tolerance: int, under: bool
) -> None:
    picture = keyed(on_ground(SMALL, ground), ground, tolerance)
    if not under:
        pixels = np.array(picture)
        pixels[pixels[..., 3] == 0] = 0
        picture = Image.fromarray(pixels)
    freed, notes = without_fringe(picture)
    assert [one.code for one in notes] == ["fringe-removed"]
    clean = np.asarray(shapes(SMALL).reduce(FINE)).astype(int)
    got = np.asarray(freed).astype(int)
    missed = np.abs(got[..., 3] - clean[..., 3])
    assert np.mean(missed[clean[..., 3] > 0]) < (2 if tolerance < 30 else 4)
    edge = (got[..., 3] > 0) & (clean[..., 3] < 255)
    gaps = np.abs(got[edge][:, None, :3] - np.array(PAINTS)).max(axis=2).min(axis=1)
    assert np.mean(gaps <= 6) > 0.95


@pytest.mark.parametrize("quality", [90, 80])
def test_fringe_of_a_compressed_picture_is_found(quality: int) -> None:
    white = (255, 255, 255)
    picture = keyed(compressed(on_ground(SMALL, white), quality), white, 20)
    freed, notes = without_fringe(picture)
    assert notes
    got, before = np.asarray(freed).astype(int), np.asarray(picture).astype(int)
    pale = [((one[..., :3].min(axis=2) > 120) & (one[..., 3] >= 128)).sum() for one in (before, got)]
    assert pale[1] < 0.25 * pale[0]


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_soft_alpha_stays(size: tuple[int, int]) -> None:
    clean = shapes(size).reduce(FINE)
    assert without_fringe(clean) == (clean, ())


OUTLINES = [None, (255, 255, 255), (0, 0, 0), (120, 20, 30), (230, 150, 160)]


@pytest.mark.parametrize(
    ("width", "size", "outline"),
    broad(product([2, 3, 8], [SMALL, LARGE], OUTLINES), lambda case: case[1] == SMALL or case[0] == 3),
)
def test_hard_cut_stickers_keep_their_borders(
    outline: tuple[int, int, int] | None, size: tuple[int, int], width: int
) -> None:
    """Cut hard along the true edge; within, borders of any color blend smoothly into the paint."""
    fine = shapes(size, outline=outline, width=width)
    pixels = np.array(fine.reduce(FINE))
    pixels[..., 3] = np.where(pixels[..., 3] >= 128, 255, 0)
    picture = Image.fromarray(pixels)
    assert without_fringe(picture) == (picture, ())


@pytest.mark.parametrize("name", ["kite.png", "lantern.png"])
def test_samples_stay(name: str) -> None:
    with Image.open(Path(__file__).parents[3] / "samples" / name) as sample:
        sample.load()
        assert without_fringe(sample) == (sample, ())
        if sample.mode == "RGBA":
            sample.putalpha(sample.getchannel("A").point(lambda level: 255 * (level >= 128)))
            assert without_fringe(sample) == (sample, ())


def test_pixel_art_stays() -> None:
    random = np.random.default_rng(5)
    table = np.array([(60, 20, 90), (200, 90, 120), (250, 210, 150), (90, 160, 80), (240, 240, 240)])
    blocks = table[random.integers(0, 5, (48, 48))]
    disc = np.hypot(*(np.mgrid[:48, :48] - 23.5)) < 21
    picture = Image.fromarray(np.dstack([blocks, 255 * disc]).astype(np.uint8))
    assert without_fringe(picture) == (picture, ())


@pytest.mark.parametrize("kind", ["png", "gif", "webp"])
def test_a_small_cut_out_shows_its_own_colors_only(tmp_path: Path, kind: str) -> None:
    white = (255, 255, 255)
    picture = keyed(on_ground(SMALL, white), white)
    path = tmp_path / f"kite.{kind}"
    if kind == "gif":
        flat = on_ground(SMALL, white).quantize(64)
        numbers = np.asarray(flat)
        flat.save(path, transparency=int(numbers[0, 0]))
    else:
        picture.save(path, **({"lossless": True} if kind == "webp" else {}))
    artwork = read(path, ArtworkSettings())
    assert [one.code for one in artwork.notes] == ["fringe-removed"]
    found = separate(artwork, background=BackgroundSettings(), flat_colors=ColorSettings())
    assert len(found.colors) == 3
    for paint in PAINTS:
        assert np.abs(found.colors.astype(int) - paint).max(axis=1).min() <= 4
