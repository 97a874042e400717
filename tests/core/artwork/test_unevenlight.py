"""Uneven light: divided out on photographs, and only there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reliefsmith.artwork.unevenlight import divided_steps
from reliefsmith.colorimetry import ciede2000, parse_hex, srgb_to_lab
from reliefsmith.model.artwork import Artwork
from reliefsmith.progress import drain

INKS = ("#d8392b", "#f7c923", "#0f6b6b", "#14213d")
SHAPE = (900, 1200)


def page() -> tuple[np.ndarray, list[tuple[slice, slice]]]:
    """Four ink patches on white paper."""
    rgb = np.full((*SHAPE, 3), 255, np.uint8)
    places = [(slice(y, y + 260), slice(x, x + 360)) for y in (150, 480) for x in (200, 640)]
    for ink, place in zip(INKS, places, strict=True):
        rgb[place] = parse_hex(ink)
    return rgb, places


def light_field(kind: str) -> np.ndarray:
    y, x = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]]
    u, v = (x - 600) / 600, (y - 450) / 600
    radius2 = u * u + v * v
    if kind == "slope":
        return 0.85 + 0.12 * u
    if kind == "vignette":
        return 0.97 - 0.2 * radius2 - 0.06 * radius2**2
    return 0.95 - 0.25 / (1 + np.exp(-(u + 0.4 * v) / 0.05))  # a shadow's soft edge across the art


def photographed(rgb: np.ndarray, light: np.ndarray, noise: float = 1.5) -> Artwork:
    rng = np.random.default_rng(5)
    level = rgb * light[..., None] * np.array([1.0, 0.98, 0.94]) + rng.normal(0, noise, rgb.shape)
    lit = np.clip(level + 0.5, 0, 255).astype(np.uint8)
    return Artwork(lit, np.ones(SHAPE, np.float32), (SHAPE[1], SHAPE[0]), 1.0, False, False)


@pytest.mark.parametrize("kind", ["slope", "vignette", "shadow"])
def test_inks_and_paper_get_their_colors_back(kind: str) -> None:
    rgb, places = page()
    artwork = drain(divided_steps(photographed(rgb, light_field(kind))))
    assert [one.code for one in artwork.notes] == ["light-divided"]
    paper = artwork.rgb[:100].reshape(-1, 3).mean(axis=0)
    assert paper.min() > 252
    for ink, place in zip(INKS, places, strict=True):
        patch = artwork.rgb[place].astype(float)
        want = srgb_to_lab(np.array(parse_hex(ink), float))
        for part in (patch[:60, :60], patch[-60:, -60:], patch[100:160, 150:210]):
            assert ciede2000(srgb_to_lab(part.mean(axis=(0, 1))), want) < 2.0


def test_an_ink_near_paper_white_is_no_paper_where_the_light_falls_off() -> None:
    """The light rises by 2 % a block of 11 px where the ink begins, so the step between them seems small."""
    rgb = np.full((*SHAPE, 3), 255, np.uint8)
    bar = (slice(330, 440), slice(110, 880))
    rgb[bar] = parse_hex("#f3eef8")
    u = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]][1] / 600 - 1
    artwork = drain(divided_steps(photographed(rgb, 0.6 + 0.38 * u - 0.05 * u * u)))
    want = srgb_to_lab(np.array(parse_hex("#f3eef8"), float))
    for left in range(110, 880, 70):
        mean = artwork.rgb[350:420, left : left + 70].mean(axis=(0, 1))
        assert ciede2000(srgb_to_lab(mean), want) < 2.0


def test_even_light_clean_drawings_and_cut_out_pictures_are_left_alone() -> None:
    rgb, _ = page()
    even = photographed(rgb, np.full(SHAPE, 0.9))
    assert drain(divided_steps(even)) is even
    y = np.linspace(0.6, 1.0, SHAPE[0])[:, None] * np.ones(SHAPE)
    clean = photographed(rgb, y, noise=0.0)
    assert drain(divided_steps(clean)) is clean
    cut = replace(photographed(rgb, light_field("slope")), has_alpha=True)
    assert drain(divided_steps(cut)) is cut


def test_a_picture_without_paper_round_it_is_left_alone() -> None:
    rng = np.random.default_rng(2)
    rgb = rng.integers(0, 255, (*SHAPE, 3), dtype=np.uint8)
    busy = Artwork(rgb, np.ones(SHAPE, np.float32), (SHAPE[1], SHAPE[0]), 1.0, False, False)
    assert drain(divided_steps(busy)) is busy
