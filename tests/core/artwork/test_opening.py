"""A picture opened: bounds on its size to the pixel, and what its header and its notes say of it."""

from __future__ import annotations

import io
import struct
import warnings

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork.opening import (
    MIN_SIDE_PX,
    Source,
    check_size,
    decoding,
    focal_length_px,
    is_svg,
    open_picture,
)
from reliefsmith.errors import ArtworkError

WIDE = Image.fromarray(np.full((40, 60, 3), (200, 30, 30), np.uint8))
ORIENTATION, EXIF, FOCAL_35MM = 0x0112, 0x8769, 0xA405


@pytest.mark.parametrize("size", [(MIN_SIDE_PX, MIN_SIDE_PX), (1000, 1000), (62_500, MIN_SIDE_PX)])
def test_a_picture_of_just_the_limits_is_taken(size: tuple[int, int]) -> None:
    check_size(size, "kite.png", 1.0)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((MIN_SIDE_PX - 1, 500), r"kite\.png is only 15 x 500 px; it needs at least 16 px a side"),
        ((500, MIN_SIDE_PX - 1), r"only 500 x 15 px"),
        ((1001, 1000), r"1\.0 megapixels, more than 1; make it smaller or raise artwork\.max_megapixels"),
    ],
)
def test_one_beyond_them_is_refused_with_what_to_do(size: tuple[int, int], words: str) -> None:
    with pytest.raises(ArtworkError, match=words):
        check_size(size, "kite.png", 1.0)


def noted(orientation: object = None, focal: object = None, kind: str = "JPEG") -> Source:
    """Open a picture with notes of a camera."""
    notes = Image.Exif()
    if orientation is not None:
        notes[ORIENTATION] = orientation
    if focal is not None:
        notes.get_ifd(EXIF)[FOCAL_35MM] = focal
    out = io.BytesIO()
    WIDE.save(out, kind, exif=notes)
    return open_picture(out.getvalue(), "kite", max_megapixels=1.0)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize(("written", "read"), [(1, 1), (2, 2), (8, 8), (9, 1), (0, 1), (None, 1)])
def test_an_orientation_is_1_to_8_and_else_none(kind: str, written: int | None, read: int) -> None:
    assert noted(written, kind=kind).orientation == read


def test_what_is_no_whole_number_is_no_orientation() -> None:
    """The same tag as text: type 2 of TIFF 6.0, a digit and a zero."""
    notes = Image.Exif()
    notes[ORIENTATION] = 6
    number, text = b"\x00\x03\x00\x00\x00\x01\x00\x06", b"\x00\x02\x00\x00\x00\x026\x00"
    out = io.BytesIO()
    WIDE.save(out, "JPEG", exif=notes.tobytes().replace(number, text))
    source = open_picture(out.getvalue(), "kite", max_megapixels=1.0)
    assert source.image.getexif()[ORIENTATION] == "6"
    assert source.orientation == 1


def test_a_tiff_is_turned_by_its_decoder() -> None:
    assert noted(6, kind="TIFF").orientation == 1


@pytest.mark.parametrize(("focal", "pixels"), [(36, 60.0), (27, 45.0), (1, 60 / 36), (0, None), (None, None)])
def test_a_focal_length_is_told_against_film_36_mm_wide(focal: int | None, pixels: float | None) -> None:
    """EXIF 2.3, FocalLengthIn35mmFilm: 36 is as long as the picture's longer side, 0 is unknown."""
    assert focal_length_px(noted(focal=focal).image) == (None if pixels is None else pytest.approx(pixels))


@pytest.mark.parametrize(
    ("left", "orientation", "pixels"), [(14, 1, None), (40, 6, None), (54, 6, None), (58, 6, 45.0)]
)
def test_of_notes_that_are_cut_off_what_is_there_is_read_without_a_word(
    left: int, orientation: int, pixels: float | None
) -> None:
    """Of 62 bytes: before any tag, behind the first table, in the second one, behind its tag."""
    notes = Image.Exif()
    notes[ORIENTATION] = 6
    notes.get_ifd(EXIF)[FOCAL_35MM] = 27
    out = io.BytesIO()
    WIDE.save(out, "JPEG", exif=notes.tobytes()[:left])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        source = open_picture(out.getvalue(), "kite", max_megapixels=1.0)
        assert (source.orientation, focal_length_px(source.image)) == (orientation, pixels)


class _Broken:
    """A picture whose notes make the decoder raise."""

    format, size = "JPEG", (60, 40)

    def getexif(self) -> Image.Exif:
        raise struct.error("unpack requires a buffer of 2 bytes")


def test_notes_that_a_decoder_stumbles_over_are_none() -> None:
    assert focal_length_px(_Broken()) is None


def bomb(pixels: int, most: float) -> str:
    """Return what is said where Pillow warns of so many pixels, as an error or at all."""
    words = f"Image size ({pixels} pixels) exceeds limit of 89478485 pixels, could be bomb attack."
    try:
        with decoding("kite.png", most):
            warnings.warn(words, Image.DecompressionBombWarning, stacklevel=1)
    except ArtworkError as error:
        return str(error)
    return ""


def test_pillows_warning_is_an_error_up_to_89_megapixels_and_none_for_who_asked_for_more() -> None:
    assert bomb(100_000_000, 89.0) == (
        "picture kite.png has 100.0 megapixels, more than 89; make it smaller or raise artwork.max_megapixels"
    )
    assert bomb(100_000_000, 89.1) == ""


def test_more_pixels_than_are_ever_decoded_cannot_be_asked_for() -> None:
    for pixels, advice in ((178_000_000, "raise artwork.max_megapixels"), (179_000_000, "decoded safely")):
        with pytest.raises(ArtworkError, match=advice), decoding("kite.png", 40.0):
            raise Image.DecompressionBombError(f"Image size ({pixels} pixels) exceeds limit")
    too_large = "too large to be decoded safely; make it smaller"
    with pytest.raises(ArtworkError, match=too_large), decoding("kite.png", 40.0):
        raise Image.DecompressionBombError("too large")


@pytest.mark.parametrize(
    ("error", "words"),
    [(MemoryError(), "needs more memory than there is"), (struct.error(), "is damaged or cut off")],
)
def test_what_a_decoder_raises_is_one_line(error: Exception, words: str) -> None:
    with pytest.raises(ArtworkError, match=f"picture kite.png {words}"), decoding("kite.png", 40.0):
        raise error


@pytest.mark.parametrize(
    ("text", "is_drawing"),
    [
        (b"<svg/>", True),
        (b"\xef\xbb\xbf  <?xml version='1.0'?><plist/>", True),
        (b"<!-- a kite --><g/>", True),
        (b"<html><svg/></html>", True),
        (b"<html></html>", False),
        (b"kite <svg/>", False),
        ("\ufeff<svg/>".encode("utf-16-le"), True),
        ("\ufeff<svg/>".encode("utf-16-be"), True),
        (b"\x89PNG\r\n", False),
    ],
)
def test_a_drawing_is_xml_text(text: bytes, is_drawing: bool) -> None:
    assert is_svg(text) is is_drawing


@pytest.mark.parametrize(("lossless", "lossy"), [(True, False), (False, True)])
@pytest.mark.parametrize("frames", [1, 2])
def test_a_webp_says_in_its_chunks_whether_it_is_lossy(lossless: bool, lossy: bool, frames: int) -> None:
    """RFC 9649; in an animation the chunk follows the header of its first frame."""
    out = io.BytesIO()
    more = [Image.new("RGB", WIDE.size, (20, 60, 200))] * (frames - 1)
    WIDE.save(out, "WEBP", lossless=lossless, save_all=frames > 1, append_images=more)
    assert open_picture(out.getvalue(), "kite.webp", max_megapixels=1.0).lossy is lossy


@pytest.mark.parametrize(("kind", "lossy"), [("JPEG", True), ("PNG", False), ("TIFF", False), ("BMP", False)])
def test_other_kinds_are_lossy_or_not(kind: str, lossy: bool) -> None:
    assert noted(kind=kind).lossy is lossy


def test_a_tiff_is_lossy_where_it_is_packed_so() -> None:
    out = io.BytesIO()
    WIDE.save(out, "TIFF", compression="jpeg")
    assert open_picture(out.getvalue(), "kite.tif", max_megapixels=1.0).lossy


@pytest.mark.parametrize(("white_is_zero", "ends"), [(False, (0.0, 65535.0)), (True, (65535.0, 0.0))])
def test_deep_grey_of_a_tiff_ends_where_its_tags_say(white_is_zero: bool, ends: tuple[float, float]) -> None:
    """TIFF 6.0: BitsPerSample (258) of 16, PhotometricInterpretation (262) of 0 where white is zero."""
    out = io.BytesIO()
    grey = Image.fromarray(np.full((20, 20), 9000, np.uint16))
    grey.save(out, "TIFF", tiffinfo={262: 0} if white_is_zero else {})
    assert open_picture(out.getvalue(), "kite.tif", max_megapixels=1.0).ends == ends
