"""Badges with lettering whose truth is known: lines, arcs and words of many sizes in ten open faces.

Fonts come from the npm registry (SIL Open Font License 1.1), art in the middle by `openart`; nothing of them
is committed. Every letter is set by itself, so that its place is known.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from functools import cache
from io import BytesIO

import numpy as np
from customers import BRIGHT, DARK, PALE, WHITE, WORDS, art_names, art_picture, font_file
from PIL import Image, ImageDraw, ImageFont

__all__ = ["FACES", "Badge", "Line", "badge"]

FACES: dict[str, tuple[tuple[str, int], ...]] = {
    "heavy rounded": (("fredoka", 700), ("nunito", 900)),
    "bold sans": (("open-sans", 700), ("archivo-black", 400), ("oswald", 600)),
    "regular sans": (("open-sans", 400), ("nunito", 400)),
    "bold slab": (("roboto-slab", 700),),
    "regular slab": (("roboto-slab", 400),),
    "bold serif": (("lora", 700), ("playfair-display", 900)),
    "regular serif": (("lora", 400), ("playfair-display", 400)),
}
"""Packages below @fontsource, and weights, by kind of face."""

FINE = 3

SHORT = ("HERON", "KITES", "REEDS", "TEAL")

Color = tuple[int, int, int]


@dataclass
class Line:
    """One line as it was set: its words, its kind of face, its letters' places and radii in pixels."""

    text: str
    kind: str
    letters: list[tuple[float, float, float]] = field(default_factory=list)


@dataclass
class Badge:
    """A picture and its lines."""

    image: Image.Image
    lines: list[Line] = field(default_factory=list)


@cache
def face(package: str, weight: int, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(BytesIO(font_file(package, weight)), size)


class Sheet:
    """A picture in the making, three times as large."""

    def __init__(self, rng: random.Random, size: tuple[int, int], ground: Color | None) -> None:
        self.rng, self.size = rng, size
        fill = (255, 255, 255, 0) if ground is None else (*ground, 255)
        self.image = Image.new("RGBA", (size[0] * FINE, size[1] * FINE), fill)
        self.pen = ImageDraw.Draw(self.image)
        self.lines: list[Line] = []

    def set_line(self, text: str, size: float, path: tuple[float, ...], color: Color | None) -> None:
        """Set a line, letter by letter: on a level (x, y) middle, or on a circle (x, y, radius, turn).

        A negative radius sets it below the middle, to be read from there.
        """
        kind = self.rng.choice(list(FACES))
        package, weight = self.rng.choice(FACES[kind])
        font = face(package, weight, round(size * FINE))
        spread = self.rng.uniform(1.0, 1.2) if len(path) == 2 else self.rng.uniform(1.08, 1.25)
        line = Line(text, kind)
        steps = [font.getlength(letter) * spread / FINE for letter in text]
        at = -sum(steps) / 2
        for letter, wide in zip(text, steps, strict=True):
            if letter != " ":
                place = at + wide / 2
                x, y, turn = path[0] + place, path[1], 0.0
                if len(path) == 4:
                    turn = path[3] + place / path[2]
                    x, y = path[0] + path[2] * math.sin(turn), path[1] - path[2] * math.cos(turn)
                line.letters.append(self._letter(letter, font, (x, y, turn), color))
            at += wide
        self.lines.append(line)

    def _letter(
        self,
        letter: str,
        font: ImageFont.FreeTypeFont,
        place: tuple[float, float, float],
        color: Color | None,
    ) -> tuple[float, float, float]:
        """Draw a letter with the middle of its capitals at a place; return its middle and half its height."""
        x, y, turn = (place[0] * FINE, place[1] * FINE, place[2])
        side = round(font.size * 3)
        tile = Image.new("L", (side, side))
        cap = font.getbbox("H", anchor="ls")[1]
        ImageDraw.Draw(tile).text((side / 2, side / 2 - cap / 2), letter, fill=255, font=font, anchor="ms")
        tile = tile.rotate(-math.degrees(turn), Image.Resampling.BICUBIC)
        corner = (round(x - side / 2), round(y - side / 2))
        if color is None:
            alpha = self.image.getchannel("A")
            alpha.paste(0, corner, tile)
            self.image.putalpha(alpha)
            self.pen = ImageDraw.Draw(self.image)
        else:
            self.image.paste((*color, 255), corner, tile)
        ink = np.argwhere(np.asarray(tile) > 127)
        (low_y, low_x), (high_y, high_x) = ink.min(axis=0), ink.max(axis=0)
        middle = (corner[0] + (low_x + high_x) / 2, corner[1] + (low_y + high_y) / 2)
        radius = max(high_x - low_x, high_y - low_y) / 2
        return middle[0] / FINE, middle[1] / FINE, radius / FINE

    def disc(self, x: float, y: float, radius: float, color: Color) -> None:
        box = [(x - radius) * FINE, (y - radius) * FINE, (x + radius) * FINE, (y + radius) * FINE]
        self.pen.ellipse(box, fill=(*color, 255))

    def art(self, x: float, y: float, side: float) -> None:
        picture = art_picture(self.rng.choice(art_names()), round(side * FINE))
        self.image.paste(picture, (round((x - side / 2) * FINE), round((y - side / 2) * FINE)), picture)

    def done(self) -> Badge:
        small = self.image.resize(self.size, Image.Resampling.BOX)
        whole = small.getchannel("A").getextrema()[0] == 255
        return Badge(small.convert("RGB") if whole else small, self.lines)


def _words(rng: random.Random, most: int) -> str:
    """Return words of the invented day, in capitals or as written, four letters or more."""
    words = " ".join(rng.sample(WORDS, 2))
    text = rng.choice((words, rng.choice(WORDS), f"{rng.choice(WORDS)} {rng.randint(1950, 2029)}"))
    if len(text) > most:
        text = rng.choice([word for word in WORDS if len(word) <= most] or SHORT)
    return text if rng.random() < 0.6 else text.title()


def _inks(rng: random.Random) -> tuple[Color, Color | None]:
    """Return a plate's color and that of what is lettered on it: lighter, darker, or the ground's own."""
    if rng.random() < 0.7:
        return rng.choice(DARK), rng.choice((WHITE, WHITE, rng.choice(BRIGHT), rng.choice(PALE)))
    return rng.choice((*BRIGHT[:2], *PALE)), rng.choice(DARK)


def _ring(rng: random.Random) -> Badge:
    """A disc with a line round its top, often another round its foot, and an artwork in the middle."""
    clear = rng.random() < 0.25
    sheet = Sheet(rng, (900, 900), None if clear else WHITE)
    plate, ink = _inks(rng)
    sheet.disc(450, 450, 430, plate)
    size = rng.uniform(40, 110)
    radius = 430 - size * 0.75
    text = _words(rng, int(2.6 * radius / size / 0.75))
    sheet.set_line(text, size, (450, 450, radius, rng.uniform(-0.2, 0.2)), None if clear else ink)
    if rng.random() < 0.6:
        small = size * rng.uniform(0.5, 1.0)
        low = _words(rng, int(1.6 * radius / small / 0.75))
        sheet.set_line(low, small, (450, 450, -radius, 0.0), None if clear else ink)
    inner = radius - size * 0.85
    if rng.random() < 0.7:
        sheet.disc(450, 450, inner, rng.choice((WHITE, rng.choice(BRIGHT))))
    sheet.art(450, 450, inner * 1.1)
    return sheet.done()


def _plate(rng: random.Random) -> Badge:
    """A plate with one to three lines, the first the largest."""
    clear = rng.random() < 0.2
    sheet = Sheet(rng, (1100, 700), None if clear else WHITE)
    plate, ink = _inks(rng)
    box = [40 * FINE, 40 * FINE, 1060 * FINE, 660 * FINE]
    sheet.pen.rounded_rectangle(box, rng.choice((0, 60, 200)) * FINE, fill=(*plate, 255))
    y = 190.0
    for size in sorted((rng.uniform(34, 120) for _ in range(rng.randint(1, 3))), reverse=True):
        sheet.set_line(_words(rng, int(820 / size / 0.72)), size, (550, y), None if clear else ink)
        y += size * 1.1 + 60
    return sheet.done()


def _free(rng: random.Random) -> Badge:
    """A wordmark: lines in one color on the ground, an artwork above or beside."""
    sheet = Sheet(rng, (1100, 800), rng.choice((WHITE, WHITE, rng.choice(PALE))))
    color = rng.choice(DARK + BRIGHT[3:4])
    sheet.art(550, 200, 330)
    y = 460.0
    for size in sorted((rng.uniform(36, 130) for _ in range(rng.randint(1, 2))), reverse=True):
        sheet.set_line(_words(rng, int(980 / size / 0.72)), size, (550, y), color)
        y += size + 70
    return sheet.done()


def _slanted(rng: random.Random) -> Badge:
    """A shield with a line that climbs, and one over an arch."""
    sheet = Sheet(rng, (800, 900), WHITE)
    plate, ink = _inks(rng)
    outline = [(60, 60), (740, 60), (740, 480), (400, 860), (60, 480)]
    sheet.pen.polygon([(x * FINE, y * FINE) for x, y in outline], fill=(*plate, 255))
    size = rng.uniform(36, 70)
    sheet.set_line(_words(rng, int(520 / size / 0.75)), size, (400, 640, 520, 0.0), ink)
    tilt = rng.uniform(-0.35, 0.35)
    big = rng.uniform(50, 90)
    reach = 30000.0  # so large a circle is a straight line; its turn tilts the line about the middle
    place = (400 - reach * math.sin(tilt), 380 + reach * math.cos(tilt), reach, tilt)
    sheet.set_line(_words(rng, int(520 / big / 0.75)), big, place, ink)
    return sheet.done()


KINDS = (_ring, _plate, _free, _slanted)


def badge(number: int) -> Badge:
    """Return the badge of a number, always the same."""
    return KINDS[number % len(KINDS)](random.Random(f"badge {number}"))
