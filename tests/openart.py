"""Open vector artworks with exact shapes: fetched by `npm pack` or `apt-get download`, never committed.

The packages are MIT, CC0, Apache-2.0 or in the public domain (named with each below). They are kept in the
folder that RELIEFSMITH_OPENART names, else in the user's cache. Truth is computed from the paths: flattened
curves, filled by their fill rule, later paint over earlier paint, one polygon a color; an artwork is used
only if a render without anti-aliasing agrees with its polygons.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import re
import subprocess
import tarfile
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from itertools import islice
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from PIL import Image
from shapely.affinity import affine_transform

from reliefsmith.colorimetry import ciede2000, srgb_to_lab
from svgtruth import as_multi, visible_areas

LEAST_SHARE, LEAST_SHARE_BY_LOT = 0.003, 0.001
"""Artworks with a color under this share of the art are left out: too small to be asked for."""
LEAST_APART, LEAST_APART_BY_LOT = 5.0, 4.0
"""The same with colors nearer to each other than that (CIEDE2000): one color to a maker."""
AGREEMENT = 0.99
"""Worst color's IoU between polygons and a render without anti-aliasing, sampled at 512 px."""

PEOPLE = re.compile(
    r"face|person|people|man|men|woman|boy|girl|baby|child|adult|hand|finger|thumb|palm|fist|skin|light$|dark$"
    r"|medium|family|couple|kiss|guard|police|worker|cook$|santa|claus|elf|fairy|mage|vampire|zombie|genie"
    r"|merperson|hair|bust|foot|leg|ear|eye|nose|mouth|tooth|tongue|selfie|clap|wave|pray|dancer|logo|brand"
    r"|prince|bride|groom|farmer|pilot|astronaut|judge|ninja|smile|grin|wink|cry|frown|mask|monkey-|-monkey"
    r"|emoji|symbol|arm$|biceps|christ|buddh|jew|islam|atm|taxi|superhero|villain|student|teacher|singer|artist"
)
BRANDS = re.compile(r"logo|brand|atm|taxi")
"""Left out of every choice; of those by lot, nothing else is."""


SVG, HREF = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True)
class Source:
    """A package of the npm registry, or of Debian, and how its pictures are stored."""

    package: str
    version: str
    licence: str
    folder: str = ""
    debian: bool = False

    @property
    def archive(self) -> str:
        if self.debian:
            return f"{self.package}_{self.version}_all.deb"
        return f"{self.package.lstrip('@').replace('/', '-')}-{self.version}.tgz"


FLUENT = Source("@iconify-json/fluent-emoji-flat", "1.2.6", "MIT")
CIRCLES = Source("@iconify-json/circle-flags", "1.2.11", "MIT")
FX = Source("@iconify-json/fxemoji", "1.2.2", "Apache-2.0")
MAKI = Source("@mapbox/maki", "8.2.0", "CC0-1.0", "package/icons/")
TEMAKI = Source("@rapideditor/temaki", "5.13.0", "CC0-1.0", "package/icons/")
FLAGS = Source("flag-icons", "7.5.0", "MIT", "package/flags/4x3/")
NOTO = Source("@iconify-json/noto-v1", "1.2.5", "Apache-2.0")
ISO_FLAGS = Source(
    "iso-flags-svg", "1.0.2-2", "public domain", "./usr/share/iso-flags-svg/country-4x3/", debian=True
)

WANTED = ((FLUENT, 26, 8), (CIRCLES, 8, 4), (FX, 8, 4), (MAKI, 4, 2), (TEMAKI, 4, 2), (FLAGS, 5, 3))
"""Source, how many by even steps through the sorted names, how many of the most intricate besides."""

BY_LOT = (
    (FLUENT, 50),
    (NOTO, 24),
    (FX, 14),
    (CIRCLES, 12),
    (ISO_FLAGS, 12),
    (FLAGS, 8),
    (TEMAKI, 8),
    (MAKI, 6),
)
"""Source, and how many are drawn by lot from all of it, people, faces and hands too."""


@dataclass(frozen=True)
class OpenArt:
    """One artwork: its SVG body and box, and one exact polygon a color, by falling area."""

    name: str
    body: str
    box: tuple[float, float, float, float]
    colors: tuple[tuple[int, int, int], ...]
    polygons: tuple[shapely.MultiPolygon, ...]


def cache_folder() -> Path:
    """Return the folder for fetched packages, made if need be."""
    home = os.environ.get("RELIEFSMITH_OPENART") or Path(
        os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"), "reliefsmith-openart"
    )
    folder = Path(home)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def fetched(source: Source) -> Path:
    """Return the package's archive, fetched on the first call."""
    archive = cache_folder() / source.archive
    if not archive.exists():
        wanted = f"{source.package}@{source.version}"
        command = ["npm", "pack", wanted, "--silent"]
        if source.debian:
            command = ["apt-get", "download", "-q", wanted.replace("@", "=")]
        subprocess.run(command, cwd=archive.parent, check=True, capture_output=True, timeout=300)
    return archive


def opened(source: Source) -> tarfile.TarFile:
    """Open a package; a Debian one by the system's own tool."""
    if not source.debian:
        return tarfile.open(fetched(source))
    unpacked = subprocess.run(
        ["dpkg-deb", "--fsys-tarfile", str(fetched(source))], check=True, capture_output=True, timeout=60
    )
    return tarfile.open(fileobj=BytesIO(unpacked.stdout))


def pictures(source: Source) -> dict[str, tuple[str, tuple[float, float, float, float]]]:
    """Return body and box of every picture of a package by name, people, faces and brands left out."""
    found = every_picture(source)
    return {name: found[name] for name in found if not PEOPLE.search(name) or source in (CIRCLES, FLAGS)}


@cache
def every_picture(source: Source) -> dict[str, tuple[str, tuple[float, float, float, float]]]:
    """Return body and box of every picture of a package by name."""
    found = {}
    with opened(source) as archive:
        if source.folder:
            for member in archive.getmembers():
                if member.name.startswith(source.folder) and member.name.endswith(".svg"):
                    found[Path(member.name).stem] = body_and_box(archive.extractfile(member).read())
        else:
            data = json.load(archive.extractfile("package/icons.json"))
            for name, icon in data["icons"].items():
                size = (
                    icon.get("width", data["width"]),
                    icon.get("height", data.get("height", data["width"])),
                )
                found[name] = (icon["body"], (0.0, 0.0, *map(float, size)))
    return {name: found[name] for name in sorted(found) if found[name][1][2] > 0}


def body_and_box(text: bytes) -> tuple[str, tuple[float, float, float, float]]:
    """Return the inside of a document and its box, without what drawing programs note in it."""
    root = ET.fromstring(text)
    for parent in list(root.iter()):
        for child in list(parent):
            if not str(child.tag).startswith(SVG) or child.tag == f"{SVG}metadata":
                parent.remove(child)
    for node in root.iter():
        node.tag = node.tag.removeprefix(SVG)
        for name in [name for name in node.attrib if name.startswith("{") and name != HREF]:
            del node.attrib[name]
        if HREF in node.attrib:
            node.set("xlink:href", node.attrib.pop(HREF))
    page = f"0 0 {root.get('width', '0')} {root.get('height', '0')}".replace("px", "")
    numbers = re.findall(r"[-+.\d]+(?:e[-+]?\d+)?", root.get("viewBox", page))
    box = tuple(float(number) for number in numbers) if len(numbers) == 4 else (0.0,) * 4
    return "".join(ET.tostring(child, encoding="unicode") for child in root), box


def artworks(limit: int | None = None) -> list[OpenArt]:
    """Return the artworks of the benchmark, chosen by rule, always the same ones.

    Even steps through each package's sorted names, then its most intricate pictures (longest paths): the
    first of each that qualify. A limit takes an even choice of the whole.
    """
    chosen = [art for source, even, intricate in WANTED for art in _chosen(source, even, intricate)]
    if limit is not None and limit < len(chosen):
        chosen = [chosen[i * len(chosen) // limit] for i in range(limit)]
    return chosen


def by_lot(seed: int) -> list[OpenArt]:
    """Return artworks drawn by lot: what a stranger might send, people, faces and hands too."""
    chosen = []
    for number, (source, count) in enumerate(BY_LOT):
        names = [name for name in every_picture(source) if not BRANDS.search(name)]
        order = np.random.default_rng((seed, number)).permutation(len(names))
        arts = (load(source, names[i], LEAST_SHARE_BY_LOT, LEAST_APART_BY_LOT) for i in order)
        chosen += islice((art for art in arts if art is not None), count)
    return chosen


def _chosen(source: Source, even: int, intricate: int) -> Iterator[OpenArt]:
    names = list(pictures(source))
    step = max(1, len(names) // (2 * even))
    orders = (
        [names[(i * step + i // len(names)) % len(names)] for i in range(len(names))],
        sorted(names, key=lambda name: (-len(pictures(source)[name][0]), name)),
    )
    taken: set[str] = set()
    for order, count in zip(orders, (even, intricate), strict=True):
        left = count
        for name in order:
            if not left:
                break
            if name in taken:
                continue
            art = load(source, name)
            if art is not None:
                taken.add(name)
                left -= 1
                yield art


def load(
    source: Source, name: str, least_share: float = LEAST_SHARE, least_apart: float = LEAST_APART
) -> OpenArt | None:
    """Return an artwork with its truth, or None where it does not qualify; the answer is kept on disk."""
    body, box = every_picture(source)[name]
    key = hashlib.sha256(f"6:{body}:{least_share}:{least_apart}:{AGREEMENT}".encode()).hexdigest()[:24]
    store = cache_folder() / "truth" / f"{key}.json"
    if store.exists():
        kept = json.loads(store.read_text())
    else:
        kept = _truth(body, box, least_share, least_apart)
        store.parent.mkdir(exist_ok=True)
        store.write_text(json.dumps(kept))
    if not kept:
        return None
    polygons = tuple(shapely.from_wkb(bytes.fromhex(text)) for _, text in kept)
    colors = tuple(tuple(color) for color, _ in kept)
    return OpenArt(f"{source.package.split('/')[-1]}/{name}", body, box, colors, polygons)


def _truth(
    body: str, box: tuple[float, float, float, float], least_share: float, least_apart: float
) -> list[tuple[tuple[int, int, int], str]]:
    try:
        painted = visible_areas(body, box)
    except (ValueError, KeyError, shapely.GEOSException, ET.ParseError):
        return []
    total = sum(area.area for area in painted.values())
    colors = sorted(painted, key=lambda color: (-painted[color].area, color))
    if not 1 <= len(colors) <= 8 or any(painted[color].area < least_share * total for color in colors):
        return []
    lab = srgb_to_lab(np.array(colors, dtype=np.uint8))
    apart = ciede2000(lab[:, None], lab[None, :]) + 1000 * np.eye(len(colors))
    if apart.min() < least_apart or not _agrees(body, box, painted):
        return []
    return [(color, as_multi(painted[color]).wkb.hex()) for color in colors]


def _agrees(body: str, box: tuple[float, float, float, float], painted: dict) -> bool:
    """Compare the polygons with a render without anti-aliasing, at the pixel centers."""
    text = document(body, box, (box[2], box[3]), (1, 0, 0, 1, -box[0], -box[1]))
    size = 512 if box[2] >= box[3] else round(512 * box[2] / box[3])
    png = resvg_py.svg_to_bytes(
        svg_string=text, width=size, shape_rendering="crisp_edges", skip_system_fonts=True
    )
    seen = np.asarray(Image.open(BytesIO(bytes(png))).convert("RGBA"))
    height, width = seen.shape[:2]
    x, y = np.meshgrid((np.arange(width) + 0.5) * box[2] / width, (np.arange(height) + 0.5) * box[3] / height)
    anything = np.zeros((height, width), dtype=bool)
    for color, area in painted.items():
        shapely.prepare(area)
        own = shapely.contains_xy(area, x.ravel() + box[0], y.ravel() + box[1]).reshape(height, width)
        drawn = (seen[..., 3] > 128) & (np.abs(seen[..., :3].astype(int) - color).max(axis=2) <= 1)
        if (own & drawn).sum() < AGREEMENT * (own | drawn).sum():
            return False
        anything |= own
    drawn = seen[..., 3] > 128
    return bool((anything & drawn).sum() >= AGREEMENT * (anything | drawn).sum())


@cache
def overflows(body: str, box: tuple[float, float, float, float]) -> bool:
    """Return whether the body paints over its own box.

    Only then is it cut by the box: a cut that falls on the edge of the paint would thin that edge twice.
    """
    page = (round(192 * box[2] / max(box[2:])), round(192 * box[3] / max(box[2:])))
    scale = page[0] / box[2] / 1.5
    rim = (round(page[0] / 6) + 1, round(page[1] / 6) + 1)
    matrix = (scale, 0, 0, scale, page[0] / 6 - scale * box[0], page[1] / 6 - scale * box[1])
    text = document(body, box, page, matrix, cut=False)
    png = resvg_py.svg_to_bytes(svg_string=text, width=page[0], height=page[1], skip_system_fonts=True)
    alpha = np.asarray(Image.open(BytesIO(bytes(png))).convert("RGBA"))[..., 3].copy()
    alpha[rim[1] - 2 : page[1] - rim[1] + 2, rim[0] - 2 : page[0] - rim[0] + 2] = 0
    return bool(alpha.any())


def document(
    body: str,
    box: tuple,
    page: tuple[float, float],
    matrix: tuple,
    background: str | None = None,
    *,
    cut: bool = True,
) -> str:
    """Return an SVG document: the body under an affine (a, b, c, d, e, f), on a page of the given size.

    Where the body paints over its own box, the box cuts it, as in the packages' own files.
    """
    paper = f'<rect width="{page[0]}" height="{page[1]}" fill="{background}"/>' if background else ""
    own = f'<rect x="{box[0]}" y="{box[1]}" width="{box[2]}" height="{box[3]}"/>'
    cutter = f'<clipPath id="own-box">{own}</clipPath>'
    clip = ' clip-path="url(#own-box)"' if cut else ""
    a, b, c, d, e, f = matrix
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{page[0]}" height="{page[1]}" '
        f'viewBox="0 0 {page[0]} {page[1]}">{paper}{cutter}'
        f'<g transform="matrix({a} {b} {c} {d} {e} {f})"><g{clip}>{body}</g></g></svg>'
    )


def placed(art: OpenArt, longest: int, margin: float, turn_deg: float = 0.0) -> tuple[tuple[int, int], tuple]:
    """Return the page in pixels and the affine that puts the art on it, turned clockwise about its middle."""
    _, _, w, h = art.box
    scale = longest * (1 - 2 * margin) / max(w, h)
    page = (round(w * scale + 2 * margin * longest), round(h * scale + 2 * margin * longest))
    c, s = scale * math.cos(math.radians(turn_deg)), scale * math.sin(math.radians(turn_deg))
    mx, my = art.box[0] + w / 2, art.box[1] + h / 2
    return page, (c, s, -s, c, page[0] / 2 - c * mx + s * my, page[1] / 2 - s * mx - c * my)


def truth_in(art: OpenArt, matrix: tuple) -> tuple[shapely.MultiPolygon, ...]:
    """Return the exact polygons in pixels of a page."""
    a, b, c, d, e, f = matrix
    moved = (affine_transform(polygon, [a, c, b, d, e, f]) for polygon in art.polygons)
    return tuple(as_multi(_made_valid(polygon)) for polygon in moved)


def _made_valid(polygon: shapely.Geometry) -> shapely.Geometry:
    """Mend what rounding broke, by the method that keeps the area: each fails on some rings that touch."""
    mended = [shapely.make_valid(polygon, method=method) for method in ("linework", "structure")]
    return min(mended, key=lambda shape: abs(shape.area - polygon.area))


def drawn(art: OpenArt, page: tuple[int, int], matrix: tuple, background: str | None) -> Image.Image:
    """Render the art with anti-aliasing on a page, transparent where no background is given."""
    text = document(art.body, art.box, page, matrix, background, cut=overflows(art.body, art.box))
    png = resvg_py.svg_to_bytes(svg_string=text, width=page[0], height=page[1], skip_system_fonts=True)
    return Image.open(BytesIO(bytes(png))).convert("RGBA" if background is None else "RGB")
