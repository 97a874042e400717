"""Solids of a piece that is cut, part by part."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.mesh import prism, signed_volume
from reliefsmith.model import Division, Part
from reliefsmith.model.segments import Segment
from reliefsmith.solid.segmented import parts_by_segment

LEFT, RIGHT = shapely.box(-20, 0, -0.1, 10), shapely.box(0.1, 0, 30, 10)
DIVISION = Division(
    shapely.box(-20, 0, 30, 10),
    tuple(Segment(1, shape, shapely.MultiPolygon(), 1, 0.0, (0.0, 0.0)) for shape in (LEFT, RIGHT)),
    0.2,
)


def part(name: str, *shapes: shapely.Polygon, sign: float = 1.0) -> Part:
    meshes = [prism(shapely.transform(shape, lambda at: at * (sign, 1.0)), 0.0, 1.0) for shape in shapes]
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])])
    triangles = [mesh.triangles + start for mesh, start in zip(meshes, starts, strict=True)]
    vertices = np.concatenate([mesh.vertices for mesh in meshes])
    return Part(name, "base", (1, 2, 3), vertices, np.concatenate(triangles).astype(np.int32))


@pytest.mark.parametrize("mirrored", [False, True])
def test_bodies_go_to_the_segment_that_they_lie_in(mirrored: bool) -> None:
    sign = -1.0 if mirrored else 1.0
    base = part("base", RIGHT, LEFT, sign=sign)
    red = part("red", shapely.box(10, 2, 12, 4), shapely.box(14, 2, 16, 4), sign=sign)
    first, second = parts_by_segment([base, red], DIVISION, mirrored=mirrored)
    assert [item.name for item in first] == ["base"]
    assert [item.name for item in second] == ["base", "red"]
    volumes = [signed_volume(item.vertices, item.triangles) for item in (*first, *second)]
    assert volumes == pytest.approx([LEFT.area, RIGHT.area, 8.0])
    assert sum(len(item.vertices) for item in (*first, *second)) == len(base.vertices) + len(red.vertices)
