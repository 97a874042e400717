"""Read a picture: any everyday file to upright sRGB pixels at working size."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

from ..errors import ArtworkError
from ..findings import Note, note
from ..model.arrays import Homography
from ..model.artwork import CLEAR, Artwork, PictureBytes
from ..progress import Progress, Steps, drained
from ..recipe.sections import ArtworkSettings
from .blocks import shrunk
from .checkered import without_checkerboard
from .decode import decode_steps, load
from .framing import framed
from .fringe import without_fringe
from .gamma import decoded
from .opening import Source, decoding, is_svg, open_picture, read_bytes
from .profile import to_srgb
from .resize import enlarged, enlargement, reduction
from .rims import without_rims
from .transparency import solid_alpha
from .treat import treated_steps
from .unevenlight import divided_steps

__all__ = ["read", "read_steps"]


def read_steps(picture: Path | PictureBytes, artwork: ArtworkSettings) -> Steps[Artwork]:
    """Read a picture in small steps.

    Parameters
    ----------
    picture : Path or PictureBytes
        PNG, JPEG, WebP, TIFF, BMP, GIF, SVG, or HEIC where its extra is installed. What kind it is, is
        told by the content, not by the name.
    artwork : ArtworkSettings

    Returns
    -------
    Artwork

    Raises
    ------
    ArtworkError
        If the file is missing, damaged, no picture, too small, too large, fully transparent, or shows a
        scene.
    """
    yield Progress("opening the picture", 0.0)
    data = read_bytes(picture, artwork)
    if is_svg(data):
        from .vector import render  # noqa: PLC0415 - XML and processes, which pictures do not need

        value = _drawing(render(data, picture.name, artwork), picture.name, artwork)
    else:
        source = open_picture(data, picture.name, max_megapixels=artwork.max_megapixels)
        value = yield from _raster_steps(source, artwork)
    value = yield from divided_steps(value, photographed=value.kind == "paper")
    return _mirrored(value) if artwork.mirror else value


read = drained(read_steps)


def _mirrored(artwork: Artwork) -> Artwork:
    """Return a picture with left and right exchanged."""
    flip = np.array([[-1.0, 0.0, artwork.source_px[0]], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    rows = np.array(artwork.to_source).reshape(3, 3) @ flip
    to_source: Homography = tuple(rows.reshape(-1).tolist())
    words = (
        "The picture was mirrored left to right, and texts of the front with it. For a stamp, print the face"
        " in a flexible filament (TPU of 85 to 95 Shore A, common practice): a hard one leaves gaps."
    )
    return replace(
        artwork,
        rgb=np.ascontiguousarray(artwork.rgb[:, ::-1]),
        alpha=np.ascontiguousarray(artwork.alpha[:, ::-1]),
        to_source=to_source,
        notes=(*artwork.notes, note("mirrored", words)),
    )


def _raster_steps(source: Source, settings: ArtworkSettings) -> Steps[Artwork]:
    """Decode to working size."""
    with decoding(source.name, settings.max_megapixels):
        yield Progress("decoding the picture", 0.1)
        load(source.image)
        yield Progress("looking what kind of picture it is", 0.2)
        ready = yield from treated_steps(source, settings)
        yield Progress("looking what is cut out", 0.3)
        source = ready.source
        width, height = source.image.size
        source_px = (height, width) if source.orientation >= 5 else (width, height)
        side, freed = 1, tuple[Note, ...]()
        if source.image.format not in ("JPEG", "MPO"):  # their blocks are looked through once reduced
            load(source.image)
            image, side = (source.image, 1) if source.lossy else shrunk(source.image)
            image, freed = _cut_out(image, settings)
            source = replace(source, image=image)
        factor = reduction(source.image.size, powers_of_two=source.image.format in ("JPEG", "MPO"))
        reduced = yield from decode_steps(source, factor)
        if source.image.format in ("JPEG", "MPO"):
            reduced, freed = _cut_out(reduced, settings)
    yield Progress("matching colors to sRGB", 0.85)
    larger = enlargement(reduced.size)
    image = to_srgb(reduced, source.profile)
    image, notes = without_rims(decoded(image, source.encoding) if source.encoding else image)
    yield Progress("reading the picture", 0.9)
    value = _artwork(enlarged(image, larger), source_px, larger / (factor * side), lossy=source.lossy)
    kind = "checkerboard" if any(item.code == "checkerboard-removed" for item in freed) else ready.kind
    return replace(
        value, notes=(*ready.notes, *freed, *notes), to_source=ready.to_source, kind=kind, sheet=ready.sheet
    )


def _cut_out(image: Image.Image, settings: ArtworkSettings) -> tuple[Image.Image, tuple[Note, ...]]:
    """Take out what stands for transparency, and what is left of it along edges."""
    checkered: tuple[Note, ...] = ()
    if settings.kind != "flat":
        image, checkered = without_checkerboard(image)
    image, freed = without_fringe(image)
    return image, checkered + freed


def _drawing(image: Image.Image, name: str, settings: ArtworkSettings) -> Artwork:
    """Say what was left out of a drawing, where nothing is left as well."""
    left_out = image.info["left_out"]
    part = framed(image, settings)
    image = part.image
    if not left_out:
        value = _artwork(image, image.size, 1.0, lossy=False)
        return replace(value, notes=part.notes, to_source=part.to_source)
    words = f"{left_out} picture{'s' * (left_out > 1)} or part{'s' * (left_out > 1)} from outside the file"
    try:
        value = _artwork(image, image.size, 1.0, lossy=False)
    except ArtworkError as error:
        raise ArtworkError(
            f"drawing {name} shows nothing without {words}, which are never fetched; embed them and retry"
        ) from error
    message = f"{words} that the drawing names were left out; embed them if they belong to it"
    notes = (note("outside-left-out", message), *part.notes)
    return replace(value, notes=notes, to_source=part.to_source)


def _artwork(image: Image.Image, source_px: tuple[int, int], scale: float, *, lossy: bool) -> Artwork:
    if image.mode == "RGBA":
        pixels = np.asarray(image)
        alpha = pixels[..., 3]
        if not (alpha > CLEAR).any():
            raise ArtworkError("the picture is fully transparent; make its art opaque")
        rgb, alpha, has_alpha = solid_alpha(np.ascontiguousarray(pixels[..., :3]), alpha)
        if not (alpha >= 128).any():
            raise ArtworkError(
                "the picture shows nothing but faint, half-transparent traces; make its art opaque"
            )
        return Artwork(rgb, alpha.astype(np.float32) / np.float32(255), source_px, scale, has_alpha, lossy)
    rgb = np.asarray(image)
    opaque = np.broadcast_to(np.float32(1), rgb.shape[:2])  # one value in memory
    return Artwork(rgb, opaque, source_px, scale, False, lossy)
