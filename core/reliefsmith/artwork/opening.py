"""Opening a picture file: which formats, which sizes, before a single pixel is decoded."""

from __future__ import annotations

import io
import logging
import re
import struct
import warnings
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, UnidentifiedImageError

from ..errors import ArtworkError
from ..model.artwork import PictureBytes, check_file
from ..recipe.sections import ArtworkSettings
from .gamma import Encoding, encoding_of

__all__ = [
    "FORMATS",
    "MIN_SIDE_PX",
    "Source",
    "check_size",
    "decoding",
    "focal_length_px",
    "is_svg",
    "open_picture",
    "read_bytes",
]

FORMATS = ("PNG", "JPEG", "WEBP", "TIFF", "BMP", "GIF")
_TIFF_MARKS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_BITS, _PHOTOMETRIC, _WHITE_IS_ZERO = 258, 262, 0  # tags and a value of TIFF 6.0
_READABLE = "PNG, JPEG, WebP, TIFF, BMP, GIF, HEIC or SVG"

MIN_SIDE_PX = 16  # below this no shape can be told
_WARNED_PIXELS = 89_000_000  # Pillow warns of larger pictures; up to here its warning is an error
_USUAL = ArtworkSettings()
_HEAD_BYTES = 4096  # by which a drawing is told
_ORIENTATION = 0x0112  # EXIF tag
_EXIF, _FOCAL_35MM, _FILM_MM = 0x8769, 0xA405, 36.0

# Pillow logs oddities of damaged files; without any handler Python would print them on stderr.
logging.getLogger("PIL").addHandler(logging.NullHandler())

# What Pillow's decoders raise on damaged files, as far as known; they have no common root.
_DECODER_ERRORS = (
    OSError,
    EOFError,
    SyntaxError,
    ValueError,
    IndexError,
    KeyError,
    TypeError,
    AttributeError,
    OverflowError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)


@dataclass(frozen=True, slots=True)
class Source:
    """An opened picture, nothing decoded yet.

    Parameters
    ----------
    image : PIL image
    name : str
        Of the file, for messages.
    orientation : int
        EXIF orientation, 1 to 8.
    profile : bytes or None
        Embedded ICC profile.
    lossy : bool
        Whether it was saved with lossy compression.
    encoding : Encoding or None
        What a PNG without a profile tells of its values.
    ends : (float, float)
        Values of black and white where more than 8 bits are stored as whole numbers.
    """

    image: Image.Image
    name: str
    orientation: int
    profile: bytes | None
    lossy: bool
    encoding: Encoding | None = None
    ends: tuple[float, float] = (0.0, 65535.0)


def read_bytes(picture: Path | PictureBytes, artwork: ArtworkSettings = _USUAL) -> bytes:
    """Read a picture file whole.

    Raises
    ------
    ArtworkError
        If it is missing, no file, empty, or larger than the settings allow.
    """
    try:
        check_file(picture, artwork.max_file_mib)
        data = picture.data if isinstance(picture, PictureBytes) else picture.read_bytes()
    except ValueError as error:  # an ArtworkError from above, or a name with a NUL character
        if isinstance(error, ArtworkError):
            raise
        raise ArtworkError(f"cannot read picture {str(picture)!r}: {error}") from error
    except OSError as error:
        raise ArtworkError(f"cannot read picture {picture}: {error.strerror or error}") from error
    if not data:
        raise ArtworkError(f"picture {picture.name} is empty; give a {_READABLE} file")
    return data


def open_picture(data: bytes, name: str, *, max_megapixels: float) -> Source:
    """Open a picture and check its size from the header.

    Raises
    ------
    ArtworkError
        If it is no picture in a known format, or too small or too large.
    """
    with decoding(name, max_megapixels):
        try:
            image: Image.Image = Image.open(io.BytesIO(data), formats=FORMATS)
        except UnidentifiedImageError:
            if data.startswith(_TIFF_MARKS):
                raise ArtworkError(
                    f"picture {name} is a TIFF that is damaged or cut off, or of a kind that is not read; "
                    "save it with 8 bits a channel, or as PNG"
                ) from None
            image = _open_heic(data, name, max_megapixels)
    check_size(image.size, name, max_megapixels)
    about = (_orientation(image), _profile(image), _lossy(image, data), encoding_of(image), _ends(image))
    return Source(image, name, *about)


def is_svg(data: bytes) -> bool:
    """Return whether the file is XML text rather than a raster picture."""
    head = data[:_HEAD_BYTES]
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"", "utf-8")):
        if head.startswith(mark):
            text = head.decode(encoding, errors="ignore").lstrip("\ufeff \t\r\n")
            return text.startswith("<") and (
                "<svg" in text or text.startswith(("<?xml", "<!--", "<!DOCTYPE"))
            )
    return False


def check_size(size: tuple[int, int], name: str, max_megapixels: float) -> None:
    """Refuse a picture of (width, height) that is too small or too large.

    Raises
    ------
    ArtworkError
        With the size found and the bound.
    """
    width, height = size
    if min(width, height) < MIN_SIDE_PX:
        raise ArtworkError(
            f"picture {name} is only {width} x {height} px; it needs at least {MIN_SIDE_PX} px a side"
        )
    if width * height > max_megapixels * 1e6:
        raise ArtworkError(
            f"picture {name} has {width * height / 1e6:.1f} megapixels, more than {max_megapixels:g}; "
            "make it smaller or raise artwork.max_megapixels"
        )


@contextmanager
def decoding(name: str, max_megapixels: float) -> Iterator[None]:
    """Turn whatever a decoder raises on a damaged file into one `ArtworkError`."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # odd metadata does not concern the user
        asked = max_megapixels * 1e6 > _WARNED_PIXELS
        warnings.simplefilter("ignore" if asked else "error", Image.DecompressionBombWarning)
        try:
            yield
        except ArtworkError:
            raise
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise ArtworkError(_too_large(name, error, max_megapixels)) from error
        except MemoryError as error:
            raise ArtworkError(f"picture {name} needs more memory than there is; make it smaller") from error
        except _DECODER_ERRORS as error:
            raise ArtworkError(f"picture {name} is damaged or cut off; save it again and retry") from error


def _too_large(name: str, error: Exception, max_megapixels: float) -> str:
    """Return what to do about a picture that Pillow would not open: its text names the pixels."""
    found = re.search(r"(\d+) pixels", str(error))
    if found is None:
        return f"picture {name} is too large to be decoded safely; make it smaller"
    megapixels = int(found[1]) / 1e6
    if megapixels > 2 * _WARNED_PIXELS / 1e6:
        most = f"the {2 * _WARNED_PIXELS / 1e6:.0f} that are decoded safely; make it smaller"
    else:
        most = f"{max_megapixels:g}; make it smaller or raise artwork.max_megapixels"
    return f"picture {name} has {megapixels:.1f} megapixels, more than {most}"


def _open_heic(data: bytes, name: str, max_megapixels: float) -> Image.Image:
    if data[4:8] != b"ftyp":
        raise ArtworkError(f"{name} is no picture that can be read; give a {_READABLE} file")
    try:
        import pillow_heif  # noqa: PLC0415 - an optional extra
    except ImportError as error:
        raise ArtworkError(
            f"picture {name} looks like HEIC; install the extra reliefsmith[heic] or save it as PNG or JPEG"
        ) from error
    try:
        file = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        check_size(file.size, name, max_megapixels)
        image: Image.Image = file.to_pillow()
    except RuntimeError as error:  # what libheif raises where a file breaks its own limits
        raise ValueError(str(error)) from error
    image.format = "HEIF"
    return image


def _noted(image: Image.Image, read: Callable[[Image.Exif], object]) -> object:
    """Return what is read of a picture's EXIF, None where that is damaged."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # odd metadata does not concern the user
            return read(image.getexif())
    except _DECODER_ERRORS:
        return None


def _orientation(image: Image.Image) -> int:
    if image.format in ("HEIF", "TIFF"):  # their decoders turn the pixels, and give the size as turned
        return 1
    value = _noted(image, lambda notes: notes.get(_ORIENTATION))
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def focal_length_px(image: Image.Image) -> float | None:
    """Return the focal length in pixels by what a camera wrote of it, None where it wrote nothing.

    EXIF 2.3 gives it against 35 mm film (tag 0xA405), whose frame is 36 mm wide.
    """
    value = _noted(image, lambda notes: notes.get_ifd(_EXIF).get(_FOCAL_35MM))
    return max(image.size) * value / _FILM_MM if isinstance(value, int) and value > 0 else None


def _profile(image: Image.Image) -> bytes | None:
    profile = image.info.get("icc_profile")
    return profile if isinstance(profile, bytes) and profile else None


def _ends(image: Image.Image) -> tuple[float, float]:
    """Return the values of black and white of deep grey, which Pillow leaves as a TIFF stores them."""
    tags = getattr(image, "tag_v2", {})
    bits = tags.get(_BITS, (16,))[0]
    white = float(2 ** min(max(int(bits), 1), 16) - 1)
    return (white, 0.0) if tags and tags.get(_PHOTOMETRIC) == _WHITE_IS_ZERO else (0.0, white)


def _lossy(image: Image.Image, data: bytes) -> bool:
    if image.format == "WEBP":
        return _webp_is_lossy(data)
    if image.format == "TIFF":
        return image.info.get("compression") in ("jpeg", "tiff_jpeg", "webp")
    return image.format in ("JPEG", "MPO", "HEIF")


def _webp_is_lossy(data: bytes) -> bool:
    """Tell by the first image chunk: "VP8 " holds lossy pixels, "VP8L" lossless ones (RFC 9649)."""
    at = 12
    while at + 8 <= len(data):
        kind, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        if kind == b"ANMF":  # a frame: its image chunk follows 16 bytes of frame header
            at += 24
            continue
        if kind in (b"VP8 ", b"VP8L"):
            return kind == b"VP8 "
        at += 8 + size + (size & 1)
    return False
