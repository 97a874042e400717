"""A checkerboard painted in for transparency is taken out; clean drawings are left as they are."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork.checkered import without_checkerboard
from reliefsmith.artwork.read import read
from reliefsmith.recipe.sections import ArtworkSettings

NAVY, YELLOW, WHITE = (27, 42, 73, 255), (245, 184, 46, 255), (255, 255, 255, 255)


def _lantern(size: int = 420) -> Image.Image:
    """A lantern on transparency with a handle to look through and white windows, smoothed edges."""
    large = Image.new("RGBA", (4 * size, 4 * size))
    draw = ImageDraw.Draw(large)
    unit = 4 * size / 100
    draw.ellipse([unit * v for v in (30, 8, 70, 48)], outline=NAVY, width=round(5 * unit))
    draw.rounded_rectangle([unit * v for v in (22, 38, 78, 90)], radius=6 * unit, fill=NAVY)
    draw.rectangle([unit * v for v in (30, 50, 47, 80)], fill=WHITE)
    draw.rectangle([unit * v for v in (53, 50, 70, 80)], fill=YELLOW)
    return large.resize((size, size), Image.Resampling.BOX)


def _on_board(
    art: Image.Image, side: int, greys: tuple[int, int], shift: tuple[int, int] = (0, 0)
) -> Image.Image:
    y, x = np.mgrid[: art.size[1], : art.size[0]]
    dark = ((x + shift[0]) // side + (y + shift[1]) // side) % 2
    board = Image.fromarray(np.where(dark, *greys[::-1]).astype(np.uint8)).convert("RGBA")
    board.alpha_composite(art)
    return board.convert("RGB")


def _jpeg(image: Image.Image, quality: int) -> Image.Image:
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=quality)
    return Image.open(kept).convert("RGB")


@pytest.mark.parametrize("greys", [(255, 204), (204, 153), (255, 239), (102, 68)])
@pytest.mark.parametrize(("side", "shift"), [(8, (0, 0)), (16, (5, 11)), (30, (0, 0))])
@pytest.mark.parametrize("quality", [None, 85])
def test_the_ground_is_what_was_transparent(greys, side, shift, quality) -> None:
    art = _lantern()
    picture = _on_board(art, side, greys, shift)
    cut, notes = without_checkerboard(picture if quality is None else _jpeg(picture, quality))
    assert [item.code for item in notes] == ["checkerboard-removed"]
    found, wanted = np.asarray(cut)[..., 3] > 0, np.asarray(art)[..., 3] > 127
    assert (found & wanted).sum() / (found | wanted).sum() > (0.99 if quality is None else 0.96)
    assert not found[int(0.28 * 420), 210]  # through the handle
    assert found[int(0.65 * 420), int(0.38 * 420)]  # the white window stays paint


def test_an_enlarged_board_is_found() -> None:
    art = _lantern()
    picture = _on_board(art, 10, (255, 204)).resize((567, 567), Image.Resampling.BICUBIC)
    cut, notes = without_checkerboard(picture)
    wanted = np.asarray(art.resize((567, 567), Image.Resampling.BICUBIC))[..., 3] > 127
    found = np.asarray(cut)[..., 3] > 0
    assert notes
    assert (found & wanted).sum() / (found | wanted).sum() > 0.98


@pytest.mark.parametrize("ground", ["white", "#cccccc", "#1b2a49", "stripes", "border", "few"])
def test_what_is_no_board_is_left_alone(ground: str) -> None:
    size = (420, 420)
    if ground in ("stripes", "border", "few"):
        picture = Image.new("RGB", size, "white")
        draw = ImageDraw.Draw(picture)
        if ground == "stripes":
            for x in range(0, 420, 40):
                draw.rectangle([x, 0, x + 19, 419], fill="#cccccc")
        elif ground == "border":
            draw.rectangle([0, 0, 419, 419], outline="#cccccc", width=6)
        else:
            draw.rectangle([0, 0, 209, 209], fill="#cccccc")
            draw.rectangle([210, 210, 419, 419], fill="#cccccc")
    else:
        picture = Image.new("RGB", size, ground)
    picture.paste(_lantern(), mask=_lantern().getchannel("A"))
    same, notes = without_checkerboard(picture)
    assert same is picture
    assert notes == ()


def test_flat_keeps_the_board_and_auto_takes_it_out(tmp_path: Path) -> None:
    _on_board(_lantern(), 16, (255, 204)).save(tmp_path / "lantern.png")
    assert read(tmp_path / "lantern.png", ArtworkSettings()).has_alpha
    assert not read(tmp_path / "lantern.png", ArtworkSettings(kind="flat")).has_alpha
