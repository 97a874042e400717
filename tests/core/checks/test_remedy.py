"""Which color of the base shows what is lost: tried on the cells, and offered where it mends half."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.checks.remedy import Remedy, base_remedy
from reliefsmith.colorimetry.lost import Lost
from reliefsmith.colorimetry.reference import Reference, reference
from reliefsmith.colorimetry.seen import Seen, seen

WHITE, RED, NAVY, GREEN, GREY = (255, 255, 255), (200, 30, 40), (20, 30, 80), (30, 140, 60), (150, 150, 150)
SIDE = 60


def picture(*boxes: tuple[slice, tuple[int, int, int]]) -> Reference:
    """A red plate with bands of other colors, on white beyond it."""
    rgb = np.full((SIDE, SIDE, 3), WHITE, np.uint8)
    rgb[5:55, 5:55] = RED
    for rows, color in boxes:
        rgb[rows, 10:50] = color
    outside = np.ones((SIDE, SIDE), bool)
    outside[5:55, 5:55] = False
    return reference(rgb, outside)


def remedied(wanted: Reference, base: tuple[int, int, int], shown: np.ndarray) -> Remedy | None:
    """What helps a piece of a red motif on a base, of which `shown` cells are base within the plate."""
    labels = np.zeros((SIDE, SIDE), np.uint8)
    labels[5:55, 5:55] = np.where(shown[5:55, 5:55], 1, 2)
    colors = (base, RED)
    found = seen(wanted, labels, np.array(colors, np.uint8))
    assert found.lost
    return base_remedy(wanted, found, (labels, colors), np.zeros_like(labels))


def bands(*rows: slice) -> np.ndarray:
    cells = np.zeros((SIDE, SIDE), bool)
    for row in rows:
        cells[row, 10:50] = True
    return cells


def test_the_color_that_is_missed_is_offered_for_the_base() -> None:
    found = remedied(picture((slice(15, 35), NAVY)), WHITE, bands(slice(15, 35)))
    assert found is not None
    assert found.words.startswith('colors.base = "#141e50" shows 100 % of the edges and 100 % of the area')
    assert found.left.lost == ()


def test_of_two_colors_that_are_missed_the_one_that_mends_more_is_offered() -> None:
    wanted = picture((slice(10, 14), GREEN), (slice(20, 48), NAVY))
    found = remedied(wanted, WHITE, bands(slice(10, 14), slice(20, 48)))
    assert found is not None
    assert "#141e50" in found.words


def test_what_mends_less_than_half_is_not_offered() -> None:
    rows = [slice(7 + 8 * k, 12 + 8 * k) for k in range(6)]
    colors = [NAVY, GREEN, GREY, (240, 200, 30), (120, 40, 140), (90, 200, 230)]
    wanted = picture(*zip(rows, colors, strict=True))
    assert remedied(wanted, (0, 0, 0), bands(*rows)) is None


def test_what_was_art_of_the_bases_color_stays_as_it_is() -> None:
    """The base's own white is wanted in the upper band, navy in the lower one."""
    wanted = picture((slice(10, 22), WHITE), (slice(30, 42), NAVY))
    labels = np.zeros((SIDE, SIDE), np.uint8)
    labels[5:55, 5:55] = np.where(bands(slice(10, 22), slice(30, 42))[5:55, 5:55], 1, 2)
    found = seen(wanted, labels, np.array((WHITE, RED), np.uint8))
    own = bands(slice(10, 22)).astype(np.uint8)
    helped = base_remedy(wanted, found, (labels, (WHITE, RED)), own)
    assert helped is not None
    assert helped.left.paint_right == pytest.approx(1.0)


def lost(x: float, y: float = 4.0, cells: int = 100, kind: str = "paint") -> Lost:
    return Lost(kind, (x, y), 2.0, cells, (NAVY, WHITE))


@pytest.mark.parametrize(
    ("left", "mends"),
    [
        ((), True),
        ((lost(5.0, cells=50),), True),
        ((lost(5.0, cells=51),), False),
        ((lost(6.9, cells=99),), False),
        ((lost(7.1, cells=99),), True),
        ((lost(5.0, 6.1, cells=99),), True),
        ((lost(5.0, cells=99, kind="edge"),), True),
        ((lost(5.0, cells=30), lost(6.0, cells=30)), False),
    ],
)
def test_a_place_is_mended_if_half_of_it_is_no_longer_lost_near_by(
    left: tuple[Lost, ...], mends: bool
) -> None:
    assert Remedy("", Seen(1.0, 1.0, left)).mends(lost(5.0)) is mends
