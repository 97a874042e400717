"""The colors of the test piece: the darkest and the lightest in stock."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.recipe.sections import FilamentSettings
from reliefsmith.recipe.tables import Spool
from reliefsmith.solid.coupon import DARK, LIGHT, _two_colors
from reliefsmith.solid.coupon_features import features, plate


@pytest.mark.parametrize(
    ("stock", "expected"),
    [
        ((), (DARK, LIGHT)),
        (("#c81e28",), (DARK, LIGHT)),
        (("#ffffff", "#14213d"), ((20, 33, 61), (255, 255, 255))),
        (("#c81e28", "#f7c923", "#14213d"), ((20, 33, 61), (247, 201, 35))),
        (("#c81e28", "#c81e28"), (DARK, LIGHT)),
    ],
)
def test_the_darkest_and_the_lightest_in_stock_are_taken_where_they_differ(
    stock: tuple[str, ...], expected: tuple
) -> None:
    spools = tuple(Spool(f"spool {number}", color) for number, color in enumerate(stock))
    assert _two_colors(FilamentSettings(stock=spools)) == expected


def test_each_feature_is_as_wide_as_it_says() -> None:
    for item in features():
        left, low, right, high = item.shape.bounds
        if item.kind in {"dot", "hole"}:
            assert right - left == pytest.approx(item.size, abs=0.01)
            assert item.shape.area == pytest.approx(np.pi * item.size**2 / 4, rel=0.02)
        elif item.kind in {"stroke", "face"}:
            assert min(right - left, high - low) == pytest.approx(item.size, abs=0.002)
        assert shapely.covers(plate(), item.shape)


def test_holes_are_of_whole_millimetres_up_to_a_usual_ring() -> None:
    assert [item.size for item in features() if item.kind == "hole"] == [2.0, 3.0, 4.0, 5.0, 6.0]
    steps = [item.size for item in features() if item.kind == "step"]
    assert steps == [1, 2, 3, 4, 5, 6]
