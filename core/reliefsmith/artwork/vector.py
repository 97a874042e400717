"""Vector drawings: SVG made safe, then drawn to pixels by a real renderer."""

from __future__ import annotations

import io
import math
import re
from xml.etree import ElementTree as ET

from PIL import Image

from ..errors import ArtworkError
from ..recipe.sections import ArtworkSettings
from .opening import check_size
from .renderer import drawn_png
from .svg_safety import stripped_svg

__all__ = ["render"]

DRAWN_PX = 1600  # longest side of the rendered drawing: fine enough for 0.05 mm on an 80 mm piece
_MAX_RATIO = 100.0  # of the sides
_LENGTH = re.compile(r"\s*([0-9.]+(?:[eE][+-]?[0-9]+)?)\s*(px|pt|pc|mm|cm|in|)\s*")
# CSS Values and Units: 1 in is 96 px, 25.4 mm, 72 pt, 6 pc.
_PX_PER_UNIT = {"": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "mm": 96 / 25.4, "cm": 960 / 25.4, "in": 96.0}


def render(data: bytes, name: str, artwork: ArtworkSettings) -> Image.Image:
    """Draw an SVG at 1600 px longest side on a transparent ground.

    Text is drawn in the shipped font only, so that the result does not depend on installed fonts.

    Returns
    -------
    PIL image
        Mode RGBA; its `info["left_out"]` counts the pictures and parts from outside that were left out.

    Raises
    ------
    ArtworkError
        If it is not safe, has no size, or cannot be drawn.
    """
    root, left_out = stripped_svg(data, name, artwork)
    width, height = _drawn_size(root, name)  # also gives the drawing a viewBox where it has none
    check_size((width, height), name, artwork.max_megapixels)
    root.attrib.update(width=str(width), height=str(height))
    png = drawn_png(ET.tostring(root, encoding="unicode"), name, artwork)
    try:
        image = Image.open(io.BytesIO(png), formats=("PNG",)).convert("RGBA")
    except (ValueError, OSError) as error:
        raise ArtworkError(f"drawing {name} cannot be drawn: the renderer gave no picture") from error
    image.info["left_out"] = left_out
    return image


def _drawn_size(root: ET.Element, name: str) -> tuple[int, int]:
    width, height = _natural_size(root)
    if not (0 < width < math.inf and 0 < height < math.inf) or max(width, height) > _MAX_RATIO * min(
        width, height
    ):
        raise ArtworkError(f"drawing {name} has no usable width, height or viewBox; save it with a page size")
    if root.get("viewBox") is None:
        root.set("viewBox", f"0 0 {width!r} {height!r}")
    scale = DRAWN_PX / max(width, height)
    return max(round(width * scale), 1), max(round(height * scale), 1)


def _natural_size(root: ET.Element) -> tuple[float, float]:
    """Return width and height in CSS pixels, or of the viewBox."""
    box = [float(part) for part in re.findall(r"[-+0-9.eE]+", root.get("viewBox", "")) if _is_number(part)]
    lengths = [_LENGTH.fullmatch(root.get(key, "")) for key in ("width", "height")]
    if lengths[0] and lengths[1]:
        width, height = (_number(one.group(1)) * _PX_PER_UNIT[one.group(2)] for one in lengths if one)
        return width, height
    if len(box) == 4:
        return box[2], box[3]
    return 0.0, 0.0


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _number(text: str) -> float:
    return float(text) if _is_number(text) else 0.0
