from __future__ import annotations

from itertools import permutations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.polygons import as_multi, opened
from reliefsmith.progress import drain
from reliefsmith.solid.order import THIN_LIMIT, best_order_steps


def _bars(widths: list[float]) -> list[shapely.MultiPolygon]:
    """Return bars of 10 mm side by side, each of its own width."""
    shapes, x = [], 0.0
    for width in widths:
        end = round(x + width, 3)
        shapes.append(as_multi(shapely.box(x, 0, end, 10)))
        x = end
    return shapes


def _best(shapes, layers, nozzle=0.4):
    return drain(best_order_steps(shapes, layers, nozzle))


def test_with_equal_steps_the_largest_area_lies_at_the_bottom() -> None:
    # Each area counts once for every step up to its own, so the smallest belongs on top.
    assert _best(_bars([2.0, 8.0, 5.0]), lambda *_: 3) == (1, 2, 0)


def test_one_color_has_one_order() -> None:
    assert _best(_bars([4.0]), lambda *_: 3) == (0,)


def test_no_color_has_no_order() -> None:
    assert _best([], lambda *_: 3) == ()


def test_equal_areas_keep_their_order() -> None:
    assert _best(_bars([4.0, 4.0, 4.0]), lambda *_: 2) == (0, 1, 2)


def test_a_hairline_is_not_left_alone_on_top() -> None:
    # By plastic alone the hairline of 0.3 mm would be the top step, where no nozzle prints it.
    shapes = _bars([5.0, 0.3, 5.2])
    assert _best(shapes, lambda *_: 3)[-1] != 1
    assert _best(shapes, lambda *_: 3, nozzle=0.2)[-1] == 1


def test_orders_that_need_few_layers_win_among_equal_areas() -> None:
    # Color 2 over anything but the base needs many layers, so it lies at the bottom.
    assert _best(_bars([4.0, 4.0, 4.0]), lambda color, below: 9 if color == 2 and below >= 0 else 2)[0] == 2


@given(
    st.lists(st.integers(5, 90), min_size=2, max_size=5),
    st.lists(st.integers(1, 4), min_size=36, max_size=36),
)
@settings(max_examples=40)
def test_no_order_of_all_is_better(tenths: list[int], table: list[int]) -> None:
    shapes = _bars([value / 10 for value in tenths])

    def layers(color: int, below: int) -> int:
        return table[color * 6 + below + 1]

    found = _best(shapes, layers)
    costs = _costs_of_all_orders(shapes, layers)
    assert costs[found] == pytest.approx(min(costs.values()), rel=1e-6)


def _costs_of_all_orders(shapes, layers) -> dict[tuple[int, ...], float]:
    """Return the documented cost of every order, computed from whole orders."""
    sums = {}
    for order in permutations(range(len(shapes))):
        plastic = height = thin = 0.0
        for position, color in enumerate(order):
            count = layers(color, order[position - 1] if position else -1)
            step = shapely.union_all([shapes[index] for index in order[position:]])
            plastic += step.area * count
            height += count
            thin += max(0.0, step.area - opened(step, 0.2).area)
        sums[order] = (plastic, height, thin)
    least = [min(item[k] for item in sums.values()) for k in range(2)]
    allowed = THIN_LIMIT * sum(shape.area for shape in shapes)
    return {
        order: plastic / least[0] + height / least[1] + thin / allowed
        for order, (plastic, height, thin) in sums.items()
    }
