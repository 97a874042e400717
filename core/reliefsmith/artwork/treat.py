"""What a picture's kind asks for before it is read as a drawing: a part cut out, dots folded, a refusal."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from ..errors import ArtworkError
from ..findings import Note, note
from ..model.arrays import AS_IT_IS, Homography
from ..model.artwork import CLEAR, FoundSheet
from ..progress import Progress, Steps
from ..recipe.sections import ArtworkSettings
from .decode import converter, has_transparency, load, turned
from .dither import folded
from .dropshadow import SOLID
from .framing import Framed, cut, framed
from .kinds import kind_of
from .opening import Source, focal_length_px
from .screen import Box, emblem_box
from .sheet.seek import may_be_photographed, sought

__all__ = ["Treated", "treated_steps"]


@dataclass(frozen=True, slots=True)
class Treated:
    """A source made ready, its kind, and what was done to it.

    Parameters
    ----------
    source : Source
        As it was opened, at most decoded, where nothing had to be done.
    kind : str
    to_source : tuple of 9 floats
        From its pixels to those of the upright source, row by row of a 3 x 3 matrix.
    notes : tuple of Note
    sheet : FoundSheet or None
        Which sheet was found and made straight.
    """

    source: Source
    kind: str
    to_source: Homography = AS_IT_IS
    notes: tuple[Note, ...] = ()
    sheet: FoundSheet | None = None


def treated_steps(source: Source, settings: ArtworkSettings) -> Steps[Treated]:
    """Cut, straighten or fold a source as the settings, or else its kind, ask.

    Parameters
    ----------
    source : Source
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
    if kind == "auto" or (kind == "paper" and not by_hand):
        looked_at = _whole(source)
        kind = (yield from _told_steps(looked_at)) if kind == "auto" else kind
        if not by_hand and kind in ("paper", "scene", "flat"):
            return _on_paper(source, looked_at, kind, settings)
    if kind == "scene":
        raise _no_drawing(source)
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


def _on_paper(source: Source, looked_at: Image.Image, kind: str, settings: ArtworkSettings) -> Treated:
    """Return a photograph with the sheet in it made straight, or the picture as it is where none is sure.

    Raises
    ------
    ArtworkError
        If it shows a scene and no sheet.
    """
    if kind == "flat" and (_is_cut_out(looked_at) or not may_be_photographed(_opaque(looked_at))):
        return Treated(source, kind)
    sheet, told = sought(_opaque(turned(looked_at, source.orientation)))
    if sheet is None and kind == "scene":
        raise _no_drawing(source)
    if sheet is None:
        return Treated(source, kind, notes=(told,))
    corners = tuple((float(x), float(y)) for x, y in sheet.corners)
    focal_px = focal_length_px(source.image)
    source = _upright(source)
    part = framed(source.image, replace(settings, corners=corners), focal_px, sheet.inward_px)
    source = replace(source, image=part.image)
    return Treated(source, "paper", part.to_source, (told, *part.notes), sheet)


def _no_drawing(source: Source) -> ArtworkError:
    return ArtworkError(
        f"picture {source.name} looks like a photograph of a scene, or noise, without areas of one color;"
        " send a drawing, or a photograph of a drawing on paper, set artwork.corners to the corners of a"
        " sheet in it, or set artwork.kind = flat to go on"
    )


def _whole(source: Source) -> Image.Image:
    """Return all pixels of a source in sRGB, not turned, only to be looked at."""
    load(source.image)
    return converter(source.image, source.ends, keep_inks=False)(source.image)


def _opaque(image: Image.Image) -> Image.Image:
    """Return a picture in mode RGB; one that is so is not copied."""
    return image if image.mode == "RGB" else image.convert("RGB")


def _is_cut_out(image: Image.Image) -> bool:
    return image.mode == "RGBA" and image.getchannel("A").getextrema()[0] < SOLID  # type: ignore[operator]


def _told_steps(image: Image.Image) -> Steps[str]:
    """Return the kind of a picture by all of its pixels; a cut-out is drawn, if perhaps dithered."""
    if not _is_cut_out(image):
        return kind_of(image if image.mode == "L" else _opaque(image))
    paper = Image.new("RGBA", image.size, "white")
    paper.alpha_composite(image)
    yield Progress("looking what kind of picture it is", 0.3)
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
