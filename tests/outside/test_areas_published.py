"""Areas against published facts: closed forms, Euler's formula, a public-domain picture, open artworks."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from skimage import data

from exactart import picture_of, picture_of_labels
from reliefsmith.areas import scale, trace
from reliefsmith.areas.graph import build_graph
from reliefsmith.recipe.sections import AreasSettings, SizeSettings


def test_a_disc_in_millimetres_has_the_area_of_a_circle() -> None:
    # Closed form: pi r^2, perimeter 2 pi r.
    flat = scale(
        trace(*picture_of([shapely.Point(64.3, 63.8).buffer(50, 512)], 128), AreasSettings()),
        SizeSettings(width_mm=40.0),
    )
    # 0.01 px of 50 px radius is 0.02 %; twice that for the area, and the width is set by the extreme points.
    assert flat.polygons[0].area == pytest.approx(math.pi * 20.0**2, rel=2e-3)
    assert flat.polygons[0].length == pytest.approx(2 * math.pi * 20.0, rel=2e-3)
    assert flat.size_mm[1] == pytest.approx(40.0, abs=0.05)


def test_a_regular_hexagon_has_its_closed_form() -> None:
    # Closed form: area of a regular hexagon of side a is 3 sqrt(3) / 2 a^2, its width 2 a.
    angle = np.pi / 3 * np.arange(6)
    hexagon = shapely.Polygon(np.stack((60.2 + 45 * np.cos(angle), 59.7 + 45 * np.sin(angle)), axis=1))
    flat = scale(trace(*picture_of([hexagon], 120), AreasSettings()), SizeSettings(width_mm=30.0))
    assert shapely.get_num_coordinates(flat.polygons[0]) == 7
    assert flat.polygons[0].area == pytest.approx(1.5 * math.sqrt(3) * 15.0**2, rel=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_the_boundary_graph_obeys_eulers_formula(seed: int) -> None:
    # Euler 1758 for a planar graph of c components: vertices - edges + faces = 1 + c.
    random = np.random.default_rng(seed)
    labels = random.integers(0, 4, (24, 31)).astype(np.uint8)
    graph = build_graph(labels)
    ring = graph.tail < 0
    vertices = len(graph.nodes) + int(ring.sum())  # a ring counts as one vertex and one edge
    faces = len(np.unique(np.concatenate((graph.left_piece, graph.right_piece))))
    tail = np.where(ring, len(graph.nodes) + np.cumsum(ring) - 1, graph.tail)
    head = np.where(ring, tail, graph.head)
    links = coo_array((np.ones(tail.size), (tail, head)), shape=(vertices, vertices))
    components, _ = connected_components(links, directed=False)
    assert vertices - tail.size + faces == 1 + components


def test_the_horse_is_one_piece_with_one_hole() -> None:
    # skimage.data.horse: CC0 by its author (docstring); 43412 dark pixels, one component, Euler number 0
    # with 8-connected foreground, so one hole (computed with skimage.measure.euler_number).
    labels = (~data.horse()).astype(np.uint8)
    assert int(labels.sum()) == 43412
    areas = trace(*picture_of_labels(labels), AreasSettings())
    assert len(areas.polygons[0].geoms) == 1
    assert len(areas.polygons[0].geoms[0].interiors) == 1
    assert areas.polygons[0].area == pytest.approx(43412, rel=0.005)


@pytest.mark.deep
@pytest.mark.parametrize("name", ["alpha", "paper", "jpeg", "photo", "tiny"])
def test_open_artworks_match_the_artists_own_shapes(name: str) -> None:
    # Truth: the SVG paths of MIT, CC0 and Apache-2.0 packages of the npm registry (see openart.py).
    sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))
    import accuracy

    import openart

    variant = next(variant for variant in accuracy.VARIANTS if variant.name == name)
    row = accuracy.row(variant, accuracy.run(variant, openart.artworks(), None, 0))
    assert row["n"] >= 40
    assert row["right"] >= variant.right
    assert row["mean_iou"] >= variant.mean_iou
    assert row["worst_iou"] >= variant.worst_iou
    assert row["error_px"] <= variant.error_px
    assert row["lowest_iou"] >= 0.90
    assert row["invalid"] == 0
    assert row["overlap_px"] < 1e-6
