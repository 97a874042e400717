"""A solid whose levels get their heights later: each vertex at its own level, rises on whole micrometres."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.mesh.surface import HEIGHT_DECIMALS, Cast


def _cast(level: list[int], rise: list[float]) -> Cast:
    count = len(level)
    places = np.column_stack([np.arange(count, dtype=float), np.zeros(count)])
    return Cast(places, np.array(level), np.array(rise), np.zeros((0, 3), np.int32))


def test_vertices_stand_at_the_heights_of_their_levels() -> None:
    mesh = _cast([0, 1, 2, 1], [0.0] * 4).at((0.0, 2.0, 2.6))
    assert mesh.vertices[:, 2].tolist() == [0.0, 2.0, 2.6, 2.0]
    assert mesh.vertices[:, 0].tolist() == [0.0, 1.0, 2.0, 3.0]


@given(st.floats(-2, 2), st.floats(0, 50))
def test_a_rise_counts_from_its_level_and_ends_on_a_whole_micrometre(rise: float, level: float) -> None:
    (height,) = _cast([1], [rise]).at((0.0, level)).vertices[:, 2]
    assert height == pytest.approx(level + rise, abs=0.5 * 10.0**-HEIGHT_DECIMALS + 1e-12)
    assert height == round(height, HEIGHT_DECIMALS) or rise == 0


def test_another_height_is_the_same_cast() -> None:
    """Heights that are no micrometre stay as they are where nothing rises: a layer grid of any step."""
    cast = _cast([0, 1, 1], [0.0, 0.0, 0.25])
    assert cast.at((0.0, 1.23456)).vertices[:, 2].tolist() == [0.0, 1.23456, 1.485]
    assert cast.at((0.0, 3.0)).vertices[:, 2].tolist() == [0.0, 3.0, 3.25]
    assert cast.rise.tolist() == [0.0, 0.0, 0.25]
