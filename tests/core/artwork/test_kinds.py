"""Kinds of picture: told by witnesses on the pixels as stored, and treated by what each one needs."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter
from skimage import data

from reliefsmith.artwork import read
from reliefsmith.artwork.kinds import kind_of
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.walk.pipeline import find_areas
from tiers import broad

NAVY, RED, YELLOW, TEAL = (27, 42, 73), (201, 42, 51), (245, 184, 46), (22, 130, 128)
FINE = 3


def _page(width: int, height: int, ground: object = "white") -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", (width * FINE, height * FINE), ground)
    return image, ImageDraw.Draw(image)


def _smooth(image: Image.Image) -> Image.Image:
    return image.resize((image.width // FINE, image.height // FINE), Image.Resampling.BOX)


def _jpeg(image: Image.Image, quality: int) -> Image.Image:
    kept = io.BytesIO()
    image.convert("RGB").save(kept, "JPEG", quality=quality)
    return Image.open(kept).convert("RGB")


def _kite(side: int = 500, ground: object = "white") -> Image.Image:
    """A kite with a tail of ribbons, as a child draws one."""
    image, pen = _page(side, side, ground)
    unit = side * FINE / 100
    pen.polygon(
        [(50 * unit, 8 * unit), (78 * unit, 36 * unit), (50 * unit, 70 * unit), (22 * unit, 36 * unit)], RED
    )
    pen.polygon([(50 * unit, 8 * unit), (78 * unit, 36 * unit), (50 * unit, 36 * unit)], fill=YELLOW)
    pen.line([(50 * unit, 70 * unit), (40 * unit, 82 * unit), (56 * unit, 92 * unit)], NAVY, round(2 * unit))
    for x, y in ((40, 82), (56, 92)):
        pen.ellipse([(x - 4) * unit, (y - 4) * unit, (x + 4) * unit, (y + 4) * unit], fill=TEAL)
    return _smooth(image)


def _flag() -> Image.Image:
    image, pen = _page(420, 280, TEAL)
    w, h = image.size
    pen.rectangle([0, h // 3, w, 2 * h // 3], fill=YELLOW)
    pen.ellipse([0.35 * w, 0.22 * h, 0.65 * w, 0.78 * h], fill=NAVY)
    return _smooth(image)


def _striped() -> Image.Image:
    """A flag of five stripes on white, whose blocks ripple evenly where compressed."""
    image, pen = _page(1031, 804, (0, 0, 160))
    w, h = image.size
    pen.rectangle([0, h / 6, w, 5 * h / 6], fill="white")
    pen.rectangle([0, h / 3, w, 2 * h / 3], fill=(206, 17, 38))
    page = Image.new("RGB", (1112, 885), "white")
    page.paste(_smooth(image), (40, 40))
    return page


def _wordmark(width: int, ink: tuple[int, int, int] = NAVY) -> Image.Image:
    """Upright strokes and bows as of a small word, with a line below."""
    image, pen = _page(width, width // 3)
    w, h = image.size
    for index in range(8):
        left = (0.06 + 0.11 * index) * w
        pen.rectangle([left, 0.2 * h, left + 0.03 * w, 0.65 * h], fill=ink)
        pen.arc([left, 0.2 * h, left + 0.08 * w, 0.45 * h], -90, 90, ink, round(0.025 * w))
    pen.rectangle([0.06 * w, 0.78 * h, 0.94 * w, 0.83 * h], fill=ink)
    return _smooth(image)


def _gradient(side: int = 480) -> Image.Image:
    y, x = np.mgrid[:side, :side] / side
    values = np.stack([60 + 150 * x, 90 + 80 * y, 200 - 90 * x * y], axis=-1)
    image = Image.fromarray(values.astype(np.uint8))
    kite = _kite(side)
    image.paste(
        kite, mask=Image.fromarray(np.where((np.asarray(kite) < 250).any(axis=2), 255, 0).astype(np.uint8))
    )
    return image


def _framed() -> Image.Image:
    """A name plate with a hole in each corner: two things at the ends of its first line."""
    image, pen = _page(600, 400)
    w, h = image.size
    for x, y in ((0.05, 0.05), (0.95, 0.05), (0.05, 0.95), (0.95, 0.95)):
        pen.ellipse([x * w - 24, y * h - 24, x * w + 24, y * h + 24], fill=NAVY)
    pen.ellipse([0.3 * w, 0.2 * h, 0.7 * w, 0.8 * h], fill=RED)
    return _smooth(image)


def _lettered() -> Image.Image:
    """A small banner full of strokes, which compression surrounds with waves."""
    image, pen = _page(360, 137, "white")
    pen.rectangle([30 * FINE, 20 * FINE, 330 * FINE, 117 * FINE], fill=NAVY)
    for row in range(2):
        for column in range(16):
            left, top = (60 + 15.5 * column) * FINE, (40 + 30 * row) * FINE
            pen.arc([left, top, left + 11 * FINE, top + 26 * FINE], 40 * row, 300, "white", 3 * FINE)
    return _smooth(image)


DRAWN: dict[str, Callable[[], Image.Image]] = {
    "kite": _kite,
    "kite on black": lambda: _kite(ground="black"),
    "kite by JPEG": lambda: _jpeg(_kite(), 55),
    "small kite": lambda: _kite(64),
    "small kite by JPEG": lambda: _jpeg(_kite(150), 60),
    "banner of small letters by JPEG": lambda: _jpeg(_lettered(), 50),
    "smaller banner by JPEG": lambda: _jpeg(_lettered().resize((240, 91), Image.Resampling.LANCZOS), 40),
    "enlarged kite": lambda: _kite(180).resize((720, 720), Image.Resampling.BICUBIC),
    "flag": _flag,
    "flag by JPEG": lambda: _jpeg(_flag(), 70),
    "striped flag by JPEG": lambda: _jpeg(_striped(), 60),
    "wordmark": lambda: _wordmark(900),
    "small wordmark by JPEG": lambda: _jpeg(_wordmark(240), 75),
    "golden wordmark by JPEG": lambda: _jpeg(_wordmark(300, YELLOW), 85),
    "golden wordmark by poorer JPEG": lambda: _jpeg(_wordmark(600, YELLOW), 72),
    "gradient": _gradient,
    "gradient by JPEG": lambda: _jpeg(_gradient(), 85),
    "holes in the corners": _framed,
    "stripes of a pixel": lambda: Image.fromarray(
        np.tile([[NAVY, (255, 255, 255)]], (240, 150, 1)).astype(np.uint8)
    ),
    "checks of two pixels": lambda: Image.fromarray(
        np.kron(np.indices((48, 48)).sum(axis=0) % 2, np.full((2, 2), 255)).astype(np.uint8)
    ).convert("RGB"),
    "one color": lambda: Image.new("RGB", (300, 300), RED),
}


def _dithered(how: str) -> Image.Image:
    """A drawing with gradients in few colors, dotted by error diffusion."""
    if how == "web":
        palette = Image.Palette.WEB
        return _gradient().convert("P", palette=palette, dither=Image.Dither.FLOYDSTEINBERG).convert("RGB")
    return _gradient().convert("L").convert("1").convert("RGB")


def _screen(badge: Image.Image, size: tuple[int, int] = (540, 960)) -> tuple[Image.Image, tuple[int, int]]:
    """A telephone's screen with a badge on it, and where that lies."""
    image, pen = _page(*size)
    w, h = image.size
    pen.rectangle([0, 0, w, 0.06 * h], fill=(240, 240, 243))
    for left, right in ((0.05, 0.09), (0.1, 0.13)):
        pen.rectangle([left * w, 0.022 * h, right * w, 0.036 * h], fill=(70, 70, 76))
    pen.ellipse([0.9 * w, 0.02 * h, 0.93 * w, 0.02 * h + 0.03 * w], fill=(70, 70, 76))
    for line in range(4):
        pen.rectangle(
            [0.08 * w, (0.76 + 0.03 * line) * h, (0.9 - 0.1 * line) * w, (0.77 + 0.03 * line) * h], NAVY
        )
    pen.rectangle([0, 0.93 * h, w, h], fill=(240, 240, 243))
    shown = _smooth(image)
    at = ((size[0] - badge.width) // 2, round(0.2 * size[1]))
    shown.paste(badge, at)
    return shown, at


def _photographed(picture: Image.Image, seed: int = 5) -> Image.Image:
    """On cream paper in uneven light, with a camera's blur and noise, saved as JPEG."""
    random = np.random.default_rng(seed)
    values = np.asarray(picture.resize((900, 900), Image.Resampling.BICUBIC)).astype(float)
    y, x = np.mgrid[:900, :900] / 900
    values *= ((0.8 + 0.12 * x - 0.18 * y) * 0.97)[..., None] * np.array([1.0, 0.98, 0.93])
    values += random.normal(0.0, 2.0, values.shape)
    return _jpeg(Image.fromarray(np.clip(values, 0, 255).astype(np.uint8)), 88)


def _scene(number: int) -> Image.Image:
    """A part of a photograph of scikit-image, by lot."""
    random = np.random.default_rng(number)
    whole = (data.astronaut, data.chelsea, data.coffee, data.grass)[number % 4]()
    high, wide = (int(0.8 * side) for side in whole.shape[:2])
    top, left = (int(random.integers(0, side // 5)) for side in whole.shape[:2])
    return Image.fromarray(whole[top : top + high, left : left + wide]).convert("RGB")


def _cut_out(number: int, ground: str = "white") -> Image.Image:
    """A photographed thing on plain ground, as catalogs show it."""
    scene = _scene(number).resize((400, 400))
    mask = Image.new("L", scene.size, 0)
    ImageDraw.Draw(mask).ellipse([40, 90, 360, 310], fill=255)
    image = Image.new("RGB", scene.size, ground)
    image.paste(scene, mask=mask)
    return image


def _passed_on(picture: Image.Image, longest: int, quality: int) -> Image.Image:
    """Reduced and saved as a messenger does, which takes the noise away."""
    small = picture.copy()
    small.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    return _jpeg(small, quality)


def _noise(how: str) -> Image.Image:
    random = np.random.default_rng(3)
    if how == "colors":
        return Image.fromarray(random.integers(0, 256, (240, 300, 3), dtype=np.uint8))
    return Image.fromarray(random.integers(0, 2, (240, 300), dtype=np.uint8) * 255).convert("RGB")


OTHERS: dict[str, tuple[str, Callable[[], Image.Image]]] = {
    "dots of web colors": ("dithered", lambda: _dithered("web")),
    "dots of black": ("dithered", lambda: _dithered("bits")),
    "screen": ("screenshot", lambda: _screen(_kite(400, TEAL))[0]),
    "screen by JPEG": ("screenshot", lambda: _jpeg(_screen(_kite(400, TEAL))[0], 80)),
    "paper": ("paper", lambda: _photographed(_kite())),
    "paper, small": ("paper", lambda: _photographed(_kite()).resize((450, 450), Image.Resampling.LANCZOS)),
    "paper, out of focus": ("paper", lambda: _photographed(_kite().filter(ImageFilter.GaussianBlur(3)))),
    "paper, passed on": ("paper", lambda: _passed_on(_photographed(_kite()), 600, 70)),
    "plate on paper, passed on": ("paper", lambda: _passed_on(_photographed(_framed()), 700, 60)),
    **{f"photograph {number}": ("scene", lambda number=number: _scene(number)) for number in range(8)},
    "thing on white": ("scene", lambda: _cut_out(0)),
    "thing on black by JPEG": ("scene", lambda: _jpeg(_cut_out(2, "black"), 80)),
    "photograph out of focus": ("scene", lambda: _jpeg(_scene(0).filter(ImageFilter.GaussianBlur(16)), 80)),
    **{
        f"small thing on white {number}": (
            "scene",
            lambda number=number: _passed_on(_cut_out(number), 300, 85),
        )
        for number in (0, 1, 3)
    },
    "noise": ("scene", lambda: _noise("colors")),
    "noise in black and white": ("scene", lambda: _noise("bits")),
}


GENERATING = [Image.Transpose.ROTATE_90, Image.Transpose.FLIP_LEFT_RIGHT]
"""All turns and mirrorings are made of these two."""


@pytest.mark.parametrize("name", DRAWN)
def test_what_is_drawn_is_flat(name: str) -> None:
    assert kind_of(DRAWN[name]()) == "flat"


@pytest.mark.parametrize("name", OTHERS)
def test_other_kinds_are_told(name: str) -> None:
    kind, made = OTHERS[name]
    assert kind_of(made()) == kind


@pytest.mark.parametrize(
    "name",
    broad(
        [*DRAWN, *(name for name in OTHERS if name[-1] not in "1234567")], lambda name: "paper," not in name
    ),
)
@pytest.mark.parametrize("turns", broad([GENERATING, [*Image.Transpose]], lambda turns: turns is GENERATING))
def test_turning_and_mirroring_change_no_kind(name: str, turns: list[Image.Transpose]) -> None:
    picture = DRAWN[name]() if name in DRAWN else OTHERS[name][1]()
    kind = kind_of(picture)
    assert {kind_of(picture.transpose(turn)) for turn in turns} == {kind}


@pytest.mark.parametrize("size", [(16, 16), (17, 40), (18, 18), (19, 16), (20, 20), (35, 17)])
def test_the_smallest_pictures_that_are_read_have_a_kind(size: tuple[int, int]) -> None:
    image = Image.new("RGB", size, "white")
    ImageDraw.Draw(image).rectangle((4, 4, 11, 11), fill=RED)
    assert kind_of(image) == "flat"
    kind_of(Image.effect_noise(size, 80).convert("RGB"))


def test_a_scene_is_refused_in_one_line_and_goes_on_as_flat(tmp_path: Path) -> None:
    _scene(0).save(tmp_path / "pet.png")
    with pytest.raises(ArtworkError) as caught:
        read(tmp_path / "pet.png", ArtworkSettings())
    words = str(caught.value)
    assert "pet.png looks like a photograph of a scene" in words
    assert "send a drawing" in words
    assert "artwork.kind = flat" in words
    assert read(tmp_path / "pet.png", ArtworkSettings(kind="flat")).kind == "flat"


@pytest.mark.parametrize(("name", "quality"), [("screen.png", None), ("screen.jpg", 85)])
def test_a_screenshot_is_cut_down_to_its_emblem(tmp_path: Path, name: str, quality: int | None) -> None:
    badge = _kite(400, TEAL)
    screen, (left, top) = _screen(badge)
    screen.save(tmp_path / name, **({"quality": quality} if quality else {}))
    artwork = read(tmp_path / name, ArtworkSettings())
    assert artwork.kind == "screenshot"
    _, _, x, _, _, y, *_ = artwork.to_source
    width, height = artwork.source_px
    assert 0 <= x - left <= 8
    assert 0 <= y - top <= 8
    assert 0 <= left + 400 - (x + width) <= 8
    assert 0 <= top + 400 - (y + height) <= 8
    (noted,) = (item for item in artwork.notes if item.code == "screenshot-cropped")
    assert f"artwork.crop = [{x:.0f}, {y:.0f}, {width}, {height}]" in noted.message


def test_the_crop_that_a_note_names_gives_the_same_areas(tmp_path: Path) -> None:
    screen, _ = _screen(_kite(400, TEAL))
    screen.save(tmp_path / "screen.png")
    found = find_areas(tmp_path / "screen.png")
    crop = [found.frame.to_source[2], found.frame.to_source[5], *found.frame.image_px]
    by_hand = find_areas(tmp_path / "screen.png", Recipe().with_values({"artwork.crop": crop}))
    assert by_hand.frame == found.frame
    assert all(one.equals(two) for one, two in zip(found.polygons, by_hand.polygons, strict=True))
    whole = read(tmp_path / "screen.png", ArtworkSettings(kind="flat"))
    assert whole.source_px == screen.size


def test_a_crop_by_hand_is_not_cut_again(tmp_path: Path) -> None:
    screen, _ = _screen(_kite(400, TEAL))
    screen.save(tmp_path / "screen.png")
    artwork = read(tmp_path / "screen.png", ArtworkSettings(kind="screenshot", crop=(0, 0, 540, 700)))
    assert artwork.source_px == (540, 700)


def test_a_part_of_a_scene_is_refused_like_the_whole(tmp_path: Path) -> None:
    image = _scene(0)
    image.save(tmp_path / "pet.png")
    part = (0.0, 0.0, float(image.width), image.height - 8.0)
    with pytest.raises(ArtworkError, match="looks like a photograph of a scene"):
        read(tmp_path / "pet.png", ArtworkSettings(crop=part))
    assert read(tmp_path / "pet.png", ArtworkSettings(crop=part, kind="flat")).kind == "flat"


def test_a_screenshot_by_order_without_anything_on_it_is_refused(tmp_path: Path) -> None:
    Image.new("RGB", (300, 500), RED).save(tmp_path / "empty.png")
    with pytest.raises(ArtworkError, match=r"set artwork\.crop"):
        read(tmp_path / "empty.png", ArtworkSettings(kind="screenshot"))


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_dots_become_the_color_that_they_stand_for(tmp_path: Path, mode: str) -> None:
    """A disc in a color between two of the palette; the mean inside is that color, and its ground stays."""
    wanted = (200, 110, 60)
    image, pen = _page(300, 300)
    pen.ellipse([120, 120, 780, 780], fill=wanted)
    plain = _smooth(image)
    dotted = plain.convert("P", palette=Image.Palette.WEB, dither=Image.Dither.FLOYDSTEINBERG).convert(mode)
    if mode == "RGBA":
        dotted.putalpha(
            Image.fromarray(np.where((np.asarray(plain) < 250).any(axis=2), 255, 0).astype(np.uint8))
        )
    dotted.save(tmp_path / "disc.png")
    artwork = read(tmp_path / "disc.png", ArtworkSettings())
    assert artwork.kind == "dithered"
    assert "dots-folded" in {item.code for item in artwork.notes}
    inside = artwork.rgb[300:600, 300:600].reshape(-1, 3).astype(float)
    assert np.abs(inside.mean(axis=0) - wanted).max() < 4
    assert inside.std(axis=0).max() < 6
    kept = read(tmp_path / "disc.png", ArtworkSettings(kind="flat"))
    assert kept.rgb[300:600, 300:600].reshape(-1, 3).std(axis=0).max() > 12


def test_paper_is_noted_with_the_setting_that_makes_it_straight(tmp_path: Path) -> None:
    _photographed(_kite()).save(tmp_path / "sheet.jpg", quality=90)
    artwork = read(tmp_path / "sheet.jpg", ArtworkSettings())
    assert artwork.kind == "paper"
    (noted,) = (item for item in artwork.notes if item.code == "sheet-not-found")
    assert "artwork.corners" in noted.message
    flat = read(tmp_path / "sheet.jpg", ArtworkSettings(kind="flat"))
    assert "sheet-not-found" not in {item.code for item in flat.notes}
    assert (artwork.rgb == flat.rgb).all()
