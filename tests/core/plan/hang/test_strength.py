"""Strength of the hole: formulas by their geometry and their laws, the weakest way to fail named."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.plan.hang.strength import LOAD_N, Lug, Slot

LUG, SLOT = Lug(hole=5.0, width=11.0, edge=5.5, thickness=2.0), Slot(length=11.0, wall=4.0, thickness=2.0)
sizes = st.floats(1.0, 20.0)


@given(sizes, sizes)
def test_planes_of_shear_run_up_from_the_hole_where_it_is_40_degrees_off_the_pull(
    hole: float, wall: float
) -> None:
    """Bruhn, D1 (from memory): measured here on a drawing of the hole below a straight edge."""
    edge, turn = hole / 2 + wall, math.radians(40.0)
    start = shapely.Point(hole / 2 * math.sin(turn), hole / 2 * math.cos(turn))
    plane = shapely.distance(start, shapely.LineString([(-99, edge), (99, edge)]))
    lug = Lug(hole, hole + 2 * wall, edge, 2.0)
    assert lug.shear(LOAD_N) == pytest.approx(LOAD_N / (2 * plane * 2.0))


@given(st.sampled_from([LUG, SLOT]), st.floats(1, 300), st.floats(20, 90))
def test_it_fails_where_stress_by_strength_is_greatest(
    item: Lug | Slot, load: float, strength: float
) -> None:
    """Of the stresses, what shears is held by less than what is pulled: 1 / sqrt(3) after von Mises."""
    weakest = item.weakest(load, strength)
    stresses = [(item.net(load), 1.0), (item.shear(load), 3**-0.5), (item.bearing(load), 1.0)]
    stresses += [(item.bending(load), 1.0)] if isinstance(item, Slot) else []
    assert weakest.factor == pytest.approx(min(share * strength / stress for stress, share in stresses))
    assert weakest.factor == pytest.approx(item.weakest(2 * load, 2 * strength).factor)
    assert weakest.stress * weakest.factor == pytest.approx(weakest.holds)


@pytest.mark.parametrize(
    ("item", "name"),
    [
        (Lug(hole=5.0, width=6.0, edge=40.0, thickness=2.0), "tension on the section beside it"),
        (Lug(hole=5.0, width=40.0, edge=3.5, thickness=2.0), "shear on the planes above it"),
        (Lug(hole=1.0, width=40.0, edge=40.0, thickness=2.0), "pressure on its wall"),
        (Slot(length=2.0, wall=1.6, thickness=4.0), "shear on the planes above its ends"),
        (Slot(length=1.0, wall=9.0, thickness=2.0), "pressure on its bridge"),
        (Slot(length=20.0, wall=4.0, thickness=2.0), "bending of the bridge over it"),
    ],
)
def test_the_weakest_way_is_named(item: Lug | Slot, name: str) -> None:
    """No slot tears at its sections: they are as wide as its planes of shear, which hold less."""
    assert item.weakest().name == name
