"""The layer grid against plain arithmetic with fractions: nearest, covering and ordinary layers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.solid.layergrid import LayerGrid, grid_of

microns = st.integers(40, 500)
"""A layer, in um."""


def _grid(first: int, layer: int) -> LayerGrid:
    return LayerGrid(1000 * first, 1000 * layer)


@given(microns, microns, st.integers(1, 20_000))
def test_the_nearest_layer_is_the_one_whose_top_is_nearest(first: int, layer: int, height: int) -> None:
    grid = _grid(first, layer)
    count = grid.nearest(height / 1000)
    gaps = {n: abs(Fraction(grid.top(n), 1000) - height) for n in range(max(count - 2, 1), count + 3)}
    nearest = [n for n, gap in gaps.items() if gap == min(gaps.values())]
    assert count == max(nearest)
    assert grid.is_tie(height / 1000) == (len(nearest) == 2)


@given(microns, microns, st.integers(1, 20_000))
def test_covering_layers_reach_a_height_and_one_less_does_not(first: int, layer: int, height: int) -> None:
    grid = _grid(first, layer)
    count = grid.covering(height / 1000)
    assert grid.top(count) >= 1000 * height
    assert grid.top(count - 1) < 1000 * height


@given(microns, st.integers(0, 20_000))
def test_ordinary_layers_round_half_up(layer: int, height: int) -> None:
    count = _grid(200, layer).count(height / 1000)
    assert count == (Fraction(height, layer) + Fraction(1, 2)).__floor__()
    assert _grid(200, layer).layers_mm(count) == pytest.approx(count * layer / 1000)


def test_no_layer_reaches_nothing_and_the_first_has_its_own_height() -> None:
    grid = _grid(300, 200)
    assert [grid.top_mm(count) for count in range(4)] == [0.0, 0.3, 0.5, 0.7]
    assert grid.nearest(0.0) == 1
    assert not grid.is_tie(0.0)
    assert grid.covering(0.0) == 0


@pytest.mark.parametrize(
    ("layer", "first", "named"), [(0.41, 0.2, "layer_mm"), (0.2, 0.41, "first_layer_mm")]
)
def test_a_layer_higher_than_the_nozzle_is_wide_is_refused(layer: float, first: float, named: str) -> None:
    with pytest.raises(GeometryError, match=rf"heights\.{named} 0\.41 is more than the nozzle of 0\.4 mm"):
        grid_of(HeightSettings(layer_mm=layer, first_layer_mm=first), 0.4)
    assert grid_of(HeightSettings(layer_mm=0.4, first_layer_mm=0.4), 0.4) == _grid(400, 400)
