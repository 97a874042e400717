"""The picture as read, and its separation into flat colors."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..errors import ArtworkError
from ..findings import Finding, Note
from .arrays import AS_IT_IS, Fractions, Homography, Labels, Palette, Plane, Rgb

__all__ = ["CLEAR", "Artwork", "FoundSheet", "PictureBytes", "Separation", "check_file"]

CLEAR = 8
"""Opacity of 255 up to which a pixel counts as fully transparent, and is background."""


@dataclass(frozen=True, slots=True)
class PictureBytes:
    """A picture file that is held in memory.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        By which messages call it.
    """

    data: bytes
    name: str = "in memory"


@dataclass(frozen=True, slots=True)
class FoundSheet:
    """Where a sheet of paper was found in a photograph, for people to look at.

    Parameters
    ----------
    shown : uint8 array of shape (h, w, 3)
        The upright photograph, small.
    corners : float64 array of shape (4, 2)
        In px of the photograph, from the upper left one as seen, clockwise.
    scale : float
        Pixels of `shown` for one of the photograph.
    inward_px : float
        How far its sides bend inward from lines between the corners, at most, in px of the photograph.
    """

    shown: Rgb
    corners: Fractions
    scale: float
    inward_px: float


@dataclass(frozen=True, slots=True)
class Artwork:
    """A picture, upright, in sRGB, at working size.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        Straight (not premultiplied) sRGB; unspecified where alpha is 0.
    alpha : float32 array of shape (h, w)
        Opacity 0 to 1; all ones for an opaque picture.
    source_px : (int, int)
        Width and height of the upright source picture in pixels, cropped and straightened.
    scale : float
        Working pixels per source pixel, the same both ways; pixel centers stay at half-integers.
    has_alpha : bool
        Whether the source carries transparency that separates background from art.
    lossy : bool
        Whether the source was saved with lossy compression.
    notes : tuple of Note
        What was done to the picture while reading, such as light divided out.
    to_source : tuple of 9 floats
        Takes pixels of this picture, before its working size, to those of the upright source.
    kind : str
        What the picture was taken for: flat, checkerboard, dithered, screenshot or paper.
    sheet : FoundSheet or None
        Which sheet was found and made straight; None where none was looked for, or the corners were given.
    """

    rgb: Rgb
    alpha: Plane
    source_px: tuple[int, int]
    scale: float
    has_alpha: bool
    lossy: bool
    notes: tuple[Note, ...] = ()
    to_source: Homography = AS_IT_IS
    kind: str = "flat"
    sheet: FoundSheet | None = None


@dataclass(frozen=True, slots=True)
class Separation:
    """Flat colors of a picture and the pixel each belongs to.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 is background, i is `colors[i - 1]`.
    colors : uint8 array of shape (k, 3)
        sRGB, by falling share; enclosed ground stands first.
    background : (int, int, int) or None
        Color of the ground; None where it is transparent, or nothing is background.
    shares : float64 array of shape (k,)
        Share that each color covers, enclosed ground too, of all but the background.
    findings : tuple of Finding
        Such as fewer colors found than asked for.
    shown : float64 array of shape (k + 1, 3) or None
        The colors of labels 0 to k as they stand in the picture, whatever the user calls them: edge pixels
        mix these. None where they are `background` and `colors`.
    lossy : bool
        Whether the picture shows traces of lossy compression or noise, whatever it is saved as.
    evened : uint8 array of shape (h, w, 3) or None
        The picture without its shadows and shading, edges too: boundaries are placed by it. None where it has
        neither.
    enclosed : int or None
        Which of `colors` is no color of the art but ground that it encloses.
    notes : tuple of Note
        What was taken for the ground.
    """

    labels: Labels
    colors: Palette
    background: tuple[int, int, int] | None
    shares: Fractions
    findings: tuple[Finding, ...] = ()
    shown: Fractions | None = None
    lossy: bool = False
    evened: Rgb | None = None
    enclosed: int | None = None
    notes: tuple[Note, ...] = ()


def check_file(picture: Path | PictureBytes, most_mib: float) -> None:
    """Refuse what is no ordinary file, or larger than a picture may be, before a byte is read.

    A missing file passes: opening it says so.

    Raises
    ------
    ArtworkError
        With what it is instead, or the bound.
    OSError
        If it cannot be looked at.
    """
    if isinstance(picture, PictureBytes):
        size = len(picture.data)
    else:
        if picture.is_dir():
            raise ArtworkError(f"{picture} is a folder; give one picture file")
        if not picture.exists():
            return
        if not picture.is_file():
            raise ArtworkError(f"{picture} is no ordinary file; give one picture file")
        size = picture.stat().st_size
    if size > most_mib * 2**20:
        raise ArtworkError(
            f"picture {picture.name} is larger than {most_mib:g} MiB; "
            "make it smaller or raise artwork.max_file_mib"
        )
