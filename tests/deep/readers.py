"""Every reader of files from outside, with the real files that its mutations start from."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import numpy as np
import trimesh
from PIL import Image, ImageCms, PngImagePlugin

import pieces
from deep import mutation as m
from deep.changes import Mutator, mutated_binary, mutated_text
from deep.lines import line_seeds, mutated_line, read_line
from deep.recipes import mutated_assignment, mutated_recipe
from reliefsmith import Recipe
from reliefsmith.artwork import vector
from reliefsmith.artwork.read import read
from reliefsmith.artwork.svg_safety import safe_svg
from reliefsmith.formats import glb_bytes, stl_bytes, threemf_bytes
from reliefsmith.formats.foreign import read_foreign
from reliefsmith.formats.stl import read_stl
from reliefsmith.formats.threemf_read import read_threemf
from reliefsmith.model import Artwork
from reliefsmith.progress import drain
from reliefsmith.recipe.asked import assignment
from reliefsmith.recipe.recipe import toml_value
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.recipe.settings import specs
from reliefsmith.recipe.tomlfile import read_toml
from reliefsmith.walk.kept import remake
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import FolderStore, decode, encode

__all__ = ["READERS", "Reader"]

SAMPLES = Path(__file__).parents[2] / "samples"
PICTURES = ("PNG", "JPEG", "WEBP", "TIFF", "BMP", "GIF")


@dataclass(frozen=True)
class Reader:
    """One reader.

    Parameters
    ----------
    seeds : callable
        Gives the real files.
    mutate : Mutator
    read : callable
        Reads the bytes of one case; the folder is for readers that take a path.
    share : int
        Cases of this reader in a thousand of a whole campaign.
    """

    seeds: Callable[[], tuple[bytes, ...]]
    mutate: Mutator
    read: Callable[[bytes, Path], object]
    share: int


def _picture() -> Image.Image:
    """A kite of 24 x 20 px: small, so that a case is fast."""
    pixels = np.full((20, 24, 4), (255, 255, 255, 0), np.uint8)
    pixels[3:17, 4:20] = (20, 40, 90, 255)
    pixels[6:12, 8:15] = (230, 120, 30, 255)
    return Image.fromarray(pixels)


def _saved(image: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def _exif(orientation: int) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = orientation
    return exif


@cache
def _png() -> tuple[bytes, ...]:
    art, text = _picture(), PngImagePlugin.PngInfo()
    rgb, profile = art.convert("RGB"), ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    text.add_text("Title", "kite")
    text.add_itxt("Comment", "reeds", zip=True)
    wide = Image.fromarray((np.arange(480, dtype=np.uint16) * 131).reshape(20, 24))
    palette = rgb.convert("P", palette=Image.Palette.ADAPTIVE, colors=4)
    return (
        _saved(art, "PNG"),
        _saved(rgb, "PNG", pnginfo=text),
        _saved(rgb, "PNG", icc_profile=profile),
        _saved(palette, "PNG", transparency=0),
        _saved(rgb, "PNG", exif=_exif(6)),
        _saved(rgb.convert("1"), "PNG"),
        _saved(art.convert("LA"), "PNG"),
        _saved(wide, "PNG"),
        _saved(art, "PNG", save_all=True, append_images=[rgb.convert("RGBA")]),
    )


@cache
def _jpeg() -> tuple[bytes, ...]:
    rgb = _picture().convert("RGB")
    return (
        _saved(rgb, "JPEG", quality=60),
        _saved(rgb, "JPEG", progressive=True, exif=_exif(5)),
        _saved(rgb.convert("L"), "JPEG"),
        _saved(rgb.convert("CMYK"), "JPEG", icc_profile=b"\0" * 132),
        _saved(rgb, "MPO", save_all=True, append_images=[rgb]),
    )


@cache
def _webp() -> tuple[bytes, ...]:
    art = _picture()
    return (
        _saved(art, "WEBP", lossless=True),
        _saved(art, "WEBP", quality=50),
        _saved(art.convert("RGB"), "WEBP", quality=50, exif=_exif(3)),
        _saved(art, "WEBP", save_all=True, append_images=[art.rotate(180)]),
    )


@cache
def _tiff() -> tuple[bytes, ...]:
    art = _picture()
    rgb = art.convert("RGB")
    wide = Image.fromarray((np.arange(480, dtype=np.uint16) * 131).reshape(20, 24))
    packed = [_saved(rgb, "TIFF", compression=c) for c in ("tiff_lzw", "tiff_deflate", "jpeg", "packbits")]
    return (
        *packed,
        _saved(art, "TIFF"),
        _saved(rgb, "TIFF", compression="raw"),
        _saved(rgb.convert("1"), "TIFF", compression="group4"),
        _saved(rgb.convert("CMYK"), "TIFF", compression="tiff_lzw"),
        _saved(wide, "TIFF"),
        _saved(rgb.convert("F"), "TIFF"),
        _saved(rgb, "TIFF", save_all=True, append_images=[rgb], exif=_exif(8)),
    )


@cache
def _bmp() -> tuple[bytes, ...]:
    art = _picture()
    modes = [_saved(art.convert(mode), "BMP") for mode in ("1", "L", "P", "RGB", "RGBA")]
    return (*modes, _rle_bitmap())


def _rle_bitmap() -> bytes:
    """A bitmap of 16 x 16 px packed in runs (RLE8), which Pillow reads but does not write."""
    rows = b"\x10\x01\x00\x00" * 16 + b"\x00\x01"
    head = np.array([40, 16, 16, 1 | 8 << 16, 1, len(rows), 2835, 2835, 2, 2], "<u4").tobytes()
    palette = b"\xff\xff\xff\x00\x20\x40\xc0\x00"
    start = 14 + len(head) + len(palette)
    size = np.array([start + len(rows), 0, start], "<u4").tobytes()
    return b"BM" + size + head + palette + rows


@cache
def _gif() -> tuple[bytes, ...]:
    art = _picture()
    flat = art.convert("RGB").convert("P", palette=Image.Palette.ADAPTIVE, colors=8)
    return (
        _saved(flat, "GIF"),
        _saved(flat, "GIF", transparency=0, interlace=1),
        _saved(flat, "GIF", save_all=True, append_images=[flat.rotate(180)], comment=b"kite"),
    )


SVG_SEEDS = (
    """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="60mm" height="40mm"
 viewBox="0 0 60 40"><title>kite</title><defs><linearGradient id="g"><stop offset="0" stop-color="#123"/>
<stop offset="1" stop-color="red"/></linearGradient>
<clipPath id="c"><circle cx="30" cy="20" r="18"/></clipPath>
<g id="bow"><path d="M0 0 L4 2 L0 4 Z" fill="teal"/></g></defs><style>.a{fill:url(#g);stroke:#000}</style>
<g clip-path="url(#c)" transform="rotate(3 30 20)"><rect class="a" x="5" y="5" width="40" height="25" rx="2"/>
<use href="#bow" x="9" y="9"/><use xlink:href="#bow" transform="scale(2)"/></g>
<text x="3" y="38" font-size="4">Larkwater</text></svg>""",
    """<svg xmlns="http://www.w3.org/2000/svg" width="64" height="48"><pattern id="p" width="4" height="4"
 patternUnits="userSpaceOnUse"><path d="M0 0h2v2h-2z"/></pattern><mask id="m"><rect width="30" height="30"
 fill="#fff"/></mask><filter id="f"><feGaussianBlur stdDeviation="2"/></filter>
<symbol id="s" viewBox="0 0 9 9"><ellipse cx="4" cy="4" rx="4" ry="3"/></symbol>
<rect width="64" height="48" fill="url(#p)"/><polygon points="1,1 30,5 9,40" mask="url(#m)" filter="url(#f)"/>
<use href="#s" width="20" height="20"/><polyline points="0 0 9 9 3 30" stroke="red" stroke-dasharray="2 1"/>
<image width="9" height="9" href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklE
QVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg=="/></svg>""",
)

STL_TEXT = """solid kite
facet normal 0 0 -1
 outer loop
  vertex 0 0 0
  vertex 0 9.5 0
  vertex 9.5 0 0
 endloop
endfacet
facet normal 0 -1 0
 outer loop
  vertex 0 0 0
  vertex 9.5 0 0
  vertex 0 0 4e0
 endloop
endfacet
endsolid kite
"""


@cache
def _recipes() -> tuple[bytes, ...]:
    own = tuple(path.read_bytes() for path in sorted(SAMPLES.glob("*.toml")))
    return (*own, Recipe().to_toml().encode(), Recipe().to_toml(with_help=True).encode())


@cache
def _assignments() -> tuple[bytes, ...]:
    given = [
        ("audience", '"children"'),
        ("colors.palette", '["#1e8a8a", "#ffffff"]'),
        ("hang.at_mm", "[3.5, 8]"),
    ]
    given += [("colors.merge", '[["#ff0000", "#00ff00"]]'), ("size.width_mm", "60"), ("order.title", "kite")]
    for name, section in Recipe().sections():
        values = ((key, getattr(section, key)) for key in specs(type(section)))
        given += [(f"{name}.{key}", toml_value(value)) for key, value in values if value is not None]
    return tuple(f"{key}={value}".encode() for key, value in given)


@cache
def _packages() -> tuple[bytes, ...]:
    one = pieces.parts()
    return (threemf_bytes(one[2:], title="kite"), threemf_bytes(one[1:2], title="reeds"))


@cache
def _solids() -> tuple[bytes, ...]:
    return (*(stl_bytes(one) for one in pieces.parts()), STL_TEXT.encode())


@cache
def _stored() -> tuple[bytes, ...]:
    return (
        encode(pieces.parts()[2:]),
        encode(pieces.plan()),
        encode(
            Artwork(np.zeros((4, 5, 3), np.uint8), np.ones((4, 5), np.float32), (5, 4), 1.0, False, False)
        ),
    )


@cache
def _plans() -> tuple[bytes, ...]:
    """Kept plans: with an eyelet; with two screws and their countersinks; of the first version."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kite.png"
        path.write_bytes(_png()[0])
        for hang in ({"hang.hardware": "split-ring"}, {"hang.hardware": "screw", "hang.holes": 2}):
            recipe = Recipe().with_values({"size.width_mm": 60, "base.border_mm": 6, **hang})
            drain(Job(path, FolderStore(folder)).relief_steps(recipe))
        own = [path.read_bytes() for path in sorted(Path(folder).glob("hung-*.npz"))]
    return (*own, (SAMPLES.parent / "tests" / "core" / "data" / "kite-plan.npz").read_bytes())


def _remake(data: bytes, folder: Path) -> object:
    path = folder / "case.npz"
    path.write_bytes(data)
    return remake(path, Recipe()).parts


def _read_picture(data: bytes, folder: Path) -> object:
    path = folder / "case"
    path.write_bytes(data)
    value = read(path, ArtworkSettings())
    assert value.rgb.dtype == np.uint8
    assert value.rgb.shape == (*value.alpha.shape, 3)
    assert np.isfinite(value.alpha).all()
    return value


def _draw(data: bytes, folder: Path) -> object:
    """Draw an SVG, small; the renderer's own process still costs most of the time."""
    full, vector.DRAWN_PX = vector.DRAWN_PX, 64
    try:
        return vector.render(data, "case.svg", ArtworkSettings())
    finally:
        vector.DRAWN_PX = full


def _read_recipe(data: bytes, folder: Path) -> object:
    path = folder / "case.toml"
    path.write_bytes(data)
    recipe = Recipe.from_mapping(read_toml(path))
    assert Recipe.load(_written(folder, recipe)) == recipe  # what is accepted comes back from its own text
    return recipe


def _written(folder: Path, recipe: Recipe) -> Path:
    path = folder / "again.toml"
    path.write_text(recipe.to_toml(), encoding="utf-8")
    return path


def _assign(data: bytes, _folder: Path) -> object:
    return Recipe().with_values(assignment(data.decode("utf-8", "surrogateescape")))


def _text(name: str) -> Callable[[bytes, Path], object]:
    readers = {"stl": read_stl, "3mf": read_threemf}
    read = readers.get(name) or partial(read_foreign, f".{name}")
    return lambda data, _folder: read(data, "case")


def _foreign(kind: str) -> Callable[[], tuple[bytes, ...]]:
    def seeds() -> tuple[bytes, ...]:
        part = pieces.parts()[1]
        mesh = trimesh.Trimesh(part.vertices, part.triangles, process=False)
        if kind == "glb":
            return (glb_bytes(pieces.parts()), mesh.export(file_type="glb"))
        if kind == "ply":
            return tuple(mesh.export(file_type="ply", encoding=form) for form in ("ascii", "binary"))
        text = mesh.export(file_type=kind)
        return (text if isinstance(text, bytes) else text.encode(),)

    return seeds


def _svg() -> tuple[bytes, ...]:
    return tuple(text.encode() for text in SVG_SEEDS)


READERS = {
    "png": Reader(_png, m.mutated_png, _read_picture, 110),
    "jpeg": Reader(_jpeg, mutated_binary, _read_picture, 40),
    "webp": Reader(_webp, m.mutated_riff, _read_picture, 80),
    "tiff": Reader(_tiff, mutated_binary, _read_picture, 90),
    "bmp": Reader(_bmp, mutated_binary, _read_picture, 60),
    "gif": Reader(_gif, mutated_binary, _read_picture, 60),
    "svg-text": Reader(_svg, mutated_text, lambda data, _folder: safe_svg(data, "case.svg"), 100),
    "svg-drawn": Reader(_svg, mutated_text, _draw, 3),
    "recipe": Reader(_recipes, mutated_recipe, _read_recipe, 80),
    "set": Reader(_assignments, mutated_assignment, _assign, 80),
    "3mf": Reader(_packages, m.mutated_package, _text("3mf"), 60),
    "stl": Reader(_solids, m.mutated_stl, _text("stl"), 70),
    "obj": Reader(_foreign("obj"), mutated_text, _text("obj"), 10),
    "ply": Reader(_foreign("ply"), mutated_binary, _text("ply"), 10),
    "glb": Reader(_foreign("glb"), mutated_binary, _text("glb"), 10),
    "off": Reader(_foreign("off"), mutated_text, _text("off"), 10),
    "stored": Reader(_stored, m.mutated_store, lambda data, _folder: decode(data), 70),
    "kept": Reader(_plans, m.mutated_store, _remake, 10),
    "line": Reader(line_seeds, mutated_line, read_line, 20),
}
