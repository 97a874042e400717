"""Corners of polygons whose sides are sampled as the picture samples them; none on curves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.corners import SIDE, find_corners
from reliefsmith.areas.neighbors import Chains


def ring(corners: np.ndarray, step: float = 1.0) -> Chains:
    """Points at even steps round a closed polygon; none lies just on a corner."""
    closed = np.vstack([corners, corners[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.arange(step / 2, along[-1], step)
    points = np.column_stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)])
    return _chains(points, closed=True)


def _chains(points: np.ndarray, *, closed: bool) -> Chains:
    starts = np.array([0, len(points)])
    return Chains(points, np.ones(len(points)), starts, np.array([closed]))


def _found(chains: Chains, blocked: list[int] = [], framed: list[int] = []):  # noqa: B006 - only read
    flags = [np.zeros(len(chains.points), dtype=bool) for _ in range(2)]
    flags[0][blocked] = flags[1][framed] = True
    return find_corners(chains, *flags)


@given(st.floats(0, 90), st.floats(50, 130), st.floats(16, 40), st.floats(16, 40))
def test_the_corners_of_a_parallelogram_are_found_where_they_are(
    turn: float, angle: float, width: float, depth: float
) -> None:
    way = np.radians([turn, turn + angle])
    one, other = (
        width * np.array([np.cos(way[0]), np.sin(way[0])]),
        depth * np.array([np.cos(way[1]), np.sin(way[1])]),
    )
    corners = np.array([[0, 0], one, one + other, other]) + 50
    found = _found(ring(corners))
    assert len(found.at) == 4
    for corner in corners:
        assert np.hypot(*(found.place - corner).T).min() < 0.02


@pytest.mark.parametrize("radius", [8.0, 15.0, 60.0])
def test_a_circle_has_no_corner(radius: float) -> None:
    turn = np.linspace(0, 2 * np.pi, round(2 * np.pi * radius), endpoint=False)
    assert len(_found(_chains(radius * np.column_stack([np.cos(turn), np.sin(turn)]), closed=True)).at) == 0


def test_a_blunt_bend_is_no_corner_and_a_sharp_tip_is_rounded_farther() -> None:
    def bend(turn_deg: float) -> Chains:
        way = np.radians(turn_deg)
        after = np.arange(0.5, 25)[:, None] * np.array([np.cos(way), np.sin(way)])
        before = np.column_stack([np.arange(-24.5, 0), np.zeros(25)])
        return _chains(np.vstack([before, after]), closed=False)

    assert len(_found(bend(35)).at) == 0
    (right,), (tip,) = _found(bend(90)).rounded, _found(bend(140)).rounded
    assert right == pytest.approx(1.3, abs=0.05)
    assert tip == pytest.approx(1.3 * np.tan(np.radians(70)), abs=0.1)


def test_no_corner_is_found_where_one_is_blocked_or_too_near_an_end() -> None:
    chains = ring(np.array([[0, 0], [20, 0], [20, 20], [0, 20]]) + 5.0)
    at = _found(chains).at
    assert len(_found(chains, blocked=[*at[:1].tolist(), int(at[0]) + 1, int(at[0]) - 1]).at) == 3
    hook = np.vstack([np.column_stack([np.arange(0.5, 20), np.zeros(20)]), [[20.0, 0.5], [20.0, 1.5]]])
    assert len(_found(_chains(hook, closed=False)).at) == 0


def test_where_a_boundary_leaves_the_frame_there_is_a_corner_however_flat() -> None:
    """Down along the frame and off it by 20 degrees: too blunt for a corner elsewhere."""
    down = np.column_stack([np.zeros(20), np.arange(0.5, 20)])
    way = np.radians(70)
    off = np.array([0.0, 20.0]) + np.arange(0.5, 20)[:, None] * np.array([np.cos(way), np.sin(way)])
    chains = _chains(np.vstack([down, off]), closed=False)
    assert len(_found(chains).at) == 0
    found = _found(chains, framed=list(range(20)))
    assert found.at.tolist() == [19]
    assert found.place[0] == pytest.approx((0.0, 20.0), abs=0.01)


def test_of_neighbors_only_the_sharpest_is_a_corner() -> None:
    chains = ring(np.array([[0, 0], [30, 0], [30, 30], [0, 30]]) + 0.25, step=0.7)
    at = np.sort(_found(chains).at)
    assert len(at) == 4
    assert (np.diff(at) > SIDE).all()
