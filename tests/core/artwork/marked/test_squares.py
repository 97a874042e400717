"""Corner marks of a drawn sheet: found to a part of a pixel, in their order however the sheet is turned."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from reliefsmith.artwork.marked.squares import corner_marks, small
from reliefsmith.formats.classlayout import MARK_MM, MARKS

from .flat import drawn, true

SHEET = drawn(px_per_mm=2.0)
MIDDLES = true(np.array(MARKS) + MARK_MM / 2, 2.0)


def found(grey: np.ndarray) -> tuple[list[np.ndarray], list[np.ndarray]]:
    fours, threes = corner_marks(grey)
    return list(fours), list(threes)


@pytest.mark.parametrize("turns", range(4))
def test_a_sheet_is_found_from_its_own_upper_left_mark_however_it_is_turned(turns: int) -> None:
    """Seen at a slant a sheet may be any way up, so several orders are given: the number tells which."""
    grey = np.ascontiguousarray(np.rot90(SHEET, turns))
    height, width = SHEET.shape
    wanted = MIDDLES
    for _ in range(turns):
        wanted, (width, height) = np.stack([wanted[:, 1], width - wanted[:, 0]], axis=-1), (height, width)
    fours, _ = found(grey)
    off = [min(np.abs(np.roll(four, turn, axis=0) - wanted).max() for turn in range(4)) for four in fours]
    assert max(off) < 0.3
    assert min(np.abs(four - wanted).max() for four in fours) < 0.3


@pytest.mark.parametrize("hidden", range(4))
def test_three_marks_tell_where_the_fourth_must_be(hidden: int) -> None:
    image = Image.fromarray(SHEET)
    x, y = MIDDLES[hidden]
    ImageDraw.Draw(image).ellipse([x - 22, y - 22, x + 22, y + 22], fill=150)
    fours, threes = found(np.asarray(image))
    assert fours == []
    assert min(np.abs(three - MIDDLES).max() for three in threes) < 2.5


def test_a_slanted_sheet_is_found() -> None:
    """By Pillow's own perspective transform of the picture."""
    height, width = SHEET.shape
    ends = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    there = ends + np.array([[60, 30], [-30, 0], [0, -10], [20, 0]])
    rows = []
    for (x, y), (u, v) in zip(there, ends, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
    back = np.linalg.solve(np.array(rows), ends.ravel())
    image = Image.fromarray(SHEET).transform(
        (width, height), Image.Transform.PERSPECTIVE, back, Image.Resampling.BILINEAR, fillcolor=90
    )
    forth = np.linalg.inv(np.append(back, 1).reshape(3, 3))
    wanted = np.append(MIDDLES, np.ones((4, 1)), axis=1) @ forth.T
    wanted = wanted[:, :2] / wanted[:, 2:]
    fours, _ = found(np.asarray(image))
    assert min(np.abs(four - wanted).max() for four in fours) < 1.0


def test_nothing_is_found_where_there_are_no_marks_or_they_stand_otherwise() -> None:
    """Marks as large as those of a sheet, but half as far apart along it, are those of none."""
    assert found(np.full((400, 300), 200, np.uint8)) == ([], [])
    assert found(np.concatenate([SHEET[:120], SHEET[-120:]]))[0] == []


@pytest.mark.parametrize(("size", "longest", "wanted", "scale"), [
    ((400, 300), 400, (400, 300), 1.0), ((400, 300), 500, (400, 300), 1.0),
    ((400, 300), 200, (200, 150), 2.0), ((1000, 3), 100, (100, 1), 10.0),
])  # fmt: skip
def test_a_picture_is_made_small_by_its_longest_side(
    size: tuple[int, int], longest: int, wanted: tuple[int, int], scale: float
) -> None:
    grey = np.random.default_rng(1).integers(0, 256, size[::-1]).astype(np.uint8)
    part, found_scale = small(grey, longest)
    assert (part.shape, found_scale) == (wanted[::-1], scale)
    assert part.mean() == pytest.approx(grey.mean(), abs=2)
