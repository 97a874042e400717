"""Points a number of steps away along chains."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.areas.neighbors import Chains, Neighbors, moments_of

drawn = st.lists(st.tuples(st.integers(0, 9), st.booleans()), min_size=1, max_size=5)


def chains_of(rows: list[tuple[int, bool]], seed: int) -> Chains:
    rng = np.random.default_rng(seed)
    sizes = [size for size, _ in rows]
    starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    count = int(starts[-1])
    return Chains(
        rng.normal(size=(count, 2)), rng.random(count), starts, np.array([closed for _, closed in rows])
    )


def expected(chains: Chains, point: int, offset: int) -> tuple[int, float] | None:
    """Walk from a point, step by step; None where the chain ends, or is met half way round."""
    chain = int(chains.chain_of[point])
    begin, size, closed = int(chains.starts[chain]), int(chains.sizes[chain]), bool(chains.closed[chain])
    if (closed and 2 * abs(offset) >= size) or (not closed and not 0 <= point - begin + offset < size):
        return None
    at, way = point - begin, 0.0
    for _ in range(abs(offset)):
        after = (at + (1 if offset > 0 else -1)) % size
        way += np.hypot(*(chains.points[begin + after] - chains.points[begin + at])) * (
            1 if offset > 0 else -1
        )
        at = after
    return begin + at, way


@given(drawn, st.integers(0, 2**32 - 1), st.integers(-6, 6))
def test_the_point_some_steps_on_is_found_and_how_far_it_is(
    rows: list[tuple[int, bool]], seed: int, offset: int
) -> None:
    """Whatever the chains, empty ones too."""
    chains = chains_of(rows, seed)
    look = Neighbors.of(chains)
    index, distance, exists = look.at(offset)
    row = next(iter(look.steps(chains, [offset])))
    for point in range(len(chains.points)):
        found = expected(chains, point, offset)
        assert bool(exists[point]) is (found is not None)
        assert bool(row[0][point]) is (found is not None)
        if found is not None:
            assert index[point] == found[0]
            assert distance[point] == pytest.approx(found[1], abs=1e-9)
            way = chains.points[found[0]] - chains.points[point]
            beside = [item[point] for item in row[1:]]
            assert beside == pytest.approx([chains.weights[found[0]], found[1], *way], abs=1e-9)


@given(drawn, st.integers(0, 2**32 - 1))
def test_moments_are_sums_over_the_points_round_each(rows: list[tuple[int, bool]], seed: int) -> None:
    chains = chains_of(rows, seed)
    look = Neighbors.of(chains)
    offsets = range(-3, 4)
    found = moments_of(look.steps(chains, offsets, look.every), len(chains.points), 1.5, 2.0)
    for point in range(len(chains.points)):
        near = [at for offset in offsets if (at := expected(chains, point, offset))]
        weight = np.array([chains.weights[at] * np.exp(-0.5 * (way / 1.5) ** 2) for at, way in near])
        far = np.array([way / 2.0 for _, way in near])
        ways = np.array([chains.points[at] - chains.points[point] for at, _ in near]).reshape(-1, 2)
        assert found.used[point] == len(near)
        assert found.weights[:, point] == pytest.approx([(weight * far**k).sum() for k in range(5)])
        for power in range(3):
            assert found.ways[power, :, point] == pytest.approx((weight * far**power) @ ways, abs=1e-9)
