"""What a picture's kind asks for before it is read as a drawing: a part cut out, dots folded, a refusal."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from ..errors import ArtworkError
from ..findings import Note, note
from ..model.arrays import AS_IT_IS, Homography
from ..model.artwork import FoundSheet
from ..sections import ArtworkSettings
from .decode import converter, has_transparency, load, turned
from .dither import folded
from .framing import Framed, cut, framed
from .kinds import kind_of
from .opening import FORMATS, Source, focal_length_px
from .screen import Box, emblem_box
from .sheet.seek import is_photograph, sought
from .transparency import CLEAR

__all__ = ["Treated", "treated"]

_SOLID = 247  # opacity of 255 from which a pixel's color is what is seen


@dataclass(frozen=True, slots=True)
class Treated:
    """A source made ready, its kind, and what was done to it.

    Parameters
    ----------
    source : Source
        As it was opened, nothing decoded, where nothing had to be done.
    kind : str
    to_source : tuple of 9 floats
        From its pixels to those of the upright source, row by row of a 3 x 3 matrix.
    notes : tuple of Note
    sheet : FoundSheet or None
        Which sheet of paper was found and made straight.
    """

    source: Source
    kind: str
    to_source: Homography = AS_IT_IS
    notes: tuple[Note, ...] = ()
    sheet: FoundSheet | None = None


def treated(source: Source, data: bytes, settings: ArtworkSettings) -> Treated:
    """Cut, straighten or fold a source as the settings, or else its kind, ask.

    Parameters
    ----------
    source : Source
    data : bytes
        Of its whole file: what is compressed by the block is decoded whole only to be looked at.
    settings : ArtworkSettings

    Raises
    ------
    ArtworkError
        If it shows a scene or noise, or what the settings ask for cannot be done.
    """
    by_hand = bool(settings.crop or settings.corners)
    if by_hand:
        source, part = _framed(source, settings)
    else:
        part = Framed(source.image)
    kind = settings.kind
    if settings.corners and kind == "auto":
        kind = "paper"
    if kind == "auto":
        kind = _told(source, data)
    perhaps = kind == "flat" and settings.kind == "auto"
    if not by_hand and (kind in ("paper", "scene") or (perhaps and _is_photograph(source, data))):
        return _from_photograph(source, data, settings, kind)
    if kind == "screenshot" and not by_hand:
        source = _upright(source)
        box = emblem_box(np.asarray(source.image.convert("RGB")))
        if box is None and settings.kind == "auto":
            kind = "flat"
        else:
            source, part = _emblem(source, box)
    elif kind == "dithered":
        source = replace(_upright(source), image=_folded(_upright(source).image))
        words = (
            "dots that stand for colors between were made those colors; artwork.kind = flat keeps the dots"
        )
        part = replace(part, notes=(*part.notes, note("dots-folded", words)))
    return Treated(source, kind, part.to_source, part.notes)


def _from_photograph(source: Source, data: bytes, settings: ArtworkSettings, kind: str) -> Treated:
    """Make the sheet of paper in a photograph straight; without one, paper is read as it lies."""
    whole = _upright(replace(source, image=_decoded(source, data)))
    sheet, found = sought(whole.image)
    if sheet is not None:
        corners = tuple((float(x), float(y)) for x, y in sheet.corners)
        named = replace(settings, corners=corners)
        part = framed(whole.image, named, focal_length_px(source.image), sheet.inward_px)
        straight = replace(whole, image=part.image)
        return Treated(straight, "paper", part.to_source, (found, *part.notes), sheet)
    if kind != "scene":
        return Treated(source, kind, notes=(found,) if kind == "paper" else ())
    raise ArtworkError(
        f"picture {source.name} looks like a photograph of a scene, or noise, without areas of one color;"
        " send a drawing, or a photograph of a drawing on paper, or set artwork.kind = flat to go on"
    )


def _is_photograph(source: Source, data: bytes) -> bool:
    """Return whether an opaque source that may be flat was photographed, as sheets on even tables are."""
    if has_transparency(source.image):
        return False
    image = _decoded(source, data)
    return is_photograph(converter(image, source.ends, keep_inks=False)(image).convert("RGB"))


def _decoded(source: Source, data: bytes) -> Image.Image:
    """Return the picture whole; a JPEG is opened anew: once decoded, it cannot be decoded smaller."""
    image = source.image
    if image.format in ("JPEG", "MPO"):
        image = Image.open(io.BytesIO(data), formats=FORMATS)
    load(image)
    return image


def _told(source: Source, data: bytes) -> str:
    """Return the kind of a source by all of its pixels; a cut-out is drawn, if perhaps dithered."""
    image = _decoded(source, data)
    image = converter(image, source.ends, keep_inks=False)(image)
    if image.mode != "RGBA":
        return kind_of(image)
    if image.getchannel("A").getextrema()[0] >= _SOLID:  # type: ignore[operator]
        return kind_of(image.convert("RGB"))
    paper = Image.new("RGBA", image.size, "white")
    paper.alpha_composite(image)
    return "dithered" if kind_of(paper.convert("RGB")) == "dithered" else "flat"


def _upright(source: Source) -> Source:
    """Return a source decoded and turned upright."""
    load(source.image)
    convert = converter(source.image, source.ends, keep_inks=source.profile is not None)
    return replace(source, image=turned(convert(source.image), source.orientation), orientation=1)


def _framed(source: Source, settings: ArtworkSettings) -> tuple[Source, Framed]:
    """Return the part of a source that the settings name."""
    focal_px = focal_length_px(source.image)
    source = _upright(source)
    part = framed(source.image, settings, focal_px)
    return replace(source, image=part.image), part


def _emblem(source: Source, box: Box | None) -> tuple[Source, Framed]:
    """Return what a screenshot, upright, shows in a box."""
    width, height = source.image.size
    if box is None:
        raise ArtworkError(
            f"picture {source.name} shows nothing large that stands apart, as on a screenshot; set"
            " artwork.crop to the part that is wanted"
        )
    left, top, right, low = box
    part = cut(source.image, box)
    words = (
        f"the picture looks like a screenshot of {width} x {height} px; what it shows was cut out, as"
        f" artwork.crop = [{left}, {top}, {right - left}, {low - top}] does; give another crop, or set"
        " artwork.kind = flat to keep all of it"
    )
    return replace(source, image=part.image), replace(part, notes=(note("screenshot-cropped", words),))


def _folded(image: Image.Image) -> Image.Image:
    """Return a dithered picture of mode L, RGB or RGBA with its dots folded."""
    if not has_transparency(image):
        return Image.fromarray(folded(np.asarray(image.convert("RGB"))))
    rgba = np.array(image.convert("RGBA"))
    rgba[..., :3] = folded(np.ascontiguousarray(rgba[..., :3]), rgba[..., 3] > CLEAR)
    return Image.fromarray(rgba)
