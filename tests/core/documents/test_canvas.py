"""The page: pictures packed as PNG read back as they were; lines of type keep within their width."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from reliefsmith.documents.canvas import Canvas, legible, png_bytes

RANDOM = np.random.default_rng(20)


@pytest.mark.parametrize(("mode", "channels"), [("L", 1), ("RGB", 3), ("RGBA", 4)])
@pytest.mark.parametrize("size", [(1, 1), (3, 256), (7, 257), (300, 600)])
def test_a_packed_picture_reads_back_the_same(mode, channels, size):
    values = RANDOM.integers(0, 256, (size[1], size[0], channels), dtype=np.uint8)
    picture = Image.fromarray(values[..., 0] if channels == 1 else values)
    assert picture.mode == mode
    with Image.open(BytesIO(png_bytes(picture))) as found:
        found.load()
        assert (found.mode, found.size, found.info) == (mode, size, {})
        assert (np.asarray(found) == np.asarray(picture)).all()


def test_a_packed_picture_says_its_physical_size():
    with Image.open(BytesIO(png_bytes(Image.new("RGB", (30, 20)), dpi=300))) as found:
        assert found.info["dpi"] == pytest.approx((300, 300), abs=0.02)  # whole pixels a meter


def test_wrapped_lines_fit_and_lose_no_letter():
    canvas = Canvas(100, 50)
    text = "Paper kites over the reeds at Larkwater, Llanfairpwllgwyngyllgogerychwyrndrobwll and AVAVA."
    for width in (12.0, 25.0, 60.0, 400.0):
        lines = canvas.wrapped(text, width)
        assert all(canvas.width(line) <= width for line in lines)
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert canvas.wrapped(text, 400.0) == [text]


def test_letters_that_the_font_lacks_become_boxes():
    assert legible("Oda Fennimore, größer") == "Oda Fennimore, größer"
    assert len(legible("李明")) == 2
    assert "李" not in legible("李明")
