"""Pictures as customers send them, made by lot: fifteen kinds from open fonts and open art.

Fonts come from the npm registry (SIL Open Font License 1.1), art by `openart`; nothing of them is committed.
All words are of the invented Larkwater Kite Day. Every picture is drawn three times as large and reduced, so
that its edges are soft.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from functools import cache
from io import BytesIO

import resvg_py
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from openart import BRANDS, FLUENT, PEOPLE, Source, document, opened, pictures

__all__ = ["KINDS", "art_names", "art_picture", "font_file", "picture"]

FINE = 3
WORDS = (
    "LARKWATER",
    "KITE DAY",
    "HERON CREW",
    "LANTERN WALK",
    "REED BAY",
    "NORTH WIND",
    "TAILS UP",
    "MARSH RUN",
)
DARK = ((20, 40, 110), (120, 20, 40), (10, 80, 60), (30, 30, 34), (90, 30, 110), (110, 60, 20))
BRIGHT = ((235, 180, 30), (230, 100, 30), (60, 160, 220), (220, 50, 60), (110, 190, 70), (240, 130, 170))
WHITE, BLACK, OFF_WHITE = (255, 255, 255), (0, 0, 0), (248, 245, 236)
PALE = ((225, 236, 246), (236, 244, 226), (250, 230, 235), (240, 234, 250))
FONTS = (
    ("archivo-black", 400),
    ("oswald", 600),
    ("lora", 700),
    ("fredoka", 600),
    ("roboto-slab", 700),
    ("bangers", 400),
    ("oswald", 400),
    ("lora", 400),
)
"""Package of the family below @fontsource, and weight."""
WHITE_PARTS = (
    "fox",
    "panda",
    "badger",
    "rabbit",
    "cow",
    "penguin",
    "raccoon",
    "dog-face",
    "cat-face",
    "polar-bear",
)

Color = tuple[int, int, int]
Box = tuple[float, float, float, float]


@cache
def font_file(family: str, weight: int) -> bytes:
    source = Source(f"@fontsource/{family}", "5.3.0", "OFL-1.1")
    with opened(source) as archive:
        member = archive.extractfile(f"package/files/{family}-latin-{weight}-normal.woff")
        assert member is not None
        return member.read()


def _font(rng: random.Random, size: float) -> ImageFont.FreeTypeFont:
    family, weight = rng.choice(FONTS)
    return ImageFont.truetype(BytesIO(font_file(family, weight)), round(size))


def _fitted(rng: random.Random, text: str, width: float, height: float) -> ImageFont.FreeTypeFont:
    """Return a font in which a line of text fills a box."""
    font = _font(rng, 200)
    left, top, right, bottom = font.getbbox(text)
    return font.font_variant(size=max(int(200 * min(width / (right - left), height / (bottom - top))), 8))


def _sheet(size: tuple[int, int], ground: Color) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", (size[0] * FINE, size[1] * FINE), ground)
    return image, ImageDraw.Draw(image)


def _reduced(image: Image.Image) -> Image.Image:
    return image.resize((image.width // FINE, image.height // FINE), Image.Resampling.BOX)


@cache
def art_names() -> tuple[str, ...]:
    return tuple(name for name in pictures(FLUENT) if not PEOPLE.search(name) and not BRANDS.search(name))


def art_picture(name: str, side: int) -> Image.Image:
    """Return an open artwork on transparent ground."""
    body, box = pictures(FLUENT)[name]
    scale = side / box[2]
    text = document(body, box, (side, side), (scale, 0, 0, scale, -box[0] * scale, -box[1] * scale))
    png = resvg_py.svg_to_bytes(svg_string=text, width=side, height=side, skip_system_fonts=True)
    return Image.open(BytesIO(bytes(png))).convert("RGBA")


def _pasted(image: Image.Image, art: Image.Image, x: float, y: float) -> None:
    image.paste(art, (round(x - art.width / 2), round(y - art.height / 2)), art)


def _round(
    image: Image.Image, rng: random.Random, text: str, ring: tuple[float, float], color: Color
) -> None:
    """Set a line along a circle of a radius and size round the picture's middle, letter by letter."""
    radius, size = ring
    font = _font(rng, size)
    step = [font.getlength(letter) * 1.12 for letter in text]
    turn = -sum(step) / radius / 2
    for letter, wide in zip(text, step, strict=True):
        turn += wide / radius / 2
        tile = Image.new("L", (round(size * 3), round(size * 3)))
        ImageDraw.Draw(tile).text((size * 1.5, size * 1.5), letter, fill=255, font=font, anchor="mm")
        tile = tile.rotate(-math.degrees(turn), Image.Resampling.BICUBIC)
        x = image.width / 2 + radius * math.sin(turn) - size * 1.5
        y = image.height / 2 - radius * math.cos(turn) - size * 1.5
        image.paste(color, (round(x), round(y)), tile)
        turn += wide / radius / 2


def _badge(rng: random.Random, side: int = 900) -> Image.Image:
    """Draw a disc with a ring of lettering and an artwork in the middle."""
    image, pen = _sheet((side, side), WHITE)
    dark, bright = rng.choice(DARK), rng.choice(BRIGHT)
    middle, outer = image.width / 2, image.width * 0.47

    def disc(share: float, color: Color) -> None:
        pen.ellipse(
            [middle - outer * share, middle - outer * share, middle + outer * share, middle + outer * share],
            fill=color,
        )

    disc(1.0, dark)
    disc(0.95, rng.choice((WHITE, bright)))
    disc(0.91, dark)
    _round(image, rng, f"{rng.choice(WORDS)} * {rng.choice(WORDS)}", (outer * 0.77, outer * 0.15), WHITE)
    disc(0.62, rng.choice((WHITE, bright)))
    _pasted(image, art_picture(rng.choice(art_names()), round(outer * 0.8)), middle, middle)
    return _reduced(image)


def _banner(rng: random.Random) -> Image.Image:
    """Draw a ribbon with tails and a word in the ground's color or another."""
    image, pen = _sheet((1100, 420), WHITE)
    dark = rng.choice(DARK)
    shade = tuple(round(value * 0.6) for value in dark)
    w, h = image.size
    for end in (0, 1):
        tail = [(0.02, 0.4), (0.2, 0.4), (0.2, 0.85), (0.02, 0.85), (0.09, 0.62)]
        pen.polygon([((1 - x if end else x) * w, y * h) for x, y in tail], fill=shade)
    pen.rectangle((0.12 * w, 0.18 * h, 0.88 * w, 0.7 * h), fill=dark)
    text = rng.choice(WORDS)
    font = _fitted(rng, text, 0.64 * w, 0.3 * h)
    pen.text((w / 2, 0.44 * h), text, fill=rng.choice((WHITE, rng.choice(BRIGHT))), font=font, anchor="mm")
    return _reduced(image)


def _crest(rng: random.Random) -> Image.Image:
    """Draw a shield with stripes in the ground's color, an artwork and a dark rim."""
    image, pen = _sheet((760, 900), WHITE)
    w, h = image.size
    field = Image.new("L", image.size)
    curve = [
        (0.5 + 0.42 * math.cos(t), 0.5 + 0.45 * math.sin(t)) for t in [math.pi * i / 40 for i in range(41)]
    ]
    ImageDraw.Draw(field).polygon(
        [(0.08 * w, 0.06 * h), *[(x * w, y * h) for x, y in curve][::-1], (0.92 * w, 0.06 * h)], fill=255
    )
    bright, dark = rng.choice(BRIGHT), rng.choice(DARK)
    stripes = Image.new("RGB", image.size, WHITE)
    brush = ImageDraw.Draw(stripes)
    count = rng.choice((5, 7, 9))
    for index in range(0, count, 2):
        if rng.random() < 0.5:
            brush.rectangle((index * w / count, 0, (index + 1) * w / count, h), fill=bright)
        else:
            brush.rectangle((0, index * h / count, w, (index + 1) * h / count), fill=bright)
    image.paste(stripes, mask=field)
    pen.ellipse((0.25 * w, 0.25 * h, 0.75 * w, 0.25 * h + 0.5 * w), fill=dark)
    _pasted(image, art_picture(rng.choice(art_names()), round(0.34 * w)), w / 2, 0.25 * h + 0.25 * w)
    inner = field.filter(ImageFilter.MinFilter(3)).resize(field.size).filter(ImageFilter.MinFilter(31))
    image.paste(dark, mask=ImageChops.subtract(field, inner))
    return _reduced(image)


def _wordmark(rng: random.Random) -> Image.Image:
    """Draw a name in one color with a smaller line below."""
    image, pen = _sheet((1100, 480), WHITE)
    w, h = image.size
    color, text = rng.choice(DARK + BRIGHT), rng.choice(WORDS)
    pen.text((w / 2, 0.36 * h), text, fill=color, font=_fitted(rng, text, 0.9 * w, 0.4 * h), anchor="mm")
    below = f"{rng.choice(WORDS).lower()} {rng.randint(1950, 2020)}"
    pen.text((w / 2, 0.78 * h), below, fill=color, font=_fitted(rng, below, 0.7 * w, 0.14 * h), anchor="mm")
    return _reduced(image)


def _outlined(rng: random.Random) -> Image.Image:
    """Draw a word in a light color with a dark outline."""
    image, pen = _sheet((1100, 420), WHITE)
    w, h = image.size
    text, dark = rng.choice(WORDS), rng.choice(DARK)
    font = _fitted(rng, text, 0.86 * w, 0.5 * h)
    fill = rng.choice((WHITE, rng.choice(BRIGHT)))
    pen.text(
        (w / 2, h / 2),
        text,
        fill=fill,
        font=font,
        anchor="mm",
        stroke_width=round(0.022 * h * FINE / 2),
        stroke_fill=dark,
    )
    return _reduced(image)


def _animal(rng: random.Random) -> Image.Image:
    """Draw an animal whose ears, face or belly have the ground's color."""
    image, _ = _sheet((800, 800), WHITE)
    names = [name for name in art_names() if name in WHITE_PARTS] or list(art_names())
    art = art_picture(rng.choice(names), round(image.width * rng.uniform(0.7, 0.92)))
    _pasted(image, art, image.width / 2, image.height / 2)
    return _reduced(image)


def _child(rng: random.Random) -> Image.Image:
    """Draw kites, suns and houses with a shaky pen, some filled, on paper."""
    image, pen = _sheet((900, 700), rng.choice((WHITE, OFF_WHITE)))
    ink, wide = rng.choice(DARK), round(rng.uniform(7, 14) * FINE)

    def line(points: list[tuple[float, float]], fill: Color | None) -> None:
        shaky = []
        for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
            for part in range(8):
                share = part / 8
                shaky.append(
                    (
                        x0 + (x1 - x0) * share + rng.gauss(0, 3 * FINE),
                        y0 + (y1 - y0) * share + rng.gauss(0, 3 * FINE),
                    )
                )
        if fill:
            pen.polygon(shaky, fill=fill)
        pen.line([*shaky, shaky[0], shaky[1]], fill=ink, width=wide, joint="curve")

    for _ in range(rng.randint(2, 4)):
        x, y = rng.uniform(0.2, 0.8) * image.width, rng.uniform(0.25, 0.75) * image.height
        size = rng.uniform(0.1, 0.2) * image.width
        corners = rng.choice((3, 4, 4, 5, 12))
        turn = rng.uniform(0, math.tau)
        ring = [
            (
                x + size * math.cos(turn + math.tau * i / corners),
                y + size * math.sin(turn + math.tau * i / corners),
            )
            for i in range(corners)
        ]
        line(ring, rng.choice((None, None, *BRIGHT[:4])))
    return _reduced(image)


def _flag(rng: random.Random) -> Image.Image:
    """Draw a flag that fills the picture: stripes, or a field with a disc, a star or a cross."""
    image, pen = _sheet((900, 600), rng.choice(BRIGHT + DARK))
    w, h = image.size
    device = rng.choice(("stripes", "disc", "star", "cross"))
    color = rng.choice((WHITE, rng.choice(BRIGHT)))
    if device == "stripes":
        for index, own in enumerate(rng.sample((*BRIGHT, WHITE, *DARK), 3)):
            pen.rectangle((0, index * h / 3, w, (index + 1) * h / 3), fill=own)
    elif device == "disc":
        pen.ellipse((0.33 * w, 0.25 * h, 0.67 * w, 0.76 * h), fill=color)
    elif device == "star":
        reach = [0.3 * h if i % 2 == 0 else 0.12 * h for i in range(10)]
        pen.polygon(
            [
                (w / 2 + r * math.sin(i * math.pi / 5), h / 2 - r * math.cos(i * math.pi / 5))
                for i, r in enumerate(reach)
            ],
            fill=color,
        )
    else:
        pen.rectangle((0.3 * w, 0, 0.42 * w, h), fill=color)
        pen.rectangle((0, 0.42 * h, w, 0.6 * h), fill=color)
    return _reduced(image)


def _sticker(ground: Color | None) -> Callable[[random.Random], Image.Image]:
    """Return a kind that draws an artwork with a white rim, as stickers have, on a ground."""

    def draw(rng: random.Random) -> Image.Image:
        image, _ = _sheet((800, 800), rng.choice(PALE) if ground is None else ground)
        art = art_picture(rng.choice(art_names()), round(image.width * 0.72))
        if rng.random() < 0.5:
            rim = Image.new("L", image.size)
            rim.paste(art.getchannel("A"), (round(image.width * 0.14),) * 2)
            rim = rim.resize((400, 400)).filter(ImageFilter.MaxFilter(17)).resize(image.size)
            image.paste(WHITE, mask=rim)
        _pasted(image, art, image.width / 2, image.height / 2)
        return _reduced(image)

    return draw


def _screenshot(rng: random.Random) -> Image.Image:
    """Draw an emblem on a plain page between bars with words and dots."""
    image, pen = _sheet((620, 1100), WHITE)
    w, h = image.size
    bar = rng.choice(((245, 245, 247), (40, 42, 48)))
    pen.rectangle((0, 0, w, 0.07 * h), fill=bar)
    pen.rectangle((0, 0.93 * h, w, h), fill=bar)
    ink = (90, 90, 96)
    pen.text(
        (0.05 * w, 0.035 * h),
        f"{rng.randint(1, 12)}:{rng.randint(10, 59)}",
        fill=ink,
        font=_font(rng, 0.025 * h),
        anchor="lm",
    )
    for index in range(3):
        pen.ellipse(
            (w * (0.8 + 0.05 * index), 0.03 * h, w * (0.83 + 0.05 * index), 0.03 * h + 0.03 * w), fill=ink
        )
    badge = _badge(rng, 420).resize((round(0.8 * w), round(0.8 * w)), Image.Resampling.LANCZOS)
    image.paste(badge, (round(0.1 * w), round(0.25 * h)))
    return _reduced(image)


def _small(rng: random.Random) -> Image.Image:
    """Draw a badge or a banner small and compressed, as passed on by messages."""
    image = rng.choice((_badge, _banner, _outlined))(rng)
    image.thumbnail((360, 360), Image.Resampling.LANCZOS)
    out = BytesIO()
    image.save(out, "JPEG", quality=rng.randint(45, 80))
    return Image.open(out)


def _cut_out(rng: random.Random) -> Image.Image:
    """Draw a plain shape in one color from which a word is cut."""
    image, pen = _sheet((800, 600), WHITE)
    w, h = image.size
    color, text = rng.choice(DARK + BRIGHT), rng.choice(WORDS)
    shape = rng.choice((pen.ellipse, pen.rectangle, pen.rounded_rectangle))
    more = {"radius": 0.1 * w} if shape == pen.rounded_rectangle else {}
    shape((0.04 * w, 0.1 * h, 0.96 * w, 0.9 * h), fill=color, **more)
    pen.text((w / 2, h / 2), text, fill=WHITE, font=_fitted(rng, text, 0.7 * w, 0.3 * h), anchor="mm")
    return _reduced(image)


KINDS: dict[str, Callable[[random.Random], Image.Image]] = {
    "ring badge": _badge,
    "banner": _banner,
    "crest": _crest,
    "wordmark": _wordmark,
    "outlined word": _outlined,
    "animal": _animal,
    "child's drawing": _child,
    "flag": _flag,
    "sticker on white": _sticker(WHITE),
    "sticker on black": _sticker(BLACK),
    "sticker on off-white": _sticker(OFF_WHITE),
    "sticker on pale": _sticker(None),
    "screenshot": _screenshot,
    "small and compressed": _small,
    "word cut out": _cut_out,
}


def picture(kind: str, number: int) -> bytes:
    """Return the picture of a kind and a number, always the same, as PNG or JPEG."""
    image = KINDS[kind](random.Random(f"{kind} {number}"))
    out = BytesIO()
    if kind == "small and compressed":
        image.save(out, "JPEG", quality=85)
    else:
        image.convert("RGB").save(out, "PNG")
    return out.getvalue()
