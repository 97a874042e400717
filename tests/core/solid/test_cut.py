"""A stack cut off at a height has the volume that lies below it, in closed parts."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import mesh_faults, signed_volume
from reliefsmith.model import Slab, Stack
from reliefsmith.solid.build import build
from reliefsmith.solid.cut import cut_below

BASE, MOTIF = shapely.box(-10, -5, 10, 5), shapely.box(-3, -2, 4, 2)


def stack() -> Stack:
    slabs = (
        Slab("base", "base", (20, 40, 80), BASE, 0.0, 2.0),
        Slab("red", "motif", (210, 50, 45), MOTIF, 2.0, 2.6),
    )
    return Stack(slabs, tuple(np.arange(1, 14) * 0.2), (), by_height=True)


@pytest.mark.parametrize(
    ("height", "volumes"),
    [
        (0.7, {"base": 200 * 0.7}),
        (2.0, {"base": 400.0}),
        (2.25, {"base": 400.0, "red": 28 * 0.25}),
        (9.0, {"base": 400.0, "red": 28 * 0.6}),
    ],
)
def test_what_lies_below_is_area_times_height(height: float, volumes: dict[str, float]) -> None:
    parts = build(cut_below(stack(), height))
    assert {part.name: signed_volume(part.vertices, part.triangles) for part in parts} == pytest.approx(
        volumes
    )
    assert all(mesh_faults(part.vertices, part.triangles).sound for part in parts)
    assert max(part.vertices[:, 2].max() for part in parts) == pytest.approx(min(height, 2.6))


def test_below_the_piece_there_is_nothing_to_show() -> None:
    with pytest.raises(GeometryError, match="cut it higher"):
        cut_below(stack(), 0.0)
