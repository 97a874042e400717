"""Whether a sheet is looked for at all, and what is said of it, found or not."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from reliefsmith.artwork.sheet import search
from reliefsmith.artwork.sheet.search import Candidate
from reliefsmith.artwork.sheet.seek import may_be_photographed, sought

CORNERS = np.array([[100.0, 120.4], [700.6, 100.0], [720.0, 500.0], [90.0, 520.0]])


@pytest.mark.parametrize(("share", "perhaps"), [(0.20, True), (0.24, False)])
def test_a_color_on_more_than_a_fifth_of_a_picture_was_never_photographed(
    share: float, perhaps: bool
) -> None:
    random = np.random.default_rng(1)
    rgb = random.integers(0, 256, (500, 500, 3)).astype(np.uint8)
    rgb[: round(500 * share)] = (250, 250, 249)
    assert may_be_photographed(Image.fromarray(rgb)) is perhaps


def test_colors_are_told_apart_in_every_channel() -> None:
    """Each pixel differs from all others, in one channel or another: none is common."""
    number = np.arange(500 * 500)
    for order in ((0, 1, 2), (2, 1, 0), (1, 2, 0)):
        planes = np.stack([number % 256, number // 256 % 256, number // 65536], axis=-1)[:, order]
        assert may_be_photographed(Image.fromarray(planes.reshape(500, 500, 3).astype(np.uint8)))


@pytest.mark.parametrize("channels", [(0, 1), (1, 2), (0, 2)])
def test_shades_whose_channels_make_up_for_each_other_are_many(channels: tuple[int, int]) -> None:
    """One goes up by as much as the other goes down: 250 colors, each on a 250th of the picture."""
    rgb = np.full((500, 500, 3), 100, np.uint8)
    ramp = np.arange(500) // 2
    rgb[..., channels[0]], rgb[..., channels[1]] = ramp, 249 - ramp
    assert may_be_photographed(Image.fromarray(rgb))


def found(monkeypatch: pytest.MonkeyPatch, quad: np.ndarray | None) -> list[tuple[int, ...]]:
    """Let the search find a quadrilateral, or nothing; return the shapes of what it was asked about."""
    asked: list[tuple[int, ...]] = []

    def find(rgb: np.ndarray) -> Candidate | None:
        asked.append(rgb.shape)
        return None if quad is None else Candidate(quad, np.ones(4), 1.5, None, 5.0)

    monkeypatch.setattr(search, "find_sheet", find)
    return asked


def test_a_found_sheet_is_told_with_its_corners_and_kept_small_for_the_proof(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = found(monkeypatch, CORNERS)
    sheet, told = sought(Image.new("RGB", (960, 600), (9, 9, 9)))
    assert asked == [(600, 960, 3)]
    assert sheet is not None
    assert (sheet.shown.shape, sheet.scale, sheet.inward_px) == ((300, 480, 3), 0.5, 1.5)
    assert np.array_equal(sheet.corners, CORNERS)
    assert told.code == "sheet-found"
    assert "corners at (100, 120), (701, 100), (720, 500), (90, 520) px" in told.message


@pytest.mark.parametrize(("longest", "looked"), [(480, True), (479, False)])
def test_a_picture_that_is_too_small_is_not_looked_at(
    monkeypatch: pytest.MonkeyPatch, longest: int, looked: bool
) -> None:
    asked = found(monkeypatch, None)
    sheet, told = sought(Image.new("RGB", (100, longest)))
    assert bool(asked) is looked
    assert (sheet, told.code) == (None, "sheet-not-found")
    assert "set artwork.corners to the four corners" in told.message
