"""The photograph on the proof: whole, in its panel, with the outline of the sheet where it was found."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from reliefsmith.documents.proof.source_figure import SOURCE_MM, draw_sheet_found
from reliefsmith.model.artwork import FoundSheet

from ..noted import Noted

GREEN, LINE = (20, 160, 60), (216, 27, 96)


def _drawn(
    wide: int, high: int, share: float = 0.25, scale: float = 1.0
) -> tuple[Noted, np.ndarray, np.ndarray]:
    """A green photograph with a sheet that lies so far within; its pixels, and those of the outline."""
    low, far = share, 1 - share
    corners = np.array([(low, low), (far, low), (far, far), (low, far)]) * (wide, high)
    shown = np.full((high, wide, 3), GREEN, np.uint8)
    page = Noted(60, 80)
    draw_sheet_found(page, (5.0, 5.0), (SOURCE_MM, 50.0), FoundSheet(shown, corners / scale, scale, 0.0))
    pixels = np.asarray(page.image).astype(int)
    near = [np.abs(pixels - color).sum(axis=2) < 60 for color in (GREEN, LINE)]
    return page, near[0], near[1]


def _box(found: np.ndarray, page: Noted) -> tuple[float, float, float, float]:
    rows, columns = ndimage.find_objects(found.astype(int))[0]
    return tuple(value / page.px_per_mm for value in (columns.start, rows.start, columns.stop, rows.stop))


@pytest.mark.parametrize(("wide", "high"), [(400, 300), (200, 600)])
def test_the_photograph_keeps_its_shape_within_its_panel(wide: int, high: int) -> None:
    page, green, line = _drawn(wide, high)
    left, top, right, low = _box(green | line, page)
    assert (right - left) / (low - top) == pytest.approx(wide / high, rel=0.03)
    assert left >= 5.0
    assert right <= 5.0 + SOURCE_MM
    assert low <= 55.0
    assert (left + right) / 2 == pytest.approx(5.0 + SOURCE_MM / 2, abs=0.3)


@pytest.mark.parametrize("scale", [1.0, 0.2])
def test_the_outline_lies_where_the_sheet_was_found_in_the_whole_picture(scale: float) -> None:
    """Corners are in pixels of the whole picture, of which what is shown is a smaller one."""
    page, green, line = _drawn(400, 300, 0.25, scale)
    outer, inner = _box(green | line, page), _box(line, page)
    wide, high = outer[2] - outer[0], outer[3] - outer[1]
    wanted = (outer[0] + 0.25 * wide, outer[1] + 0.25 * high, outer[2] - 0.25 * wide, outer[3] - 0.25 * high)
    assert inner == pytest.approx(wanted, abs=0.4)


def test_it_says_what_it_is() -> None:
    page, _, _ = _drawn(400, 300)
    assert "Sheet" in page.words
    assert "as found" in page.words
