"""The work: mass by density, each filament and part once, a profit that can be kept, shares of one."""

from __future__ import annotations

import math

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import (
    BedSettings,
    CostSettings,
    FilamentSettings,
    OrderSettings,
    PrinterSettings,
)


def test_a_meter_of_filament_weighs_what_its_cylinder_does() -> None:
    """1.75 mm, 1.24 g/cm3: about 3 g, as spools of a kilogram have some 335 m."""
    printer = PrinterSettings()
    volume = math.pi / 4 * printer.filament_mm**2 * 1000
    assert printer.mass_g(volume) == pytest.approx(2.98, abs=0.01)
    assert printer.mass_g(2 * volume) == 2 * printer.mass_g(volume)
    assert PrinterSettings(density_g_cm3=2.48).mass_g(volume) == pytest.approx(2 * printer.mass_g(volume))


def test_a_name_of_a_filament_and_of_a_part_stands_once() -> None:
    night, sun = {"name": "night", "color": "#14213d"}, {"name": "sun", "color": "#ffcc00"}
    assert len(FilamentSettings(stock=[night, sun]).stock) == 2
    with pytest.raises(RecipeError, match=r"filaments.stock names 'night' twice"):
        FilamentSettings(stock=[night, sun, {**night, "color": "#000000"}])
    red, base = {"part": "red", "color": "#aa0000"}, {"part": "base", "color": "#aa0000"}
    assert len(FilamentSettings(parts=[red, base]).parts) == 2
    with pytest.raises(RecipeError, match=r"filaments.parts names 'red' twice"):
        FilamentSettings(parts=[base, red, red])


def test_of_a_price_less_than_all_can_be_kept_and_more_can_be_put_on_a_cost() -> None:
    assert CostSettings(profit=0.99, profit_of="price").profit == 0.99
    assert CostSettings(profit=1, profit_of="cost").profit == 1
    for share in (1, 1.5):
        with pytest.raises(RecipeError, match="cannot be kept of the price"):
            CostSettings(profit=share, profit_of="price")


def test_not_all_prints_may_fail_and_prices_are_rounded_to_something() -> None:
    """Both divide: by the share that comes out, and by the step."""
    assert CostSettings(failures=0.9).failures == 0.9
    for bad in ({"failures": 1}, {"round_to": 0}, {"tax": 1.1}):
        with pytest.raises(RecipeError, match="must be between"):
            CostSettings(**bad)


def test_without_a_word_nothing_is_charged_but_filament() -> None:
    cost = CostSettings()
    charged = {
        name for name in ("machine_per_hour", "hand_per_hour", "hardware_each", "packing_each", "parcel",
                          "order_min", "bed_min", "finish_min", "fit_min", "pack_min", "minimum", "tax",
                          "profit", "failures", "change_g") if getattr(cost, name)
    }  # fmt: skip
    assert charged == set()
    assert cost.filament_per_kg > 0
    assert cost.round_to == 0.01  # prices are to the cent


def test_a_bed_has_two_sides_and_pieces_lie_apart_on_it() -> None:
    assert PrinterSettings(bed_mm=[250, 210]).bed_mm == (250.0, 210.0)
    for bad in ([250], [19, 250], 250):
        with pytest.raises(RecipeError, match=r"printer.bed_mm must be"):
            PrinterSettings(bed_mm=bad)
    beds = BedSettings()
    assert beds.spacing_mm >= beds.cell_mm
    with pytest.raises(RecipeError):
        BedSettings(spacing_mm=0)


def test_an_order_is_one_piece_of_nobody_unless_it_is_more() -> None:
    order = Recipe().order
    assert order == OrderSettings()
    assert order.quantity == 1
    assert not any(
        getattr(order, name) for name in ("title", "customer", "code", "deadline", "spelling", "rights")
    )
    with pytest.raises(RecipeError):
        OrderSettings(quantity=0)
