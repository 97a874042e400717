"""Open vector artworks with exact shapes: fetched by `npm pack`, never committed.

The packages are MIT, CC0 or Apache-2.0 (named with each below). They are kept in the folder that
RELIEFSMITH_OPENART names, else in the user's cache. Truth is computed from the paths: flattened curves,
filled by their fill rule, later paint over earlier paint, one polygon a color; an artwork is used only if a
render without anti-aliasing agrees with its polygons.
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
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from PIL import Image
from shapely.affinity import affine_transform
from svgelements import Color, Matrix
from svgelements import Path as Outline

from reliefsmith.chroma import ciede2000, srgb_to_lab

CURVE_STEPS = 48
LEAST_SHARE = 0.003
"""Colors under this share of the art are too small to be asked for."""
LEAST_APART = 5.0
"""CIEDE2000 between any two colors of an artwork; nearer ones are one color to a maker."""
AGREEMENT = 0.99
"""Worst color's IoU between polygons and a render without anti-aliasing, sampled at 512 px."""

PEOPLE = re.compile(
    r"face|person|people|man|men|woman|boy|girl|baby|child|adult|hand|finger|thumb|palm|fist|skin|light$|dark$"
    r"|medium|family|couple|kiss|guard|police|worker|cook$|santa|claus|elf|fairy|mage|vampire|zombie|genie"
    r"|merperson|hair|bust|foot|leg|ear|eye|nose|mouth|tooth|tongue|selfie|clap|wave|pray|dancer|logo|brand"
    r"|prince|bride|groom|farmer|pilot|astronaut|judge|ninja|smile|grin|wink|cry|frown|mask|monkey-|-monkey"
    r"|emoji|symbol|arm$|biceps|christ|buddh|jew|islam|atm|taxi|superhero|villain|student|teacher|singer|artist"
)


@dataclass(frozen=True)
class Source:
    """A package of the npm registry and how its pictures are stored."""

    package: str
    version: str
    licence: str
    folder: str = ""

    @property
    def archive(self) -> str:
        return f"{self.package.lstrip('@').replace('/', '-')}-{self.version}.tgz"


FLUENT = Source("@iconify-json/fluent-emoji-flat", "1.2.6", "MIT")
CIRCLES = Source("@iconify-json/circle-flags", "1.2.11", "MIT")
FX = Source("@iconify-json/fxemoji", "1.2.2", "Apache-2.0")
MAKI = Source("@mapbox/maki", "8.2.0", "CC0-1.0", "package/icons/")
TEMAKI = Source("@rapideditor/temaki", "5.13.0", "CC0-1.0", "package/icons/")
FLAGS = Source("flag-icons", "7.5.0", "MIT", "package/flags/4x3/")

WANTED = ((FLUENT, 26, 8), (CIRCLES, 8, 4), (FX, 8, 4), (MAKI, 4, 2), (TEMAKI, 4, 2), (FLAGS, 5, 3))
"""Source, how many by even steps through the sorted names, how many of the most intricate besides."""


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
        command = ["npm", "pack", f"{source.package}@{source.version}", "--silent"]
        subprocess.run(command, cwd=archive.parent, check=True, capture_output=True, timeout=300)
    return archive


@cache
def pictures(source: Source) -> dict[str, tuple[str, tuple[float, float, float, float]]]:
    """Return body and box of every picture of a package by name, people, faces and brands left out."""
    found = {}
    with tarfile.open(fetched(source)) as archive:
        if source.folder:
            for member in archive.getmembers():
                if member.name.startswith(source.folder) and member.name.endswith(".svg"):
                    text = archive.extractfile(member).read().decode()
                    root = ET.fromstring(text)
                    box = tuple(float(part) for part in root.get("viewBox", "0 0 0 0").split())
                    body = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
                    found[Path(member.name).stem] = (body, box)
        else:
            data = json.load(archive.extractfile("package/icons.json"))
            for name, icon in data["icons"].items():
                size = (
                    icon.get("width", data["width"]),
                    icon.get("height", data.get("height", data["width"])),
                )
                found[name] = (icon["body"], (0.0, 0.0, *map(float, size)))
    usable = {
        name: found[name] for name in sorted(found) if not PEOPLE.search(name) or source in (CIRCLES, FLAGS)
    }
    return {name: value for name, value in usable.items() if value[1][2] > 0}


def artworks(limit: int | None = None) -> list[OpenArt]:
    """Return the artworks of the benchmark, chosen by rule, always the same ones.

    Even steps through each package's sorted names, then its most intricate pictures (longest paths): the
    first of each that qualify. A limit takes an even choice of the whole.
    """
    chosen = [art for source, even, intricate in WANTED for art in _chosen(source, even, intricate)]
    if limit is not None and limit < len(chosen):
        chosen = [chosen[i * len(chosen) // limit] for i in range(limit)]
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


def load(source: Source, name: str) -> OpenArt | None:
    """Return an artwork with its truth, or None where it does not qualify; the answer is kept on disk."""
    body, box = pictures(source)[name]
    key = hashlib.sha256(f"4:{body}:{LEAST_SHARE}:{LEAST_APART}:{AGREEMENT}".encode()).hexdigest()[:24]
    store = cache_folder() / "truth" / f"{key}.json"
    if store.exists():
        kept = json.loads(store.read_text())
    else:
        kept = _truth(body, box)
        store.parent.mkdir(exist_ok=True)
        store.write_text(json.dumps(kept))
    if not kept:
        return None
    polygons = tuple(shapely.from_wkb(bytes.fromhex(text)) for _, text in kept)
    colors = tuple(tuple(color) for color, _ in kept)
    return OpenArt(f"{source.package.split('/')[-1]}/{name}", body, box, colors, polygons)


def _truth(body: str, box: tuple[float, float, float, float]) -> list[tuple[tuple[int, int, int], str]]:
    try:
        painted = visible_areas(body, box)
    except (ValueError, KeyError, shapely.GEOSException, ET.ParseError):
        return []
    total = sum(area.area for area in painted.values())
    colors = sorted(painted, key=lambda color: (-painted[color].area, color))
    if not 1 <= len(colors) <= 8 or any(painted[color].area < LEAST_SHARE * total for color in colors):
        return []
    lab = srgb_to_lab(np.array(colors, dtype=np.uint8))
    apart = ciede2000(lab[:, None], lab[None, :]) + 1000 * np.eye(len(colors))
    if apart.min() < LEAST_APART or not _agrees(body, box, painted):
        return []
    return [(color, _multi(painted[color]).wkb.hex()) for color in colors]


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
    for color, area in painted.items():
        shapely.prepare(area)
        own = shapely.contains_xy(area, x.ravel() + box[0], y.ravel() + box[1]).reshape(height, width)
        drawn = (seen[..., 3] > 128) & (np.abs(seen[..., :3].astype(int) - color).max(axis=2) <= 1)
        if (own & drawn).sum() < AGREEMENT * (own | drawn).sum():
            return False
    return True


def visible_areas(body: str, box: tuple[float, float, float, float]) -> dict:
    """Return what is seen of each color, as polygons in the units of the box.

    Raises
    ------
    ValueError
        For anything that is no flat, opaque paint: gradients, opacity, filters, text, general masks.
    """
    root = ET.fromstring(f'<svg xmlns:xlink="http://www.w3.org/1999/xlink" {_xmlns()}>{body}</svg>')
    frame = shapely.box(box[0], box[1], box[0] + box[2], box[1] + box[3])
    seen: dict = {}
    for color, shape in _paints(root, {}, Matrix(), {}):
        area = shape.intersection(frame)
        if area.is_empty:
            continue
        for other in list(seen):
            if other != color:
                seen[other] = seen[other].difference(area)
        seen[color] = seen[color].union(area) if color in seen else area
    return {color: area for color, area in seen.items() if area.area > 0}


def _xmlns() -> str:
    return 'xmlns="http://www.w3.org/2000/svg"'


STYLED = (
    "fill",
    "fill-rule",
    "stroke",
    "stroke-width",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
)
REFUSED = ("opacity", "fill-opacity", "stroke-opacity", "filter", "clip-path", "class", "stroke-dasharray")


def _paints(node: ET.Element, style: dict, matrix: Matrix, masks: dict) -> Iterator[tuple]:  # noqa: C901
    tag = node.tag.split("}")[-1]
    own = dict(style)
    for item in (node.get("style") or "").split(";"):
        if ":" in item:
            name, value = item.split(":", 1)
            node.set(name.strip(), value.strip())
    if any(node.get(name) not in (None, "1", "none") for name in REFUSED):
        raise ValueError("not flat")
    own.update({name: node.get(name) for name in STYLED if node.get(name) is not None})
    if node.get("transform"):
        matrix = Matrix(node.get("transform")) * matrix
    if tag == "mask":
        disc = list(node)
        if len(disc) != 1 or disc[0].get("fill") not in ("#fff", "white", "#ffffff"):
            raise ValueError("general mask")
        masks[node.get("id")] = next(shape for _, shape in _paints(disc[0], {}, matrix, {}))
    elif tag in ("svg", "g"):
        hidden = re.match(r"url\(#(.*)\)", node.get("mask") or "")
        for child in node:
            for color, shape in _paints(child, own, matrix, masks):
                yield color, shape.intersection(masks[hidden.group(1)]) if hidden else shape
    elif tag in ("path", "circle", "ellipse", "rect", "polygon", "line", "polyline"):
        if node.get("mask"):
            raise ValueError("mask on a shape")
        yield from _shape(node, tag, own, matrix)
    elif tag not in ("title", "desc", "defs", "metadata") or len(node):
        raise ValueError(f"unsupported {tag}")


def _shape(node: ET.Element, tag: str, style: dict, matrix: Matrix) -> Iterator[tuple]:
    lines = [line for line in _flattened(_data(node, tag), matrix) if len(line) > 1]
    fill, stroke = style.get("fill", "#000"), style.get("stroke", "none")
    if fill != "none":
        yield _rgb(fill), filled([line for line in lines if len(line) > 2], style.get("fill-rule", "nonzero"))
    if stroke != "none":
        grow = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
        caps = {"butt": "flat", "round": "round", "square": "square"}
        joins = {"miter": "mitre", "round": "round", "bevel": "bevel"}
        width = float(style.get("stroke-width", 1)) * grow
        yield (
            _rgb(stroke),
            shapely.union_all(
                [
                    shapely.LineString(line).buffer(
                        width / 2,
                        quad_segs=48,
                        cap_style=caps[style.get("stroke-linecap", "butt")],
                        join_style=joins[style.get("stroke-linejoin", "miter")],
                        mitre_limit=float(style.get("stroke-miterlimit", 4)),
                    )
                    for line in lines
                ]
            ),
        )


def _rgb(text: str) -> tuple[int, int, int]:
    if text.startswith("url") or text in ("currentColor", "inherit"):
        raise ValueError("not flat")
    color = Color(text)
    if color.alpha != 255:
        raise ValueError("not opaque")
    return color.red, color.green, color.blue


def _data(node: ET.Element, tag: str) -> str:
    """Return any basic shape as path data (SVG 2, chapter 10)."""

    def number(name: str, default: float = 0.0) -> float:
        return float(node.get(name, default))

    if tag == "path":
        return node.get("d", "")
    if tag in ("polygon", "polyline"):
        return f"M{node.get('points')}" + ("Z" if tag == "polygon" else "")
    if tag == "line":
        return f"M{number('x1')},{number('y1')}L{number('x2')},{number('y2')}"
    if tag == "rect":
        x, y, w, h = number("x"), number("y"), number("width"), number("height")
        rx = min(number("rx", number("ry")), w / 2)
        ry = min(number("ry", number("rx")), h / 2)
        if not rx or not ry:
            return f"M{x},{y}h{w}v{h}h{-w}Z"
        arc = f"a{rx},{ry} 0 0 1"
        return (
            f"M{x + rx},{y}h{w - 2 * rx}{arc} {rx},{ry}v{h - 2 * ry}{arc} {-rx},{ry}"
            f"h{2 * rx - w}{arc} {-rx},{-ry}v{2 * ry - h}{arc} {rx},{-ry}Z"
        )
    rx, ry = number("rx", number("r")), number("ry", number("r"))
    cx, cy = number("cx"), number("cy")
    return f"M{cx - rx},{cy}a{rx},{ry} 0 1 1 {2 * rx},0a{rx},{ry} 0 1 1 {-2 * rx},0Z"


def _flattened(data: str, matrix: Matrix) -> list[np.ndarray]:
    """Return the subpaths as polylines; curves become CURVE_STEPS chords."""
    lines: list[list] = []
    for segment in Outline(data) * matrix:
        kind = type(segment).__name__
        if kind == "Move":
            lines.append([segment.end])
        elif kind in ("Line", "Close"):
            if segment.end is not None:
                lines[-1].append(segment.end)
            if kind == "Close":
                lines.append([segment.end])
        else:
            lines[-1].extend(segment.point(step / CURVE_STEPS) for step in range(1, CURVE_STEPS + 1))
    return [np.array([(point.x, point.y) for point in line]) for line in lines if len(line) > 1]


def filled(lines: list[np.ndarray], rule: str) -> shapely.Geometry:
    """Return the area that closed polylines fill by the rule "nonzero" or "evenodd" (SVG 2, 13.4.2)."""
    rings = [np.vstack((line, line[:1])) for line in lines]
    if not rings:
        return shapely.Polygon()
    noded = shapely.union_all(np.array([shapely.LineString(ring) for ring in rings], dtype=object))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    inside = [face for face in faces if _winds(face.representative_point(), rings, rule)]
    return shapely.union_all(inside) if inside else shapely.Polygon()


def _winds(point: shapely.Point, rings: list[np.ndarray], rule: str) -> bool:
    total = 0
    for ring in rings:
        x, y = ring[:, 0] - point.x, ring[:, 1] - point.y
        cross = x[:-1] * y[1:] - x[1:] * y[:-1]
        up, down = (y[:-1] <= 0) & (y[1:] > 0) & (cross > 0), (y[:-1] > 0) & (y[1:] <= 0) & (cross < 0)
        total += int(up.sum()) - int(down.sum())
    return total % 2 == 1 if rule == "evenodd" else total != 0


def _multi(area: shapely.Geometry) -> shapely.MultiPolygon:
    parts = [part for item in shapely.get_parts(area) for part in shapely.get_parts(item)]
    parts = [part for part in parts if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)


def document(
    body: str, box: tuple, page: tuple[float, float], matrix: tuple, background: str | None = None
) -> str:
    """Return an SVG document: the body under an affine (a, b, c, d, e, f), on a page of the given size.

    Where the body paints over its own box, the box cuts it, as in the packages' own files.
    """
    paper = f'<rect width="{page[0]}" height="{page[1]}" fill="{background}"/>' if background else ""
    own = f'<rect x="{box[0]}" y="{box[1]}" width="{box[2]}" height="{box[3]}"/>'
    cut = f'<clipPath id="own-box">{own}</clipPath>'
    a, b, c, d, e, f = matrix
    return (
        f'<svg {_xmlns()} xmlns:xlink="http://www.w3.org/1999/xlink" width="{page[0]}" height="{page[1]}" '
        f'viewBox="0 0 {page[0]} {page[1]}">{paper}{cut}'
        f'<g transform="matrix({a} {b} {c} {d} {e} {f})"><g clip-path="url(#own-box)">{body}</g></g></svg>'
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
    return tuple(_multi(shapely.make_valid(polygon)) for polygon in moved)


def drawn(art: OpenArt, page: tuple[int, int], matrix: tuple, background: str | None) -> Image.Image:
    """Render the art with anti-aliasing on a page, transparent where no background is given."""
    text = document(art.body, art.box, page, matrix, background)
    png = resvg_py.svg_to_bytes(svg_string=text, width=page[0], height=page[1], skip_system_fonts=True)
    return Image.open(BytesIO(bytes(png))).convert("RGBA" if background is None else "RGB")
