"""The estimate against hand calculation on plates whose volume is area times height."""

from __future__ import annotations

import math

import pytest
import shapely

from reliefsmith.checks.estimate import estimate
from reliefsmith.checks.layerstack import layers_of_stack
from reliefsmith.model import ColorChange, Estimate, Slab, Stack
from reliefsmith.model.arrays import Color
from reliefsmith.recipe.sections import CostSettings, PrinterSettings
from reliefsmith.solid.build import build

NAVY, WHITE, RED = (31, 45, 77), (244, 244, 240), (210, 50, 45)
TOPS = tuple(round(0.2 * n, 6) for n in range(1, 11))
FILAMENT_MM2 = math.pi * 1.75**2 / 4


def _stack(*motifs: tuple[str, Color, shapely.Geometry]) -> Stack:
    """A base of 50 x 20 mm and 8 layers, motifs of 2 layers on it."""
    slabs = [Slab("base", "base", NAVY, shapely.box(0, 0, 50, 20), 0.0, 1.6)]
    slabs += [Slab(name, "motif", color, shape, 1.6, 2.0) for name, color, shape in motifs]
    changes = tuple(ColorChange(9, 1.6, color) for _, color, _ in motifs)
    return Stack(tuple(slabs), TOPS, changes, by_height=len(motifs) < 2)


def _estimated(
    stack: Stack, printer: PrinterSettings | None = None, cost: CostSettings | None = None
) -> Estimate:
    return estimate(
        build(stack),
        layers_of_stack(stack),
        printer=printer or PrinterSettings(),
        cost=cost or CostSettings(),
    )


ONE = _stack(("white", WHITE, shapely.box(10, 5, 30, 15)))
TWO = _stack(("white", WHITE, shapely.box(10, 5, 20, 15)), ("red", RED, shapely.box(20, 5, 30, 15)))


def test_volume_mass_and_filament_are_exact() -> None:
    found = _estimated(ONE)
    assert found.volume_mm3 == pytest.approx({"base": 1600.0, "white": 80.0}, rel=1e-12)
    assert found.mass_g == pytest.approx({"base": 1.984, "white": 0.0992}, rel=1e-12)
    assert found.filament_mm["base"] == pytest.approx(1600 / FILAMENT_MM2, rel=1e-12)
    assert found.mass_g_total == pytest.approx(2.0832, rel=1e-12)


def test_one_motif_color_is_one_change_without_purge() -> None:
    found = _estimated(ONE)
    assert (found.changes, found.purge_mm3) == (1, 0.0)
    assert found.attended_min == 3.0
    # 1680 mm3 at 5 mm3/s, 10 layers of 6 s, one change of 60 s.
    assert found.time_min == pytest.approx((336 + 60 + 60) / 60, rel=1e-12)


def test_two_motif_colors_change_within_each_of_their_layers() -> None:
    """Navy; white and red in layer 9, red and white in layer 10: one change before, one in each."""
    found = _estimated(TWO)
    assert found.changes == 3
    assert found.purge_mm3 == 2 * 100.0
    assert found.attended_min == 9.0
    assert found.mass_g_total == pytest.approx((1680 + 200) * 1.24e-3, rel=1e-12)
    assert found.time_min == pytest.approx(((1680 + 200) / 5 + 60 + 180) / 60, rel=1e-12)


@pytest.mark.parametrize(("loaded", "minutes"), [(1, 9.0), (2, 3.0), (3, 0.0), (16, 0.0)])
def test_filaments_loaded_at_once_save_hand_work(loaded: int, minutes: float) -> None:
    """With two loaded, navy and white at first, red takes the place of navy once."""
    found = _estimated(TWO, PrinterSettings(filaments=loaded))
    assert found.attended_min == minutes
    assert found.changes == 3


def test_warm_up_is_apart() -> None:
    cold, hot = (_estimated(ONE, PrinterSettings(warm_up_min=minutes)) for minutes in (0.0, 30.0))
    assert cold == hot


def test_price() -> None:
    prices = CostSettings(filament_per_kg=20.0, machine_per_hour=6.0, hand_per_hour=30.0)
    found = _estimated(ONE, cost=prices)
    by_hand = 2.0832e-3 * 20 + found.time_min / 60 * 6 + 3 / 60 * 30
    assert found.cost == pytest.approx(by_hand, rel=1e-12)
    nothing = CostSettings(filament_per_kg=0.0)
    assert _estimated(ONE, cost=nothing).cost == 0.0


def test_another_filament() -> None:
    found = _estimated(ONE, PrinterSettings(filament_mm=2.85, density_g_cm3=1.0))
    assert found.mass_g["base"] == pytest.approx(1.6, rel=1e-12)
    assert found.filament_mm["base"] == pytest.approx(1600 / (math.pi * 2.85**2 / 4), rel=1e-12)


def test_a_base_alone() -> None:
    found = _estimated(_stack())
    assert (found.changes, found.attended_min, found.purge_mm3) == (0, 0.0, 0.0)
    assert list(found.volume_mm3) == ["base"]
