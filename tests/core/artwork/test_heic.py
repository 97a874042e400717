"""HEIC, as phones save pictures: upright, in true colors, with transparency; damage is one plain line."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork import read, unevenlight
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings

from .turns import BEFORE_TURN, ORIENTATION

heif = pytest.importorskip("pillow_heif", reason="the extra reliefsmith[heic] is not installed")

SETTINGS = ArtworkSettings()


def kite() -> Image.Image:
    """A red box at the upper left, a blue bar along the bottom, on white: no two turns look alike."""
    image = Image.new("RGB", (720, 560), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((80, 80, 239, 239), fill=(200, 30, 40))
    draw.rectangle((0, 480, 719, 559), fill=(20, 60, 160))
    return image


def written(folder: Path, image: Image.Image, orientation: int = 1) -> Path:
    file = heif.from_pillow(image)
    notes = Image.Exif()
    notes[ORIENTATION] = orientation
    file.info["exif"] = notes.tobytes()
    file.save(folder / "phone.heic", quality=90)
    return folder / "phone.heic"


@pytest.mark.parametrize("orientation", sorted(BEFORE_TURN))
def test_a_turned_picture_comes_upright(tmp_path: Path, orientation: int) -> None:
    turn = BEFORE_TURN[orientation]
    seen = kite() if turn is None else kite().transpose(turn)
    artwork = read(written(tmp_path, seen, orientation), SETTINGS)
    assert artwork.source_px == (720, 560)
    assert artwork.lossy
    assert not artwork.has_alpha
    for (x, y), color in {
        (160, 160): (200, 30, 40),
        (360, 520): (20, 60, 160),
        (600, 100): (255, 255, 255),
    }.items():
        seen_color = artwork.rgb[round(y * artwork.scale), round(x * artwork.scale)].astype(int)
        assert np.abs(seen_color - color).max() <= 4


def test_transparency_is_read(tmp_path: Path) -> None:
    image = kite().convert("RGBA")
    image.paste((0, 0, 0, 0), (400, 0, 720, 400))
    artwork = read(written(tmp_path, image), SETTINGS)
    assert artwork.has_alpha
    assert artwork.alpha[200, 560] == 0.0
    assert artwork.alpha[160, 160] == 1.0


def test_damage_is_one_plain_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = written(tmp_path, kite().resize((180, 140))).read_bytes()  # damage lies in its first 600 bytes
    monkeypatch.setattr(unevenlight, "_LEAST_BLOCKS", 10**6)  # colors that damage made are long to even out
    random = np.random.default_rng(11)
    ends: Counter[str] = Counter()
    for case in range(80):
        broken = bytearray(whole[: random.integers(16, len(whole))] if case % 4 == 0 else whole)
        for at in random.integers(8, min(len(broken), 600), random.integers(1, 6)):
            broken[at] = random.integers(0, 256)
        (tmp_path / "broken.heic").write_bytes(broken)
        try:
            read(tmp_path / "broken.heic", SETTINGS)
            ends["read"] += 1
        except ArtworkError as error:
            ends["refused" if "\n" not in str(error) else "long"] += 1
    assert ends["refused"] >= 20
    assert ends["long"] == 0


def test_limits_broken_inside_are_damage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise RuntimeError("Memory allocation error: Security limit exceeded")

    path = written(tmp_path, kite())
    monkeypatch.setattr(heif, "open_heif", refuse)
    with pytest.raises(ArtworkError, match="damaged or cut off"):
        read(path, SETTINGS)
