"""What a bed takes: colors by layer and print, changes of the bed and not of each piece, time and plastic."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.checks.bedwork import Bands, ColorBegins, bands, bed_work, volume_mm3
from reliefsmith.checks.layerstack import Layer
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings

from .solids import base, motif

NAVY, RED, WHITE = (0, 0, 90), (200, 0, 0), (244, 244, 240)
SQUARE = shapely.MultiPolygon([shapely.box(0, 0, 10, 10)])
LAYERS = [
    Layer(1, 2, 0.0, 0.4, {"base": SQUARE}),
    Layer(3, 1, 0.4, 0.6, {"base": SQUARE, "red": SQUARE}),
    Layer(4, 2, 0.6, 1.0, {"red": SQUARE}),
]
COLORS = {"base": NAVY, "red": RED}
HEIGHTS = HeightSettings(layer_mm=0.2, first_layer_mm=0.2)
PRINTER = PrinterSettings(filaments=1, flow_mm3_s=5.0, layer_s=6.0, change_s=60.0, purge_mm3=100.0)


def test_each_layer_of_a_run_has_the_colors_of_the_run() -> None:
    levels = bands(LAYERS, COLORS, HEIGHTS).levels
    assert list(levels) == [(0, number) for number in range(1, 6)]
    assert [levels[0, number] for number in (1, 2, 3, 5)] == [{NAVY}, {NAVY}, {NAVY, RED}, {RED}]


def test_prints_one_after_another_keep_their_colors_apart() -> None:
    levels = bands(LAYERS, COLORS, HEIGHTS, [["red"], ["base"]]).levels
    assert list(levels) == [(0, 3), (0, 4), (0, 5), (1, 1), (1, 2), (1, 3)]
    assert {color for (print_, _), here in levels.items() if print_ == 0 for color in here} == {RED}


def test_a_piece_is_held_by_one_that_has_its_colors_layer_by_layer() -> None:
    whole = bands(LAYERS, COLORS, HEIGHTS)
    plain = bands(LAYERS[:1], COLORS, HEIGHTS)
    assert whole.holds(whole)
    assert (whole.holds(plain), plain.holds(whole)) == (True, False)
    finer = Bands(0.2, 0.1, plain.levels)
    assert not whole.holds(finer)
    higher = Bands(0.2, 0.2, {(0, 9): frozenset({RED})})
    assert not whole.holds(higher)


def test_a_bed_has_the_layers_and_changes_of_its_pieces_together() -> None:
    """Five layers; navy, then both in the third, then red: one change, within the third layer."""
    whole = bands(LAYERS, COLORS, HEIGHTS)
    alone, four = bed_work([(whole, 90.0)], PRINTER), bed_work([(whole, 90.0)] * 4, PRINTER)
    assert (alone.changes, alone.between, four.changes) == (1, 0, 1)
    assert (alone.purge_mm3, four.purge_mm3) == (100.0, 100.0)
    assert alone.time_min == pytest.approx((190 / 5 + 5 * 6 + 60) / 60)
    assert four.time_min - alone.time_min == pytest.approx(3 * 90 / 5 / 60)
    assert four.mass_g == pytest.approx(PRINTER.mass_g(4 * 90.0 + 100.0))
    assert four.attended_min == PRINTER.change_attended_min  # red; navy is loaded before the start
    assert bed_work([(whole, 90.0)], PrinterSettings(filaments=2)).attended_min == 0.0


def test_a_change_between_layers_purges_nothing() -> None:
    apart = bands([LAYERS[0], LAYERS[2]], COLORS, HEIGHTS)
    work = bed_work([(apart, 60.0)], PRINTER)
    assert (work.changes, work.between, work.purge_mm3) == (1, 1, 0.0)


def test_colors_begin_where_the_layer_below_has_them_not() -> None:
    work = bed_work([(bands(LAYERS, COLORS, HEIGHTS), 90.0)], PRINTER)
    assert work.begins == (ColorBegins(1, 1, 0.0, NAVY), ColorBegins(1, 3, 0.4, RED))
    other = Bands(0.2, 0.2, {(0, 1): frozenset({WHITE}), (0, 5): frozenset({NAVY})})
    both = bed_work([(bands(LAYERS, COLORS, HEIGHTS), 90.0), (other, 10.0)], PRINTER)
    begins = [(item.layer, item.color) for item in both.begins]
    assert begins == [(1, NAVY), (1, WHITE), (3, RED), (5, NAVY)]  # again: the fourth layer is red alone


def test_volumes_of_parts_add_up() -> None:
    parts = (base(), motif())
    assert volume_mm3(parts) == pytest.approx(sum(volume_mm3([part]) for part in parts))
    assert volume_mm3(()) == 0.0
