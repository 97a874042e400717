"""Transparency: what separates, what is laid on paper, what becomes solid."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork import read
from reliefsmith.artwork.transparency import solid_alpha
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings


def plain(height: int = 60, width: int = 60) -> tuple[np.ndarray, np.ndarray]:
    rgb = np.full((height, width, 3), (200, 30, 40), np.uint8)
    return rgb, np.full((height, width), 255, np.uint8)


def test_opaque_pictures_stay_as_they_are() -> None:
    rgb, alpha = plain()
    got_rgb, got_alpha, separates = solid_alpha(rgb, alpha)
    assert not separates
    assert (got_rgb == rgb).all()
    assert (got_alpha == 255).all()


def test_a_faint_veil_over_everything_is_laid_on_white() -> None:
    rgb, alpha = plain()
    got, got_alpha, separates = solid_alpha(rgb, np.full_like(alpha, 51))
    assert not separates
    assert (got_alpha == 255).all()
    np.testing.assert_array_equal(got[0, 0], [244, 210, 212])  # 0.2 color + 0.8 white


def test_clear_surroundings_separate_and_edges_keep_their_coverage() -> None:
    rgb, alpha = plain()
    alpha[:, :20] = 0
    alpha[:, 20] = 128
    got, got_alpha, separates = solid_alpha(rgb, alpha)
    assert separates
    assert (got_alpha == alpha).all()
    assert (got == rgb).all()


def test_even_half_transparent_paint_becomes_solid_in_its_color_on_paper() -> None:
    rgb, alpha = plain()
    alpha[:, :20] = 0
    alpha[:, 20] = 64  # edge: half covered by paint of opacity one half
    alpha[:, 21:] = 128
    got, got_alpha, separates = solid_alpha(rgb, alpha)
    assert separates
    assert (got_alpha[:, 25:] == 255).all()
    np.testing.assert_allclose(got_alpha[:, 20], 127, atol=1)
    np.testing.assert_allclose(got[30, 40], [227, 142, 147], atol=1)


def test_soft_shadows_stay_transparent() -> None:
    rgb, alpha = plain(100, 200)
    alpha[:, :50] = 0
    alpha[:, 50:150] = np.linspace(0, 90, 100).astype(np.uint8)  # a shadow that fades out
    _, got_alpha, separates = solid_alpha(rgb, alpha)
    assert separates
    assert (got_alpha[:, :150] < 128).all()


@pytest.mark.parametrize("opacity", [10, 51, 101, 102, 127, 128, 200])
def test_a_motif_of_one_opacity_is_paint_however_thin(opacity: int) -> None:
    rgb, alpha = plain()
    alpha[:] = 0
    alpha[10:50, 10:50] = opacity
    alpha[9, 10:50] = opacity // 2  # an edge, half covered
    got, got_alpha, separates = solid_alpha(rgb, alpha)
    assert separates
    assert (got_alpha[10:50, 10:50] == 255).all()
    assert (got_alpha[:8] == 0).all()
    assert np.abs(got_alpha[9, 12:48].astype(int) - 127).max() <= 14
    on_paper = 255 + (np.array([200, 30, 40]) - 255) * opacity / 255
    np.testing.assert_allclose(got[30, 30], on_paper, atol=1)


def test_a_half_transparent_motif_is_read_and_faint_traces_are_told_from_nothing(tmp_path: Path) -> None:
    pixels = np.zeros((400, 400, 4), np.uint8)
    pixels[100:300, 100:300] = (200, 30, 40, 127)
    Image.fromarray(pixels).save(tmp_path / "half.png")
    artwork = read(tmp_path / "half.png", ArtworkSettings())
    assert artwork.has_alpha
    assert artwork.rgb[200, 200].tolist() == [228, 143, 148]
    pixels[..., 3] = 0
    pixels[100:300:7, 100, 3] = 60
    Image.fromarray(pixels).save(tmp_path / "faint.png")
    with pytest.raises(ArtworkError, match="nothing but faint, half-transparent traces"):
        read(tmp_path / "faint.png", ArtworkSettings())
