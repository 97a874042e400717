"""Areas from arcs: labels that no pixel has are empty, and a picture of ground alone has none."""

from __future__ import annotations

import numpy as np

from reliefsmith.areas.graph import build_graph
from reliefsmith.areas.rings import build_polygons


def test_a_picture_of_ground_alone_has_no_areas() -> None:
    graph = build_graph(np.zeros((6, 7), np.uint8))
    found = build_polygons(graph, np.empty((0, 2)), np.zeros(1, np.int64), 2)
    assert len(found) == 2
    assert all(shape.is_empty for shape in found)
