"""Lines about a pixel wide: they hang together, and no other shape changes for it."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture
from reliefsmith.color.hairlines import with_hairlines
from reliefsmith.color.mixing import mixing_planes
from reliefsmith.colorimetry import parse_hex
from reliefsmith.model.artwork import Artwork
from reliefsmith.polygons.runs import find_pieces

from .pictures import Sheet, assert_colors, label_of, separated

INK, PAPER = "#1e5fd0", "#ffffff"


def fan(sheet: Sheet, width: float, ink: str = INK) -> Sheet:
    """24 lines at all angles, a disc of their color apart from them."""
    for angle in np.linspace(0.0, 2 * np.pi, 24, endpoint=False) + 0.07:
        x, y = np.cos(angle), np.sin(angle)
        sheet.line([(200 + x * r, 200 + y * r) for r in (60, 180)], width, ink)
    return sheet.disc(200, 200, 40, ink)


@pytest.mark.parametrize(
    ("width", "quality"), [(0.75, 0), (1.0, 0), (1.25, 0), (1.0, 85), (1.25, 85)], ids=str
)
def test_each_line_is_one_piece_and_about_as_long_as_drawn(width: float, quality: int) -> None:
    result = separated(fan(Sheet(400), width).artwork(quality))
    assert_colors(result, [INK], tolerance=3.0)
    pieces = find_pieces(result.labels)
    areas = pieces.areas[pieces.labels == label_of(result, INK)]
    assert len(areas) == 25
    assert np.sort(areas)[0] > 0.8 * 120


def test_lines_of_low_contrast_hang_together_in_a_clean_picture() -> None:
    result = separated(fan(Sheet(400, "#5b3a29"), 1.0, "#c81e28").artwork(), background={"mode": "none"})
    pieces = find_pieces(result.labels)
    assert np.count_nonzero(pieces.labels == label_of(result, "#c81e28")) == 25


def largest_share(artwork: Artwork, colors: np.ndarray) -> np.ndarray:
    """Label each pixel by the nearer of two colors."""
    offset = artwork.rgb[:, :, None].astype(np.float32) - colors
    return np.argmin((offset**2).sum(axis=-1), axis=-1).astype(np.uint8)


@pytest.mark.parametrize("radius", [4.0, 6.5, 11.0, 23.3])
@pytest.mark.parametrize("hole", [False, True])
def test_discs_and_tilted_squares_stay_as_they_are(radius: float, hole: bool) -> None:
    ground, ink = (INK, PAPER) if hole else (PAPER, INK)
    sheet = Sheet(200, ground).disc(60.3, 60.7, radius, ink)
    for place, turn in enumerate((0.1, 0.4, 0.7)):
        corner = np.array([np.cos(turn), np.sin(turn)]) * radius
        middle = np.array([150.2, 30.4 + 65.0 * place])
        across = np.array([-corner[1], corner[0]])
        points = [tuple((middle + way) * 8) for way in (corner, across, -corner, -across)]
        sheet.draw.polygon(points, fill=(*parse_hex(ink), 255))
    artwork = sheet.artwork()
    colors = np.array([parse_hex(PAPER), parse_hex(INK)], np.float32)
    labels = largest_share(artwork, colors)
    edges = np.flatnonzero((artwork.rgb[:, :, None] != colors.astype(np.uint8)).any(axis=-1).all(axis=-1))
    clean = Capture(0.0, False, False, 1.0)
    result = with_hairlines(labels, edges, mixing_planes(artwork), colors, first=0, capture=clean)
    np.testing.assert_array_equal(result, labels)
