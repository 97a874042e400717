from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import cut, mesh_faults, signed_volume
from reliefsmith.model import Field, Slab, Stack
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack
from sound import assert_closed, assert_closed_as_stl

from .plans import GOLD, PRINTER, RED, WHITE, heights_of, pictures, plan_of

BASE = shapely.box(0, 0, 40, 30) - shapely.box(18, 24, 22, 28)


def _built(plan):
    stacked = stack(plan, heights=heights_of(2.0, 0.6), printer=PRINTER)
    return stacked, build(stacked)


def test_parts_follow_the_slabs_and_share_the_interface() -> None:
    left, right = shapely.box(2, 2, 20, 20), shapely.box(20, 2, 38, 12)
    stacked, parts = _built(plan_of(BASE, (RED, left), (GOLD, right)))
    assert [part.name for part in parts] == [slab.part for slab in stacked.slabs]
    assert [part.color for part in parts] == [slab.color for slab in stacked.slabs]
    assert [part.vertices[:, 2].min() for part in parts] == [0.0, 2.0, 2.0]
    assert [part.vertices[:, 2].max() for part in parts] == [2.0, 2.6, 2.6]
    shared = shapely.LineString([(20, 2), (20, 12)])
    on_wall = [
        part.vertices[shapely.dwithin(shapely.points(part.vertices[:, :2]), shared, 0)] for part in parts
    ]
    assert {tuple(row) for row in on_wall[2].tolist()} <= {tuple(row) for row in on_wall[1].tolist()} | {
        (20.0, 12.0, 2.0),
        (20.0, 12.0, 2.6),
    }


@given(pictures())
@settings(max_examples=40)
def test_every_set_is_closed_exact_and_apart(plan) -> None:
    stacked, parts = _built(plan)
    for slab, part in zip(stacked.slabs, parts, strict=True):
        assert_closed(part)
        assert_closed_as_stl(part)
        wanted = slab.polygon.area * (slab.top - slab.bottom_mm)
        assert signed_volume(part.vertices, part.triangles) == pytest.approx(wanted, rel=1e-9)
    middles = [cut(part.vertices, part.triangles, 2.3) for part in parts[1:]]
    assert all(one.intersection(other).area < 1e-6 for one, other in combinations(middles, 2))
    below = cut(parts[0].vertices, parts[0].triangles, 1.9)
    assert all(item.difference(below).area < 1e-6 for item in middles)
    assert cut(parts[0].vertices, parts[0].triangles, 2.3).is_empty


def test_slabs_of_one_part_become_one_solid() -> None:
    plate = shapely.box(0, 0, 20, 10)
    step = shapely.box(4, 2, 8, 8)
    slabs = (
        Slab("base", "base", RED, plate, 0.0, 1.0),
        Slab("base", "base", RED, plate - step, 1.0, 2.0),
        Slab("white", "motif", WHITE, step, 1.0, 2.0),
    )
    parts = build(Stack(slabs, (1.0, 2.0), (), False))
    assert [part.name for part in parts] == ["base", "white"]
    faults = mesh_faults(parts[0].vertices, parts[0].triangles)
    assert faults.sound
    assert faults.volume_mm3 == pytest.approx(200 + 176)


def test_nothing_stands_on_a_shaped_top() -> None:
    plate = shapely.box(0, 0, 4, 4)
    top = Field(np.zeros((2, 2), dtype=np.float32), (0.0, 0.0), 4.0)
    below, above = (Slab("base", "base", RED, plate, low, high) for low, high in ((0.0, top), (1.0, 2.0)))
    with pytest.raises(GeometryError, match="only flat tops carry"):
        build(Stack((below, above), (1.0, 2.0), (), True))
