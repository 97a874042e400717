"""Jobs whose results are kept: samples and small drawn artworks with many settings.

cd tests && python -m deep.golden          # write deep/data/golden.json anew, after a wanted change
"""

from __future__ import annotations

import hashlib
import json
import math
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.colorimetry.words import to_hex
from reliefsmith.progress import drain
from reliefsmith.walk.output import file_steps, versions

__all__ = ["LIST", "Job", "jobs", "made", "pictures", "shared_versions"]

LIST = Path(__file__).parent / "data" / "golden.json"
SAMPLES = Path(__file__).parents[2] / "samples"
SHARED = ("numpy", "shapely", "geos", "pillow")  # the versions that the hashes hold for
SHAPES = (".stl", ".svg", ".glb")
"""Files that hold nothing but the piece; all others hold words or pictures as well."""
Job = tuple[str, str, dict[str, Any]]
"""A name, a picture's name, and settings by dotted key."""

_SETTINGS: dict[str, dict[str, Any]] = {
    "plain": {},
    "wide": {"size.width_mm": 110},
    "small": {"size.width_mm": 32},
    "tall": {"size.height_mm": 45, "areas.smoothing": 0.9},
    "hull": {"base.shape": "hull", "base.border_mm": 2.5},
    "circle": {"base.shape": "circle", "base.corners": "bevel"},
    "rectangle": {"base.shape": "rectangle", "base.openings": "fill"},
    "shield": {"base.shape": "shield"},
    "mitered": {"base.corners": "miter", "base.openings": "small", "areas.smoothing": 0.0},
    "cord": {"hang.hardware": "cord", "pieces.connect": "grow"},
    "chain": {"hang.hardware": "ball-chain", "pieces.connect": "backing"},
    "bare": {"hang.hardware": "none", "base.border_mm": 0.0},
    "flush": {"heights.style": "flush"},
    "sunk": {"heights.style": "sunk", "heights.motif_mm": 0.4},
    "stepped": {"heights.style": "stepped", "heights.motif_mm": 0.4},
    "layers": {"heights.base_mm": 1.5, "heights.motif_mm": 0.5, "heights.first_layer_mm": 0.3},
}


def pictures(folder: Path) -> dict[str, Path]:
    """Draw the small artworks and name the samples."""
    drawn = {"lamp": _lamp(), "bow": _bow(), "ring": _ring(), "islands": _islands()}
    for name, image in drawn.items():
        image.save(folder / f"{name}.png")
    paths = {name: folder / f"{name}.png" for name in drawn}
    return {
        **paths,
        **{
            path.stem: path for path in (SAMPLES / "kite.png", SAMPLES / "heron.jpg", SAMPLES / "lantern.png")
        },
    }


def jobs() -> Iterator[Job]:
    """Give every job: each small artwork with each of the settings, each sample with its recipe."""
    for picture in ("lamp", "bow", "ring", "islands"):
        for name, values in _SETTINGS.items():
            yield f"{picture} {name}", picture, values
    for picture in ("kite", "heron", "lantern"):
        yield f"{picture} sample", picture, {}


def made(job: Job, paths: dict[str, Path]) -> dict[str, Any]:
    """Make one job, motifs raised unless told; give a SHA-256 of its shapes, one of the rest, and areas."""
    _, picture, values = job
    values = {"heights.style": "raised", **values}
    recipe = rs.Recipe()
    if (SAMPLES / f"{picture}.toml").exists():
        recipe = rs.Recipe.load(SAMPLES / f"{picture}.toml")
    try:
        relief = rs.make(paths[picture], recipe.with_values(values))
    except rs.ReliefsmithError as error:
        return {"error": str(error)}
    shapes, documents = hashlib.sha256(), hashlib.sha256()
    for name, data in sorted(drain(file_steps(relief.result)).items()):
        digest = shapes if name.endswith(SHAPES) else documents
        digest.update(f"{name} {hashlib.sha256(data).hexdigest()}\n".encode())
    plan = relief.plan
    return {
        "shapes": shapes.hexdigest(),
        "documents": documents.hexdigest(),
        "colors": [to_hex(part.color) for part in relief.parts],
        "areas_mm2": [round(plan.base.area, 6), *(round(one.polygon.area, 6) for one in plan.motifs)],
        "findings": sorted(item.code for item in relief.findings),
    }


def shared_versions() -> dict[str, str]:
    """Return the installed versions that the hashes depend on."""
    own = versions()
    return {name: own[name] for name in SHARED if name in own}


def _page(side: int = 160) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    return image, ImageDraw.Draw(image)


def _lamp() -> Image.Image:
    image, draw = _page()
    draw.rectangle((20, 20, 139, 139), fill="#1e5ac8")
    draw.ellipse((50, 50, 109, 109), fill="#f0c828")
    return image


def _bow() -> Image.Image:
    image, draw = _page()
    draw.polygon([(10, 30), (80, 80), (10, 130)], fill="#c8282d")
    draw.polygon([(150, 30), (80, 80), (150, 130)], fill="#0f6e6e")
    draw.rectangle((70, 60, 90, 100), fill="#1b2a49")
    return image


def _ring() -> Image.Image:
    image, draw = _page()
    draw.ellipse((10, 10, 149, 149), fill="#1b2a49")
    draw.ellipse((45, 45, 114, 114), fill=(0, 0, 0, 0))
    for number in range(8):
        x, y = 80 + 52 * math.cos(number * math.pi / 4), 80 + 52 * math.sin(number * math.pi / 4)
        draw.ellipse((x - 9, y - 9, x + 9, y + 9), fill="#f0f0e6" if number % 2 else "#e07b1a")
    return image


def _islands() -> Image.Image:
    image, draw = _page()
    draw.ellipse((8, 50, 68, 110), fill="#3a7a2e")
    draw.ellipse((90, 40, 150, 100), fill="#3a7a2e")
    draw.rectangle((105, 60, 135, 66), fill="#f0f0e6")
    draw.rectangle((25, 75, 50, 81), fill="#f0f0e6")
    return image


def main() -> None:
    """Write the list anew, or to the file that is named."""
    out = Path(sys.argv[1]) if sys.argv[1:] else LIST
    with tempfile.TemporaryDirectory() as folder:
        paths = pictures(Path(folder))
        found = {job[0]: made(job, paths) for job in jobs()}
    text = json.dumps({"versions": shared_versions(), "jobs": found}, indent=1, sort_keys=True)
    out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
