"""What the checks of layers measure."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.checks.layerchecks import _areas_shared, _first_islands
from reliefsmith.checks.layerstack import Layer
from reliefsmith.polygons import as_multi

BOXES = st.tuples(*[st.integers(0, 12) for _ in range(2)], *[st.integers(1, 12) for _ in range(2)])


@given(st.lists(st.tuples(BOXES, BOXES), min_size=1, max_size=8))
def test_pieces_share_what_their_intersection_covers(pairs: list) -> None:
    """Boxes of whole numbers: also where one lies within the other, touches it, or lies apart."""

    def boxes(which: int) -> np.ndarray:
        return np.array([shapely.box(x, y, x + w, y + h) for x, y, w, h in (pair[which] for pair in pairs)])

    upper, lower = boxes(0), boxes(1)
    expected = [
        max(min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0]), 0)
        * max(min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1]), 0)
        for a, b in pairs
    ]
    assert _areas_shared(upper, lower) == pytest.approx(np.array(expected, float))


@pytest.mark.parametrize(
    ("long", "wide", "loose"), [(3.0, 1.5, False), (3.0, 1.45, True), (2.7, 1.5, False), (2.6, 1.5, True)]
)
def test_an_island_of_four_square_millimetres_and_one_and_a_half_wide_holds(
    long: float, wide: float, loose: bool
) -> None:
    layer = Layer(1, 1, 0.0, 0.2, {"base": as_multi(shapely.box(0, 0, long, wide))})
    assert bool(_first_islands(layer)) is loose
