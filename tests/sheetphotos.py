"""Photographs of sheets of paper on tables, made: the corners are known to a hundredth of a pixel.

A pinhole camera with a lens's bulge looks at a sheet in space that lies flat or curls. Page and table are
drawn in millimetres and looked up through the camera; what a hand, a lamp, a sensor and JPEG add comes after.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, field
from importlib.resources import files

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from tabletops import PENS, TABLE_MM, TABLE_PX, TABLES, noise

PAGES_MM = {
    "A4": (210.0, 297.0),
    "A4 across": (297.0, 210.0),
    "A5": (148.0, 210.0),
    "letter": (215.9, 279.4),
    "square": (200.0, 200.0),
    "240x320": (240.0, 320.0),
}
PX_PER_MM = 5
"""Of the page as drawn."""


@dataclass
class Photo:
    """A photograph and what is true of it.

    `corners` are those of the sheet, (4, 2) px from the upper left one as the page has it, clockwise; None
    where there is no sheet. `focal_px` is that of its camera.
    """

    image: Image.Image
    corners: np.ndarray | None
    focal_px: float
    about: dict = field(default_factory=dict)
    camera: object = None


def photograph(
    seed: int, *, table: str = "", sheet: bool = True, megapixels: float = 3.0, drawn=None, **fixed
) -> Photo:
    """Make one photograph; what is not fixed by name is drawn by lot, also what is on the page."""
    lot = np.random.default_rng(seed)
    about = {
        "table": table or list(TABLES)[seed % len(TABLES)],
        "page": list(PAGES_MM)[lot.integers(len(PAGES_MM))],
        "tilt": lot.uniform(0, 45),
        "lens": lot.uniform(-0.05, 0.05),
        "hand": lot.random() < 0.45,
        "bulge": lot.uniform(0.004, 0.03) if lot.random() < 0.45 else 0.0,
        "pen": lot.random() < 0.35,
        "blur": lot.uniform(0.4, 1.6),
        "noise": lot.uniform(1, 4),
        "quality": 70,
        "border": lot.random() < 0.25,
        "grass": lot.random() < 0.25,
        "fill": lot.uniform(0.62, 0.93),
        **fixed,
    }
    tall = lot.random() < 0.5
    short, long = (round(math.sqrt(megapixels * 1e6 * ratio)) for ratio in (3 / 4, 4 / 3))
    size = (short, long) if tall else (long, short)
    page_mm = PAGES_MM[about["page"]]
    camera = _Camera(lot, size, page_mm, about)
    ground = TABLES[about["table"]](lot).astype(np.float32)
    page = page_picture(lot, page_mm, about) if drawn is None else drawn
    picture = _seen(camera, ground, page if sheet else None, lot)
    picture = _lit(picture, camera, lot, about, sheet)
    corners = camera.corners() if sheet else None
    image = developed(picture, lot, about)
    return Photo(image, corners, camera.focal, about, camera)


class _Camera:
    """Where the sheet lies before a camera, and what of it each pixel sees."""

    def __init__(self, lot, size, page_mm, about) -> None:
        self.size, self.page = size, np.array(page_mm)
        self.focal = 0.77 * max(size) * lot.uniform(0.92, 1.08)
        self.lens, self.bulge, self.curl_along = about["lens"], about["bulge"], int(lot.integers(2))
        turn, way, tilt = lot.uniform(-25, 25), lot.uniform(0, 360), about["tilt"]
        self.turn = _about_z(-way) @ _about_x(tilt) @ _about_z(way) @ _about_z(turn)
        self.away, shift = 3.0 * max(page_mm), np.zeros(2)
        for _ in range(12):  # moved until the sheet fills its share of the picture, about its middle
            self.place = np.array([*shift, self.away])
            ends = self.corners()
            low, high = ends.min(axis=0), ends.max(axis=0)
            share = ((high - low) / size).max()
            self.away *= share / about["fill"]
            middle = (low + high) / 2 - np.array(size) / 2
            shift = shift - middle * self.away / self.focal * 0.9
        slack = (np.array(size) - (high - low)) / 2 * 0.6
        off = lot.uniform(-1, 1, 2) * np.maximum(slack, 0)
        self.place[:2] += off * self.away / self.focal

    def height(self, u: np.ndarray, v: np.ndarray) -> np.ndarray:
        """Return how far the paper stands off the table at shares of its sides."""
        along = (u, v)[self.curl_along]
        return self.bulge * float(self.page[self.curl_along]) * 4 * along * (1 - along)

    def project(self, u: np.ndarray, v: np.ndarray, *, paper: bool) -> np.ndarray:
        """Return the pixels (n, 2) of places at shares of the sheet's sides."""
        up = self.height(u, v) if paper else np.zeros_like(u)
        flat = np.stack([(u - 0.5) * self.page[0], (v - 0.5) * self.page[1], -up], axis=-1)
        placed = flat @ self.turn.T + self.place
        straight = placed[..., :2] / placed[..., 2:] * self.focal
        return self._bent(straight) + np.array(self.size) / 2

    def corners(self) -> np.ndarray:
        """Return the sheet's corners (4, 2) in px."""
        u, v = np.array([0.0, 1.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0, 1.0])
        return self.project(u, v, paper=True)

    def _bent(self, straight: np.ndarray) -> np.ndarray:
        """Return where a place comes to lie behind the lens."""
        half = math.hypot(*self.size) / 2
        bent = straight.copy()
        for _ in range(20):
            r2 = (bent**2).sum(axis=-1, keepdims=True) / half**2
            bent = straight / (1 + self.lens * r2)
        return bent

    def shares(self, *, paper: bool) -> np.ndarray:
        """Return the place on the sheet (shares of its sides) that each pixel sees, (h, w, 2)."""
        width, height = self.size
        half = math.hypot(*self.size) / 2
        x, y = np.meshgrid(np.arange(2, width, 4) - width / 2, np.arange(2, height, 4) - height / 2)
        r2 = (x * x + y * y) / half**2
        seen = np.stack([x, y, np.ones_like(x)], axis=-1)
        seen[..., :2] *= (1 + self.lens * r2)[..., None]
        seen[..., :2] /= self.focal
        # the ray meets the plane z = -up of the sheet's own frame
        rays, eye = seen @ self.turn, -(self.place @ self.turn)
        up = np.zeros(r2.shape)
        for _ in range(8 if paper and self.bulge else 1):
            t = (-up - eye[2]) / rays[..., 2]
            share = np.stack([(eye[i] + t * rays[..., i]) / self.page[i] + 0.5 for i in (0, 1)], axis=-1)
            if paper and self.bulge:
                inside = np.clip(share, -0.05, 1.05)
                up = self.height(inside[..., 0], inside[..., 1])
        # smooth, so every fourth pixel each way is enough
        share = cv2.resize(
            share.astype(np.float32), (4 * x.shape[1], 4 * x.shape[0]), interpolation=cv2.INTER_LINEAR
        )
        return share[:height, :width]


def _blurred(values: np.ndarray, *sigma: float) -> np.ndarray:
    """Return values smoothed down and across."""
    down, across = sigma * 2 if len(sigma) == 1 else sigma
    values = np.ascontiguousarray(values, dtype=np.float32)
    return cv2.GaussianBlur(values, (0, 0), sigmaX=across, sigmaY=down, borderType=cv2.BORDER_REFLECT)


def _about_x(degrees: float) -> np.ndarray:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])


def _about_z(degrees: float) -> np.ndarray:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def _seen(camera: _Camera, table: np.ndarray, page: np.ndarray | None, lot) -> np.ndarray:
    """Return the picture (h, w, 3), table under paper, evenly lit."""
    share = camera.shares(paper=False)
    at = (share - 0.5) * camera.page / TABLE_MM * TABLE_PX + lot.uniform(0, TABLE_PX, 2)
    picture = _looked_up(table, at, cv2.BORDER_WRAP)
    if page is None:
        return picture
    side = float(lot.uniform(-3, 3))
    share = camera.shares(paper=True)
    cover = _cover(share)
    dark = _blurred(np.roll(cover, (round(abs(side)) + 1, round(side)), (0, 1)), lot.uniform(2, 5))
    picture *= (1 - lot.uniform(0.1, 0.4) * dark)[..., None]  # the paper's own narrow shadow
    paper = _looked_up(page, share * np.array(page.shape[1::-1]), cv2.BORDER_REPLICATE)
    return picture + cover[..., None] * (paper - picture)


def _cover(share: np.ndarray) -> np.ndarray:
    """Return how much of each pixel the sheet covers, by the distance to its sides."""
    cover = np.ones(share.shape[:2], dtype=np.float32)
    for axis in (0, 1):
        slope = np.maximum(np.hypot(*np.gradient(share[..., axis])), 1e-9)
        cover *= np.clip(0.5 + share[..., axis] / slope, 0, 1)
        cover *= np.clip(0.5 + (1 - share[..., axis]) / slope, 0, 1)
    return cover


def _looked_up(texture: np.ndarray, at: np.ndarray, border: int) -> np.ndarray:
    x, y = (np.float32(at[..., i] - 0.5) for i in (0, 1))
    if border == cv2.BORDER_WRAP:
        x, y = x % texture.shape[1], y % texture.shape[0]
    return cv2.remap(texture.astype(np.float32), x, y, cv2.INTER_LINEAR, borderMode=border)


def _lit(picture: np.ndarray, camera: _Camera, lot, about: dict, sheet: bool) -> np.ndarray:
    """Add the pen that lies there, the lamp's slope, the shadow of a hand and the lens's dark corners."""
    height, width = picture.shape[:2]
    long = max(width, height)
    if about["pen"]:
        over = camera.project(
            *(np.array([lot.uniform(*span)]) for span in ((0.1, 0.9), (-0.05, 0.3))), paper=False
        )[0]
        if not sheet:
            over = lot.uniform(0.2, 0.8, 2) * (width, height)
        picture = _with_pen(picture, over, lot.uniform(0, math.pi), long, lot)
    y, x = (
        np.arange(height, dtype=np.float32)[:, None] / long,
        np.arange(width, dtype=np.float32)[None] / long,
    )
    way = lot.uniform(0, 2 * math.pi)
    slope = (x * math.cos(way) + y * math.sin(way)) * lot.uniform(0, 0.45)
    light = 1 - (slope - slope.min())
    if about["hand"]:
        light *= _hand_shadow(lot, width, height)
    light *= 1 - lot.uniform(0, 0.25) * ((x - x.mean()) ** 2 + (y - y.mean()) ** 2) * 2
    tint = np.array([1.0, lot.uniform(0.94, 1.0), lot.uniform(0.82, 1.0)]) * lot.uniform(0.8, 1.05)
    return picture * np.float32(light)[..., None] * np.float32(tint)


def _hand_shadow(lot, width: int, height: int) -> np.ndarray:
    """Return the light left under a hand and an arm between lamp and sheet."""
    scale = 8
    mask = Image.new("L", (width // scale + 1, height // scale + 1), 0)
    draw = ImageDraw.Draw(mask)
    long = max(mask.size)
    x, y, way = (
        lot.uniform(0.15, 0.85) * mask.width,
        lot.uniform(0.3, 0.9) * mask.height,
        lot.uniform(0, math.pi),
    )
    radius = long * lot.uniform(0.08, 0.16)
    draw.ellipse([x - radius, y - radius, x + radius, y + radius], fill=255)
    end = (x + 2 * long * math.cos(way), y + 2 * long * math.sin(way))
    draw.line([(x, y), end], fill=255, width=round(1.3 * radius))
    for finger in range(4):
        turn = way + math.pi + (finger - 1.5) * 0.3
        tip = (x + 2.1 * radius * math.cos(turn), y + 2.1 * radius * math.sin(turn))
        draw.line([(x, y), tip], fill=255, width=max(round(0.35 * radius), 1))
    soft = mask.filter(ImageFilter.GaussianBlur(long * lot.uniform(0.005, 0.03)))
    full = np.asarray(soft.resize((width, height), Image.Resampling.BICUBIC), dtype=np.float32) / 255
    return 1 - lot.uniform(0.15, 0.45) * full


def _with_pen(picture: np.ndarray, middle: np.ndarray, way: float, long: int, lot) -> np.ndarray:
    """Return the picture with a pen lying over a place."""
    mask = Image.new("L", picture.shape[1::-1], 0)
    half = 0.5 * long * lot.uniform(0.25, 0.4) * np.array([math.cos(way), math.sin(way)])
    ImageDraw.Draw(mask).line(
        [*(middle - half), *(middle + half)], fill=255, width=round(long * lot.uniform(0.008, 0.02))
    )
    cover = _blurred(np.asarray(mask, dtype=np.float32) / 255, 1)
    dark = 1 - 0.4 * _blurred(np.roll(cover, (6, 8), (0, 1)), 5)
    color = np.array(PENS[lot.integers(len(PENS))], dtype=np.float32)
    return picture * dark[..., None] * (1 - cover[..., None]) + color * cover[..., None]


def developed(picture: np.ndarray, lot, about: dict) -> Image.Image:
    """Blur, add the sensor's noise, and keep as JPEG."""
    blur = about["blur"] * max(picture.shape) / 2000
    picture = _blurred(picture, blur)
    grain = about["noise"] * noise(lot, *picture.shape)
    picture += 0.5 * grain + _blurred(grain, 0.6)
    image = Image.fromarray(np.clip(np.rint(picture), 0, 255).astype(np.uint8))
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=about["quality"])
    return Image.open(kept)


def page_picture(lot, page_mm: tuple[float, float], about: dict) -> np.ndarray:
    """Draw a page as a child or a class would: outlines, filled shapes, a name, sometimes a frame, grass."""
    width, height = (round(side * PX_PER_MM) for side in page_mm)
    paper = np.array([lot.uniform(236, 252)] * 3) - [0, lot.uniform(0, 3), lot.uniform(0, 12)]
    page = Image.new("RGB", (width, height), tuple(int(value) for value in paper))
    draw = ImageDraw.Draw(page)
    line = round(PX_PER_MM * lot.uniform(1.2, 3.5))
    for _ in range(lot.integers(2, 7)):
        _shape(draw, lot, (width, height), line)
    if about["grass"]:
        green, tall = PENS[2], height * lot.uniform(0.04, 0.12)
        for x in np.arange(0, width, line * 1.2):
            tip = (x + lot.normal(0, 2 * line), height - tall * lot.uniform(0.5, 1.2))
            draw.line([(x, height), tip], fill=green, width=line)
    if about["border"]:
        inset, edge = width * lot.uniform(0.03, 0.09), PENS[lot.integers(len(PENS))]
        draw.rectangle([inset, inset, width - inset, height - inset], outline=edge, width=line)
    if lot.random() < 0.5:
        font = ImageFont.truetype(
            str(files("reliefsmith_data") / "fonts/Lato-Bold.ttf"), round(height * lot.uniform(0.05, 0.12))
        )
        name = ["MIRA", "TOBI", "KITE DAY", "Heron", "ADA 7b"][lot.integers(5)]
        draw.text(
            (width * lot.uniform(0.1, 0.5), height * lot.uniform(0.05, 0.8)), name, fill=PENS[4], font=font
        )
    return np.asarray(page, dtype=np.float32)


def _shape(draw: ImageDraw.ImageDraw, lot, size: tuple[int, int], line: int) -> None:
    """Draw one wobbly closed outline, filled or not, or a scribble."""
    center = lot.uniform(0.2, 0.8, 2) * size
    radius = min(size) * lot.uniform(0.07, 0.3)
    angles = np.linspace(0, 2 * math.pi, 60)
    wave = 1 + sum(lot.uniform(0, 0.25) * np.cos(n * angles + lot.uniform(0, 7)) for n in (2, 3, 5)) / 1.5
    points = center + radius * wave[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    points = [tuple(point) for point in np.clip(points, 0, np.array(size) - 1)]
    color = PENS[lot.integers(len(PENS))]
    if lot.random() < 0.5:
        draw.polygon(points, fill=color)
    draw.line(points, fill=PENS[lot.integers(len(PENS))], width=line, joint="curve")
