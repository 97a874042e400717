"""Safety of SVG input: what is refused, what is taken out, before a renderer sees the text.

A renderer may read any local file that an SVG names, and nested references can grow without bound. So the
text is parsed here within limits, references that leave the document are taken out, and only then is it
written anew.
"""

from __future__ import annotations

import base64
import binascii
import io
import re
import urllib.parse
from xml.etree import ElementTree as ET
from xml.parsers import expat

from PIL import Image

from ..errors import ArtworkError
from ..recipe.sections import ArtworkSettings

__all__ = ["safe_svg", "stripped_svg"]

_REPEATED = 2  # as many elements may be drawn after every reference inside the document is followed
_USUAL = ArtworkSettings()

_SVG = "http://www.w3.org/2000/svg"
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_REMOVED = frozenset({"script", "foreignObject", "iframe", "object", "embed", "audio", "video", "handler"})
_DRAWN_BY_REFERENCE = frozenset({"image", "use", "feImage"})
_IMAGE_DATA = re.compile(r"data:image/(png|jpeg|jpg|gif|webp)(;[^,]*)?,", re.IGNORECASE)
_URL = re.compile(r"url\(\s*(['\"]?)(.*?)\1\s*\)", re.IGNORECASE | re.DOTALL)
_IMPORT = re.compile(r"@import[^;]*;?", re.IGNORECASE)
_ESCAPE = re.compile(r"\\(?:([0-9a-f]{1,6})\s?|(.))", re.IGNORECASE | re.DOTALL)  # CSS Syntax 4.3.7
_HIDDEN = re.compile("url|import|image|src", re.IGNORECASE)
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def safe_svg(data: bytes, name: str, artwork: ArtworkSettings = _USUAL) -> ET.Element:
    """Parse an SVG within limits and take out every reference that leaves the document: `stripped_svg`."""
    return stripped_svg(data, name, artwork)[0]


def stripped_svg(data: bytes, name: str, artwork: ArtworkSettings = _USUAL) -> tuple[ET.Element, int]:
    """Parse an SVG within limits, take out every reference that leaves the document, and count what drew.

    Kept are references inside the document ("#id") and pictures embedded as PNG, JPEG, GIF or WebP.

    Raises
    ------
    ArtworkError
        If it is no well-formed SVG, declares a DTD or an entity, or passes a limit.
    """
    if len(data) > artwork.max_drawing_mib * 2**20:
        raise ArtworkError(
            f"drawing {name} is larger than {artwork.max_drawing_mib:g} MiB; "
            "simplify it or raise artwork.max_drawing_mib"
        )
    _scan(data, name, artwork)
    try:
        root = ET.fromstring(data)  # noqa: S314 - scanned just above: no DTD, no entity, limits kept
    except ET.ParseError as error:  # the scan does not look at name spaces
        raise ArtworkError(f"drawing {name} is damaged or no SVG: {error}") from error
    if _local(root) != "svg":
        raise ArtworkError(f"{name} is XML but no SVG drawing; give a picture or an SVG file")
    left_out = _strip(root, artwork.max_megapixels)
    _check_expansion(root, name, artwork.max_elements)
    return root, left_out


def _scan(data: bytes, name: str, artwork: ArtworkSettings) -> None:
    """Walk through the text once without building anything, and refuse what is not safe."""
    parser = expat.ParserCreate()
    depth = count = 0

    def start(_tag: str, _attributes: dict[str, str]) -> None:
        nonlocal depth, count
        depth += 1
        count += 1
        if count > artwork.max_elements:
            raise ArtworkError(
                f"drawing {name} has more than {artwork.max_elements} elements; "
                "simplify it or raise artwork.max_elements"
            )
        if depth > artwork.max_depth:
            raise ArtworkError(
                f"drawing {name} has more than {artwork.max_depth} levels; "
                "simplify it or raise artwork.max_depth"
            )

    def end(_tag: str) -> None:
        nonlocal depth
        depth -= 1

    def doctype(_name: str, _system: str | None, public: str | None, has_internal_subset: bool) -> None:
        # The bare line that drawing programs write declares nothing and is dropped; all else is refused.
        if has_internal_subset or not (public or "").startswith("-//W3C//DTD SVG"):
            raise ArtworkError(f"drawing {name} declares a DTD or entities; save it as plain SVG")

    def entity(*_about: object) -> None:
        raise ArtworkError(f"drawing {name} declares a DTD or entities; save it as plain SVG")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.StartDoctypeDeclHandler = doctype
    parser.EntityDeclHandler = entity
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, ValueError, LookupError) as error:
        if isinstance(error, ArtworkError):
            raise
        raise ArtworkError(f"drawing {name} is damaged or no SVG: {error}") from error


def _local(element: ET.Element) -> str:
    tag = element.tag
    return tag.rpartition("}")[2]


def _strip(root: ET.Element, max_megapixels: float) -> int:
    """Take out what leaves the document; return how many pictures and parts it would have drawn."""
    left_out = 0
    for parent in root.iter():
        for child in list(parent):
            if _local(child) in _REMOVED:
                parent.remove(child)
    for element in root.iter():
        for key in list(element.attrib):
            value = element.attrib[key]
            if key.rpartition("}")[2] in ("base", "src") or key.lower().startswith("on"):
                del element.attrib[key]
            elif key in _HREFS or key.rpartition("}")[2] == "href":
                if not _stays_inside(value, max_megapixels):
                    del element.attrib[key]
                    left_out += _local(element) in _DRAWN_BY_REFERENCE
            else:
                element.attrib[key] = _inner_urls(value)
        if _local(element) == "style":
            element.text = _inner_urls(_IMPORT.sub("", _COMMENT.sub("", element.text or "")))
    return left_out


def _stays_inside(reference: str, max_megapixels: float) -> bool:
    text = reference.strip()
    return text.startswith("#") or _embedded_is_fine(text, max_megapixels)


def _embedded_is_fine(text: str, max_megapixels: float) -> bool:
    """Allow an embedded raster picture whose header names a sane size."""
    match = _IMAGE_DATA.match(text)
    if not match:
        return False
    body = text[match.end() :]
    try:
        if "base64" in (match.group(2) or "").lower():
            raw = base64.b64decode("".join(body.split()), validate=False)
        else:
            raw = urllib.parse.unquote_to_bytes(body)
        with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG", "GIF", "WEBP")) as image:
            return image.size[0] * image.size[1] <= max_megapixels * 1e6
    except (OSError, ValueError, SyntaxError, binascii.Error, Image.DecompressionBombError):
        return False


def _inner_urls(text: str) -> str:
    if "\\" in text and _HIDDEN.search(_ESCAPE.sub(_unescaped, text)):
        return ""  # an escaped url(...) is no honest drawing
    if "url" not in text.lower():
        return text
    return _URL.sub(lambda match: match.group(0) if match.group(2).strip().startswith("#") else "none", text)


def _unescaped(match: re.Match[str]) -> str:
    digits, char = match.groups()
    return char if digits is None else chr(min(int(digits, 16), 0x10FFFF))


def _references(element: ET.Element) -> list[str]:
    found = []
    for key, value in element.attrib.items():
        if key.rpartition("}")[2] == "href" and value.strip().startswith("#"):
            found.append(value.strip()[1:])
        elif "url(" in value.lower():
            found += [match.group(2).strip()[1:] for match in _URL.finditer(value)]
    return found


def _check_expansion(root: ET.Element, name: str, max_elements: int) -> None:
    """Count the elements drawn once every inner reference is followed; a loop counts as too many."""
    by_id = {element.attrib["id"]: element for element in root.iter() if "id" in element.attrib}
    known: dict[ET.Element, int] = {}
    open_: set[ET.Element] = set()
    # A post-order walk with a stack of our own: references may chain deeper than Python's recursion.
    stack: list[tuple[ET.Element, bool]] = [(root, False)]
    while stack:
        element, done = stack.pop()
        parts = [*element, *(by_id[key] for key in _references(element) if key in by_id)]
        if done:
            open_.discard(element)
            known[element] = 1 + sum(known.get(part, 0) for part in parts)
            if known[element] > _REPEATED * max_elements:
                raise ArtworkError(
                    f"drawing {name} repeats itself too often by references; "
                    "simplify it or raise artwork.max_elements"
                )
            continue
        if element in known or element in open_:
            continue
        open_.add(element)
        stack.append((element, True))
        for part in parts:
            if part in open_:
                raise ArtworkError(f"drawing {name} has a part that refers to itself; mend or redraw it")
            if part not in known:
                stack.append((part, False))
