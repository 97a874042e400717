"""Where a boundary runs between two pixels, and how far that is trusted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from exactart import picture_of
from reliefsmith.areas.graph import build_graph
from reliefsmith.areas.subpixel import CrackPoints, locate_cracks


def located(blur: int) -> tuple[CrackPoints, np.ndarray]:
    """Locate the upright edge at 20.3 of a box that is blurred along rows over some pixels to each side."""
    artwork, separation = picture_of([shapely.box(20.3, -1, 60, 41)], 40)
    wide = np.pad(artwork.rgb.astype(float), ((0, 0), (blur, blur), (0, 0)), mode="edge")
    mean = np.mean([wide[:, k : k + 40] for k in range(2 * blur + 1)], axis=0)
    graph = build_graph(separation.labels)
    inner = (np.abs(graph.middle[:, 0] - 20) < 3) & (np.abs(graph.middle[:, 1] - 20) < 12)
    return locate_cracks(graph, replace(artwork, rgb=np.rint(mean).astype(np.uint8)), separation), inner


@pytest.mark.parametrize("blur", [0, 1, 2])
def test_an_edge_lies_where_it_is_however_blurred_and_is_trusted_less_the_wider_it_is(blur: int) -> None:
    found, inner = located(blur)
    np.testing.assert_allclose(found.points[inner, 0], 20.3, atol=0.02)
    # The trust is one over the pixels that mix both colors: one of them, then two more for each step of blur.
    np.testing.assert_allclose(found.weights[inner], 1 / (2 * blur + 1))
