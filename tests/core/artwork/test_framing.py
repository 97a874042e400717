"""Cropped and straightened pictures: by hand, with a frame that leads back to the source."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.artwork.framing import SHEETS, homography, sheet_ratio
from reliefsmith.artwork.read import read
from reliefsmith.errors import ArtworkError
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import ArtworkSettings
from reliefsmith.walk.pipeline import Job

NAVY, YELLOW, RED = (27, 42, 73), (245, 184, 46), (216, 57, 43)


def _badge(size: int = 400) -> Image.Image:
    image = Image.new("RGB", (size, size), "white")
    draw = ImageDraw.Draw(image)
    draw.ellipse([0.1 * size, 0.1 * size, 0.9 * size, 0.9 * size], fill=NAVY)
    draw.rectangle([0.35 * size, 0.25 * size, 0.65 * size, 0.6 * size], fill=YELLOW)
    return image


def _areas(picture: Path, values: dict):
    return drain(Job(picture).steps(rs.Recipe().with_values(values), "flat"))["flat"]


def _seen(width: float, height: float, focal: float, tilt: tuple[float, float, float], size) -> np.ndarray:
    """Project a sheet (width, height) through a pinhole: turned about x, y, z in degrees."""
    a, b, c = np.radians(tilt)
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    sheet = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]]) * [width / 2, height / 2, 0]
    placed = sheet @ (about_z @ about_y @ about_x).T + [0, 0, 2.2 * max(width, height)]
    return placed[:, :2] / placed[:, 2:] * focal + np.array(size) / 2


@given(
    st.floats(0.5, 2.0),
    st.floats(0.6, 1.1),
    st.floats(-40, 40),
    st.floats(-40, 40),
    st.floats(-20, 20),
)
def test_the_ratio_of_a_sheet_follows_from_its_corners_and_the_focal_length(ratio, share, a, b, c) -> None:
    size = (4000, 3000)
    corners = _seen(ratio, 1.0, share * 4000, (a, b, c), size)
    assert sheet_ratio(corners, size, share * 4000) == pytest.approx(ratio, rel=1e-6)
    if min(abs(a), abs(b)) > 8:  # the corners tell the focal length by themselves
        assert sheet_ratio(corners, size) == pytest.approx(ratio, rel=1e-3)


@given(st.lists(st.floats(-30, 30), min_size=8, max_size=8))
def test_a_homography_takes_its_corners_where_they_shall_be(shifts) -> None:
    square = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 150.0], [0.0, 150.0]])
    targets = square + np.array(shifts).reshape(4, 2)
    matrix = homography(square, targets)
    there = np.column_stack([square, np.ones(4)]) @ matrix.T
    assert np.allclose(there[:, :2] / there[:, 2:], targets, atol=1e-6)


def test_a_cropped_picture_is_the_part_alone(tmp_path: Path) -> None:
    """Cut by the setting or beforehand: the same areas; the frame leads back to the whole picture."""
    whole = Image.new("RGB", (900, 700), RED)
    whole.paste(_badge(), (310, 140))
    whole.save(tmp_path / "whole.png")
    _badge().save(tmp_path / "part.png")
    crop = {"artwork.crop": [310, 140, 400, 400]}
    by_hand, alone = _areas(tmp_path / "whole.png", crop), _areas(tmp_path / "part.png", {})
    assert all(one.equals(two) for one, two in zip(by_hand.polygons, alone.polygons, strict=True))
    assert by_hand.frame.image_px == (400, 400)
    assert by_hand.frame.to_source == (1, 0, 310, 0, 1, 140, 0, 0, 1)
    assert alone.frame.to_source == (1, 0, 0, 0, 1, 0, 0, 0, 1)
    assert "picture-cropped" in {item.code for item in by_hand.notes}


@pytest.mark.parametrize("tilt", [(0, 0, 0), (25, 10, 5), (-20, 30, -10)])
def test_a_slanted_sheet_comes_out_straight(tilt, tmp_path: Path) -> None:
    """A square sheet drawn into a picture through a pinhole: its disc is round again, within a pixel."""
    size, side = (1600, 1200), 400
    corners = _seen(1.0, 1.0, 1232.0, tilt, size)
    box = np.array([[0, 0], [side, 0], [side, side], [0, side]], dtype=float)
    back = homography(corners, box)
    sheet = _badge(side).transform(
        size, Image.Transform.PERSPECTIVE, back.ravel()[:8].tolist(), Image.BICUBIC
    )
    there = Image.new("L", size)
    ImageDraw.Draw(there).polygon([tuple(corner) for corner in corners], fill=255)
    table = Image.new("RGB", size, (120, 96, 70))
    table.paste(sheet, mask=there)
    table.save(tmp_path / "photo.png")
    found = _areas(tmp_path / "photo.png", {"artwork.corners": corners.tolist(), "colors.count": 2})
    width, height = found.size_mm
    assert width / height == pytest.approx(1.0, abs=0.005)
    disc = shapely.union_all(list(found.polygons))
    assert disc.area == pytest.approx(disc.envelope.area * np.pi / 4, rel=0.01)
    matrix = np.array(found.frame.to_source).reshape(3, 3)
    wide, tall = found.frame.image_px
    ends = np.array([[0, 0, 1], [wide, 0, 1], [wide, tall, 1], [0, tall, 1]]) @ matrix.T
    inner = np.array([[0.005, 0.005, 1], [0.995, 0.005, 1], [0.995, 0.995, 1], [0.005, 0.995, 1]])
    inner = inner @ homography(box / side, corners).T
    assert np.allclose(ends[:, :2] / ends[:, 2:], inner[:, :2] / inner[:, 2:], atol=1e-6)


def test_a_sheet_near_a_usual_ratio_has_it(tmp_path: Path) -> None:
    _badge().resize((594, 420)).save(tmp_path / "sheet.png")
    read_as = read(tmp_path / "sheet.png", ArtworkSettings(corners=((0, 0), (594, 0), (594, 422), (0, 422))))
    assert read_as.source_px[0] / read_as.source_px[1] == pytest.approx(SHEETS["A"], abs=0.003)
    assert "an A size" in read_as.notes[0].message


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"crop": (390, 0, 50, 50)}, "leaves 10 x 50 px"),
        ({"crop": (500, 500, 50, 50)}, "leaves 0 x 0 px"),
        ({"corners": ((0, 0), (0, 300), (300, 300), (300, 0))}, "clockwise"),
        ({"corners": ((0, 0), (300, 300), (300, 0), (0, 300))}, "clockwise"),
        ({"corners": ((0, 0), (300, 0), (300, 300), (290, 10))}, "clockwise"),
        ({"corners": ((0, 0), (300, 0), (300, 300))}, "four"),
        ({"corners": ((0, 0), (5, 0), (300, 300), (0, 300))}, "16 px or more"),
        (
            {"crop": (0, 0, 99, 99), "corners": ((0, 0), (300, 0), (300, 300), (0, 300))},
            "do not go together",
        ),
    ],
)
def test_what_is_no_part_or_sheet_is_refused(values, words, tmp_path: Path) -> None:
    _badge().save(tmp_path / "badge.png")
    with pytest.raises(ArtworkError, match=words):
        read(tmp_path / "badge.png", ArtworkSettings(**values))
