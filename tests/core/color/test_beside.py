"""Edge pixels beside areas that were evened: they change by the mix of what their two sides changed by."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.color.beside import _two_sides, with_edges
from reliefsmith.color.mixing import Mixing

WIDTH, EDGE = 24, slice(11, 13)
"""Two areas side by side; two columns between them are edge."""


def picture(left: float, right: float, *, slope: float = 0.0) -> tuple[Mixing, np.ndarray]:
    """Three equal planes; the left area darkens by a slope toward the edge, which is half one, half other."""
    row = np.empty(WIDTH)
    row[:11] = left + slope * np.arange(11)
    row[13:] = right
    row[EDGE] = (left + slope * 11 + right) / 2
    plane = np.tile(np.round(row).astype(np.uint8), (12, 1))
    kinds = np.ones((12, WIDTH), np.uint8)
    kinds[:, EDGE] = 0
    kinds[:, 13:] = 2
    return Mixing((plane, plane.copy(), plane.copy()), None), kinds


def evened(mixing: Mixing, left: int, right: int) -> tuple[np.ndarray, ...]:
    goals = []
    for plane in mixing.planes:
        goal = plane.copy()
        goal[:, :11], goal[:, 13:] = left, right
        goals.append(goal)
    return tuple(goals)


def test_an_edge_pixel_halfway_changes_by_half_of_each_side() -> None:
    mixing, kinds = picture(100, 200)
    out = with_edges(mixing, kinds, evened(mixing, 120, 200), lossy=True)
    for plane in out:
        assert (plane[:, EDGE] == 160).all()
        assert (plane[:, :11] == 120).all()
        assert (plane[:, 13:] == 200).all()


def test_where_nothing_was_evened_edges_stay() -> None:
    mixing, kinds = picture(100, 200)
    out = with_edges(mixing, kinds, tuple(plane.copy() for plane in mixing.planes), lossy=True)
    assert all((one == other).all() for one, other in zip(out, mixing.planes, strict=True))


def test_edges_change_up_to_five_pixels_from_what_was_evened() -> None:
    plane = np.full((12, 120), 100, np.uint8)
    kinds = np.ones_like(plane)
    kinds[:, 10:30], kinds[:, 30:] = 0, 2
    goals = tuple(np.where(np.arange(120) < 10, 110, plane).astype(np.uint8) for _ in range(3))
    out = with_edges(Mixing((plane, plane, plane), None), kinds, goals, lossy=True)
    assert (out[0][:, :15] == 110).all()
    assert (out[0][:, 15:] == 100).all()


def test_a_clean_slope_is_carried_on_to_the_edge() -> None:
    """The edge begins with the slope's next value, 155, so with no share of the right."""
    mixing, kinds = picture(100, 220, slope=5)
    for plane in mixing.planes:
        plane[:, 11] = 155
        plane[:, 12] = 220
    clean = with_edges(mixing, kinds, evened(mixing, 100, 220), lossy=False)
    assert (clean[0][:, 11] <= 101).all()
    mixing, kinds = picture(100, 220, slope=5)
    for plane in mixing.planes:
        plane[:, 11] = 155
    rippled = with_edges(mixing, kinds, evened(mixing, 100, 220), lossy=True)
    assert (rippled[0][:, 11] >= 103).all()


def test_a_dark_line_between_two_evened_areas_stays_dark() -> None:
    mixing, kinds = picture(100, 100)
    for plane in mixing.planes:
        plane[:, EDGE] = 4
    out = with_edges(mixing, kinds, evened(mixing, 200, 200), lossy=True)
    assert (out[0][:, EDGE] <= 25).all()


def test_at_the_rim_an_edge_changes_as_its_only_area_does() -> None:
    plane = np.full((12, 60), 100, np.uint8)
    kinds = np.ones_like(plane)
    kinds[:, 55:] = 0
    goals = tuple(np.where(kinds > 0, 130, plane).astype(np.uint8) for _ in range(3))
    out = with_edges(Mixing((plane, plane, plane), None), kinds, goals, lossy=False)
    assert (out[0] == 130).all()


def test_what_is_transparent_is_a_side_of_its_own() -> None:
    """Halfway between art and nothing, the premultiplied color and its opacity are halved."""
    plane = np.full((12, 60), 100, np.uint8)
    opacity = np.full((12, 60), 255, np.uint8)
    plane[:, 30:], opacity[:, 30:] = 0, 0
    plane[:, 30], opacity[:, 30] = 50, 128
    kinds = np.ones((12, 60), np.uint8)
    kinds[:, 30] = 0
    goal = np.where(np.arange(60) < 30, 140, plane).astype(np.uint8)
    out = with_edges(
        Mixing((plane, plane, plane, opacity), opacity > 250),
        kinds,
        (goal, goal.copy(), goal.copy(), opacity.copy()),
        lossy=True,
    )
    assert abs(int(out[0][5, 30]) - 70) <= 1
    assert (out[3][:, 30] == 128).all()
    assert (out[0][:, 31:] == 0).all()


@pytest.mark.parametrize("down", [-1, 0, 1])
@pytest.mark.parametrize("right", [-1, 0, 1])
def test_sides_are_looked_for_in_eight_directions_up_to_five_pixels(down: int, right: int) -> None:
    for reach in range(1, 7):
        side = np.zeros((15, 15), np.int32)
        at = (7 + reach * down) * 15 + 7 + reach * right
        side.ravel()[at] = 4
        first, second = _two_sides(side, np.array([7 * 15 + 7]))
        seen = (down, right) != (0, 0) and reach <= 5
        assert first.tolist() == [at if seen else -1]
        assert second.tolist() == [-1]


def test_the_second_side_is_the_nearest_of_another_area() -> None:
    side = np.zeros((15, 15), np.int32)
    side[7, 8:11], side[:5, 7] = 4, 9
    first, second = _two_sides(side, np.array([7 * 15 + 7]))
    assert (first.tolist(), second.tolist()) == ([7 * 15 + 8], [4 * 15 + 7])
