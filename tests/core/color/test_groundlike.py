"""What is like the ground: even paint that an edge parts from it is kept, less light on it is not."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.capture import Capture, Picture
from reliefsmith.color.groundlike import Modes, beside_ground, without_light
from reliefsmith.color.mixing import Mixing
from reliefsmith.color.modes import Clusters, count_bins
from reliefsmith.color.palette import Choice
from reliefsmith.colorimetry import ciede2000, srgb_to_lab

CLEAN, LOSSY = Capture(0.0, False, False, 1.0), Capture(0.0, True, True, 1.0)
PHOTOGRAPH = Capture(1.0, True, False, 1.0)
WHITE, RED = np.array([255.0, 255, 255]), np.array([200.0, 30, 40])
SIDE = 60


def modes(picture: np.ndarray, colors: list[np.ndarray], capture: Capture) -> Modes:
    """Each pixel shows the nearest mode, or none where all are more than 40 levels off."""
    off = np.stack([np.abs(picture - color).max(axis=2) for color in colors])
    shown = np.where(off.min(axis=0) < 40.0, off.argmin(axis=0), 255).astype(np.uint8)
    planes = tuple(np.ascontiguousarray(picture[..., channel]).astype(np.uint8) for channel in range(3))
    mixing, calm = Mixing(planes, None), shown < 255
    bins = count_bins(mixing, mixing.keys(), calm)
    weights = np.array([(shown == number).sum() for number in range(len(colors))], np.float64)
    clusters = Clusters(np.array(colors), weights, np.zeros(len(bins.keys), np.int64))
    return Modes(clusters, shown, Picture(mixing, calm, mixing.keys(), bins, capture))


def grey(gap: float) -> np.ndarray:
    """Return the grey of whole levels that lies nearest to a CIEDE2000 from white."""
    levels = np.repeat(np.arange(200.0, 256)[:, None], 3, axis=1)
    return levels[np.argmin(np.abs(ciede2000(srgb_to_lab(levels), srgb_to_lab(WHITE)) - gap))]


def sheet(color: np.ndarray, *boxes: tuple[slice, slice]) -> np.ndarray:
    picture = np.full((SIDE, SIDE, 3), 255.0)
    for box in boxes:
        picture[box] = color
    return picture


BOX = (slice(20, 40), slice(20, 40))


def kept(picture: np.ndarray, color: np.ndarray, capture: Capture = CLEAN) -> bool:
    found = beside_ground(modes(picture, [WHITE, color], capture), WHITE)
    assert not found[0]
    return bool(found[1])


@pytest.mark.parametrize(("gap", "expected"), [(1.8, False), (2.7, True), (3.9, True), (4.6, False)])
def test_an_even_area_that_an_eye_can_tell_is_paint_though_it_is_like_the_ground(
    gap: float, expected: bool
) -> None:
    """Below that nobody sees it, and above it no doubt arises."""
    assert kept(sheet(grey(gap), BOX), grey(gap)) is expected


def test_noise_leaves_no_color_near_the_ground_for_sure() -> None:
    assert not kept(sheet(grey(3.0), BOX), grey(3.0), Capture(0.1, False, False, 1.0))


def sloped(color: np.ndarray, reach: int) -> np.ndarray:
    """White, but for a disc of a color that passes into it over so many pixels."""
    y, x = np.mgrid[:SIDE, :SIDE] + 0.5
    part = np.clip((np.hypot(x - SIDE / 2, y - SIDE / 2) - 9) / reach, 0.0, 1.0)[..., None]
    return np.round(color + part * (WHITE - color))


@pytest.mark.parametrize(("reach", "expected"), [(1, True), (18, False)])
def test_what_passes_into_the_ground_is_no_paint(reach: int, expected: bool) -> None:
    assert kept(sloped(grey(3.9), reach), grey(3.9)) is expected


@pytest.mark.parametrize(("wide", "expected"), [(5, False), (6, True), (7, True)])
def test_a_halo_is_no_whole_area(wide: int, expected: bool) -> None:
    """Of a stripe less than a third lies two pixels inside, unless it is wide."""
    picture = sheet(grey(3.0), (slice(10, 50), slice(20, 20 + wide)))
    assert kept(picture, grey(3.0)) is expected


def test_in_lossy_pictures_a_whole_area_is_wider() -> None:
    for wide, expected in ((10, False), (14, True)):
        picture = sheet(grey(3.0), (slice(2, 58), slice(20, 20 + wide)))
        assert kept(picture, grey(3.0), LOSSY) is expected


def test_a_tint_of_the_grounds_luma_is_left_by_compression() -> None:
    """Both are about 3 from white, one by luma, one by chroma alone."""
    tint = np.array([255.0, 255.0, 249.0])
    gap = float(ciede2000(srgb_to_lab(tint), srgb_to_lab(WHITE)))
    assert 2.3 < gap < 4.2
    assert kept(sheet(tint, BOX), tint, CLEAN)
    assert not kept(sheet(tint, BOX), tint, LOSSY)
    assert kept(sheet(grey(3.0), BOX), grey(3.0), LOSSY)


def test_without_a_ground_nothing_is_beside_it() -> None:
    assert not beside_ground(modes(sheet(grey(3.0), BOX), [WHITE, grey(3.0)], CLEAN), None).any()


SHADE = np.array([180.0, 180, 180])


def shaded(reach: int) -> np.ndarray:
    """Paper with a disc of shadow that passes into it over so many pixels, and red paint."""
    picture = sloped(SHADE, reach)
    picture[:5] = RED
    return picture


def chosen(
    picture: np.ndarray, capture: Capture = PHOTOGRAPH, background: np.ndarray | None = WHITE
) -> Choice:
    colors = [WHITE, SHADE, RED]
    found = Choice(np.array([SHADE, RED]), np.array([SHADE, RED]) + 1, np.array([-1, 0, 1]))
    return without_light(found, modes(picture, colors, capture), background)


def test_a_shade_that_meets_its_paper_in_no_edge_is_paper() -> None:
    found = chosen(shaded(18))
    assert found.colors.tolist() == [RED.tolist()]
    assert found.shown.tolist() == [(RED + 1).tolist()]
    assert found.of_cluster.tolist() == [-1, -1, 0]


def test_a_grey_that_an_edge_parts_from_the_paper_is_paint() -> None:
    assert chosen(shaded(1)).of_cluster.tolist() == [-1, 0, 1]


def test_only_photographs_of_a_ground_have_less_light() -> None:
    for capture, background in ((LOSSY, WHITE), (PHOTOGRAPH, None)):
        assert chosen(shaded(18), capture, background).of_cluster.tolist() == [-1, 0, 1]


def test_a_shade_without_a_border_to_the_paper_stays() -> None:
    picture = np.full((SIDE, SIDE, 3), RED)
    picture[:20] = 255.0
    picture[30:50, 10:50] = SHADE
    assert chosen(picture).of_cluster.tolist() == [-1, 0, 1]
