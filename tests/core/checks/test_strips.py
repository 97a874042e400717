"""Slots and walls are told by their shape: tips, notches, grooves of one layer and low strokes are none."""

from __future__ import annotations

import pytest
import shapely

from core.checks.solids import base, codes, found, motif, only, plate
from reliefsmith.recipe.sections import PrinterSettings


def cut_by(shape: shapely.Geometry) -> list[str]:
    return codes(found((base(plate().difference(shape)),)))


@pytest.mark.parametrize("wide_mm", [0.1, 0.25, 0.35])
def test_a_slot_narrower_than_the_nozzle_is_told_with_its_width(wide_mm: float) -> None:
    parts = (base(plate().difference(shapely.box(-10, -5, 2, -5 + wide_mm))),)
    item = only(found(parts), "slot-narrow")
    assert f"{wide_mm:.2f} mm wide" in item.message
    assert item.at_mm is not None
    assert -10 <= item.at_mm[0] <= 2
    assert -5 <= item.at_mm[1] <= -5 + wide_mm


def test_what_the_nozzle_can_lay_apart_is_no_slot() -> None:
    assert "slot-narrow" not in cut_by(shapely.box(-10, -5, 2, -4.5))
    parts = (base(plate().difference(shapely.box(-10, -5, 2, -4.5))),)
    assert "slot-narrow" in codes(found(parts, printer=PrinterSettings(nozzle_mm=0.8)))


@pytest.mark.parametrize("wide_mm", [1.0, 3.0, 8.0])
def test_a_notch_is_no_slot(wide_mm: float) -> None:
    notch = shapely.Polygon([(40, -wide_mm / 2), (40, wide_mm / 2), (20, 0)])
    assert "slot-narrow" not in cut_by(notch)


def test_a_groove_of_one_layer_is_no_slot() -> None:
    sides = shapely.MultiPolygon([shapely.box(-12, -8, -0.1, 2), shapely.box(0.1, -8, 12, 2)])
    one, two = (motif(sides, heights=(2.0, 2.0 + high)) for high in (0.2, 0.4))
    assert "slot-narrow" not in codes(found((base(), one)))
    assert "slot-narrow" in codes(found((base(), two)))


@pytest.mark.parametrize(
    ("wide_mm", "high_mm", "is_thin"),
    [(0.6, 3.0, True), (0.7, 2.0, True), (0.6, 1.2, False), (1.0, 3.0, False)],
)
def test_a_wall_is_thin_where_it_stands_high(wide_mm: float, high_mm: float, is_thin: bool) -> None:
    wall = motif(shapely.box(-10, -4, 4, -4 + wide_mm), heights=(2.0, 2.0 + high_mm))
    told = [item for item in found((base(), wall)) if item.code == "wall-thin"]
    assert bool(told) == is_thin
    if told:
        assert f"{wide_mm:.2f} mm wide stands {high_mm:.1f} mm high" in told[0].message


def test_a_wall_counts_from_where_it_narrows() -> None:
    """Two parts on each other: broad below, narrow on top, or narrow all the way."""
    lean = shapely.box(-10, -4, 4, -3.4)
    broad, top = motif(heights=(2.0, 4.0)), motif(lean, name="red", heights=(4.0, 5.0))
    assert "wall-thin" not in codes(found((base(), broad, top)))
    low, high = motif(lean, heights=(2.0, 3.0)), motif(lean, name="red", heights=(3.0, 4.0))
    assert "wall-thin" in codes(found((base(), low, high)))


def test_a_tip_is_no_wall() -> None:
    tip = motif(shapely.Polygon([(-10, -4), (4, -4), (-10, -2)]), heights=(2.0, 5.0))
    assert "wall-thin" not in codes(found((base(), tip)))
