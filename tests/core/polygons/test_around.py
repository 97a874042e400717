"""Pixels beside others: eight directions, by the definition, and held within the picture."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from reliefsmith.polygons.around import around, behind

SHAPE = (7, 9)


def flat(*places: tuple[int, int]) -> np.ndarray:
    return np.ravel_multi_index(np.array(places, dtype=np.int64).T, SHAPE)


@pytest.mark.parametrize("place", [(3, 4), (0, 0), (6, 8), (0, 5), (4, 0)])
@pytest.mark.parametrize("reach", [1, 3])
def test_it_is_the_eight_rays_of_a_queen_on_a_board_with_walls(place: tuple[int, int], reach: int) -> None:
    found = sorted(int(one[0]) for one in around(flat(place), SHAPE, reach))
    rays = [ray for ray in itertools.product((-1, 0, 1), repeat=2) if ray != (0, 0)]
    wanted = [
        flat((min(max(place[0] + k * down, 0), 6), min(max(place[1] + k * right, 0), 8)))[0]
        for k in range(1, reach + 1)
        for down, right in rays
    ]
    assert found == sorted(wanted)


def test_many_pixels_are_looked_around_at_once_and_near_before_far() -> None:
    both = list(around(flat((1, 1), (5, 6)), SHAPE, 2))
    apart = [list(around(flat(place), SHAPE, 2)) for place in ((1, 1), (5, 6))]
    assert [one.tolist() for one in both] == [[int(a[0]), int(b[0])] for a, b in zip(*apart, strict=True)]
    assert len(both) == 16
    off = [np.abs(np.array(divmod(int(one[0]), 9)) - 1).max() for one in both]
    assert off[:8] == [1] * 8
    assert list(around(flat((1, 1)), SHAPE, 0)) == []


@pytest.mark.parametrize(
    ("near", "wanted", "off"),
    [
        ((3, 5), (3, 7), 1),
        ((3, 3), (3, 1), 1),
        ((1, 4), (0, 4), 2),  # two further up would be outside
        ((5, 6), (6, 8), 2),
        ((3, 1), (3, 0), 3),
        ((3, 4), (3, 4), 1),  # nothing lies behind a pixel itself
    ],
)
def test_behind_goes_on_by_two_in_the_same_direction(
    near: tuple[int, int], wanted: tuple[int, int], off: int
) -> None:
    place, reach = behind(flat((3, 4)), flat(near), SHAPE)
    assert (place.tolist(), reach.tolist()) == (flat(wanted).tolist(), [off])


def test_behind_turns_with_the_picture() -> None:
    """A transposed picture gives the transposed places, for every pair of pixels within reach."""
    pixels = np.repeat(flat((3, 4)), 8)
    near = np.array([one[0] for one in around(flat((3, 4)), SHAPE, 1)])
    there, reach = behind(pixels, near, SHAPE)

    def across(flat_places: np.ndarray) -> np.ndarray:
        row, column = np.divmod(flat_places, SHAPE[1])
        return column * SHAPE[0] + row

    turned, reached = behind(across(pixels), across(near), SHAPE[::-1])
    assert np.array_equal(turned, across(there))
    assert np.array_equal(reach, reached)
