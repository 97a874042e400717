"""Bounds on the size of a picture: the very limits are taken, one pixel beyond them is not."""

from __future__ import annotations

import pytest

from reliefsmith.artwork.opening import MIN_SIDE_PX, check_size
from reliefsmith.errors import ArtworkError


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
