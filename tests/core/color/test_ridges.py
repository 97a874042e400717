"""Lines of compressed pictures: narrower than the chroma that is stored, they keep their color."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture
from reliefsmith.color.mixing import mixing_planes
from reliefsmith.color.ridges import _full_rise, find_ridges
from reliefsmith.colorimetry import parse_hex

from .pictures import Sheet, assert_colors, label_of, separated

PLATE, NAVY = "#f7c923", "#14213d"
INKS = ("#c81e28", "#7a3b8f", "#2a7f62")


def rays(sheet: Sheet, inks: tuple[str, ...], width: float, inner: float, outer: float) -> Sheet:
    """Lines from the middle outward, one ink after the other, so that they meet the pixels at all angles."""
    middle = sheet.size / 2
    for place, angle in enumerate(np.linspace(0.0, 2 * np.pi, 24, endpoint=False) + 0.1):
        x, y = np.cos(angle), np.sin(angle)
        ends = [(middle + x * reach, middle + y * reach) for reach in (inner, outer)]
        sheet.line(ends, width, inks[place % len(inks)])
    return sheet


@pytest.mark.parametrize(("quality", "width"), [(75, 3.0), (90, 1.5), (90, 2.0)])
def test_lines_of_three_inks_on_a_plate_keep_them(quality: int, width: float) -> None:
    sheet = Sheet(500).disc(250, 250, 230, PLATE)
    result = separated(rays(sheet, INKS, width, 60, 215).artwork(quality))
    assert_colors(result, [PLATE, *INKS], tolerance=3.0)
    counts = [(result.labels == label_of(result, ink)).sum() for ink in INKS]
    np.testing.assert_allclose(counts, 8 * 155 * width, rtol=0.2)


def test_a_count_that_lines_reach_is_not_filled_with_tints_of_the_plate() -> None:
    sheet = rays(Sheet(500).disc(250, 250, 230, PLATE), INKS, 2.5, 60, 215)
    assert_colors(separated(sheet.artwork(80), count=4), [PLATE, *INKS], tolerance=3.0)


@pytest.mark.parametrize("ink", ["#c81e28", "#1e5fd0", "#e8792b", "#63b5e5", "#2a7f62"])
def test_lines_on_white_keep_the_color_whose_bleeding_was_clipped(ink: str) -> None:
    """White and a little red is beyond the bytes, so that red that bled there is gone from the sums."""
    sheet = Sheet(500).disc(250, 250, 50, NAVY)
    result = separated(rays(sheet, (ink,), 2.5, 70, 230).artwork(80))
    assert_colors(result, [NAVY, ink], tolerance=3.0)


def test_lines_that_cross_or_taper_make_no_third_color() -> None:
    red, blue = "#c81e28", "#63b5e5"
    sheet = Sheet(500).disc(130, 250, 60, red).disc(370, 250, 60, blue)
    for k in range(8):
        sheet.line([(60 + 50 * k, 20), (90 + 45 * k, 480)], 1.0 + 0.4 * k, red)
        sheet.line([(20, 30 + 60 * k), (480, 60 + 52 * k)], 1.0 + 0.4 * k, blue)
    assert_colors(separated(sheet.artwork(80)), [red, blue], tolerance=3.0)


def test_the_edge_of_an_area_is_no_line() -> None:
    """Luma overshoots beside an edge, too, but returns to the ground on one side only."""
    sheet = Sheet(400).disc(200, 200, 150, NAVY)
    mixing = mixing_planes(sheet.artwork(60))
    seeds = np.full(mixing.shape, 255, np.uint8)
    row, column = np.mgrid[:400, :400] + 0.5
    seeds[np.hypot(row - 200, column - 200) > 156] = 0  # what lies inside ripples, so that none is calm
    known = np.array([(255, 255, 255), parse_hex(NAVY)], np.float64)
    ridges = find_ridges(mixing, seeds, known, Capture(0.0, True, True, 1.0), 0)
    assert ridges.lines(known) == []
    assert (ridges.shown(known)[0] == -1).all()


@pytest.mark.parametrize(("spread", "wide"), [(0.1, True), (0.2, False)])
def test_rises_that_lie_far_apart_are_no_plateau(spread: float, wide: bool) -> None:
    """A quarter of the ridge pixels alike, among others that reach less: spread, they are of thin lines."""
    alike = np.linspace(100 * (1 - spread / 2), 100 * (1 + spread / 2), 250)
    rises = np.concatenate([np.linspace(5.0, 80.0, 700), alike, np.linspace(130.0, 160.0, 50)])
    assert _full_rise(rises) == pytest.approx(100.0 if wide else np.sort(rises)[929], rel=0.02)
