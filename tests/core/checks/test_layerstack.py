"""Layers from the stack and layers cut from the solids are the same layers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import pieces
from core.mesh.samples import mosaics, plates
from core.solid.plans import plan_of
from reliefsmith.checks.independent import check_parts_steps
from reliefsmith.checks.layerstack import Layer, cut_layers_steps, layers_of_stack
from reliefsmith.errors import GeometryError
from reliefsmith.formats import threemf_bytes
from reliefsmith.jobs.checking import check_files
from reliefsmith.model import Part, Stack
from reliefsmith.polygons import as_multi, noded_coverage
from reliefsmith.progress import drain
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

from . import solids

COLORS = ((200, 30, 30), (20, 60, 200), (250, 220, 40), (255, 255, 255))
heights_drawn = st.builds(
    HeightSettings,
    base_mm=st.floats(0.6, 3.0),
    motif_mm=st.floats(0.2, 1.2),
    layer_mm=st.sampled_from([0.12, 0.2, 0.28]),
    first_layer_mm=st.sampled_from([0.2, 0.3]),
)


def _cut(parts: tuple[Part, ...], heights: HeightSettings) -> list[Layer]:
    return drain(cut_layers_steps(parts, heights=heights))


def _assert_same_layers(stacked: Stack, parts: tuple[Part, ...], heights: HeightSettings) -> None:
    """The same runs, and in each the same shapes, of which the mesh knows nothing but triangles."""
    planned, found = layers_of_stack(stacked), _cut(parts, heights)
    assert [(layer.first, layer.count) for layer in found] == [
        (layer.first, layer.count) for layer in planned
    ]
    for one, other in zip(planned, found, strict=True):
        assert list(one.shapes) == list(other.shapes)
        assert other.top_mm == pytest.approx(one.top_mm)
        for name in one.shapes:
            assert one.shapes[name].symmetric_difference(other.shapes[name]).area < 1e-9


@given(plates(), heights_drawn)
@settings(max_examples=30)
def test_a_plate_with_a_motif(plate: shapely.Polygon, heights: HeightSettings) -> None:
    motif = as_multi(noded_coverage([plate.buffer(-1.5)])[0])
    motifs = [] if motif.is_empty else [(COLORS[0], motif)]
    stacked = stack(plan_of(plate, *motifs), heights=heights, printer=PrinterSettings())
    _assert_same_layers(stacked, build(stacked), heights)


@given(mosaics(), heights_drawn)
@settings(max_examples=30)
def test_mosaics_whose_cells_touch_at_corners(
    cells: list[shapely.MultiPolygon], heights: HeightSettings
) -> None:
    base = shapely.box(*shapely.total_bounds(cells)).buffer(1.0, join_style="mitre")
    motifs = list(zip(COLORS, cells, strict=False))
    stacked = stack(plan_of(base, *motifs), heights=heights, printer=PrinterSettings())
    _assert_same_layers(stacked, build(stacked), heights)


@given(mosaics())
@settings(max_examples=20)
def test_whatever_the_mosaic_nothing_stops_the_print(cells: list[shapely.MultiPolygon]) -> None:
    """Whole, apart, carried, on every layer: what construction promises, read off the solids."""
    grown = [shapely.transform(cell, lambda points: points * 12.0) for cell in cells]
    base = shapely.box(*shapely.total_bounds(grown)).buffer(1.0, join_style="mitre")
    stacked = stack(
        plan_of(base, *zip(COLORS, grown, strict=False)), heights=HeightSettings(), printer=PrinterSettings()
    )
    steps = check_parts_steps(build(stacked), printer=PrinterSettings(), heights=HeightSettings())
    assert {item.code for item in drain(steps) if item.severity == "stop"} == set()


def test_a_layer_counts_when_the_parts_reach_its_middle() -> None:
    heights = HeightSettings()
    for top, layers in ((2.0, 10), (2.09, 10), (2.1, 10), (2.11, 11), (0.05, 1)):
        part = pieces.part("base", solids.WHITE, shapely.box(0, 0, 70, 40), (0.0, top))
        found = _cut((part,), heights)
        assert sum(layer.count for layer in found) == layers, top


def test_slanted_walls_give_another_shape_in_each_layer() -> None:
    """A pyramid: each layer is smaller, by the theorem on similar triangles."""
    corners = np.array([[0.0, 0, 0], [40, 0, 0], [40, 40, 0], [0, 40, 0], [20, 20, 4]])
    triangles = np.array([[0, 2, 1], [0, 3, 2], [0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]], dtype=np.int32)
    layers = _cut((Part("base", "base", solids.WHITE, corners, triangles),), HeightSettings())
    assert len(layers) == 20
    for layer in layers:
        middle = (layer.bottom_mm + layer.top_mm) / 2
        assert layer.shapes["base"].area == pytest.approx((40 * (1 - middle / 4)) ** 2, rel=1e-9)


def test_a_piece_as_high_as_a_house_is_refused_in_one_line() -> None:
    tower = pieces.part("base", solids.WHITE, shapely.box(0, 0, 70, 40), (0.0, 3000.0))
    with pytest.raises(GeometryError, match="layers; check their unit") as caught:
        _cut((tower,), HeightSettings())
    assert "\n" not in str(caught.value)


def test_parts_written_and_read_again_get_the_same_findings(tmp_path: Path) -> None:
    spoiled = (solids.base(), solids.moved(solids.motif(heights=(1.6, 2.6)), x=15.0))
    path = tmp_path / "piece.3mf"
    path.write_bytes(threemf_bytes(spoiled, title="piece"))
    read = check_files([path])
    assert solids.codes(read) == solids.codes(solids.found(spoiled))
    assert {"parts-overlap", "motif-over-edge"} <= set(solids.codes(read))


def test_a_layer_is_united_whether_its_parts_share_boundaries_or_overlap() -> None:
    left = as_multi(shapely.box(0, 0, 2, 1))
    for other, area in ((shapely.box(2, 0, 3, 1), 3.0), (shapely.box(1, 0, 3, 1), 3.0)):
        union = Layer(1, 1, 0.0, 0.2, {"base": left, "red": as_multi(other)}).union
        assert union.is_valid
        assert union.area == pytest.approx(area, rel=1e-12)
        assert union.equals(shapely.box(0, 0, 3, 1))
