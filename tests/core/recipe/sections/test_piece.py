"""The piece from above: what it hangs on is in the table of hardware, and least sizes fit one another."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe.sections import (
    BaseSettings,
    HangSettings,
    MotifSettings,
    PieceSettings,
    PrinterSettings,
)
from reliefsmith.recipe.settings import specs


def test_what_a_piece_may_hang_on_is_all_that_the_table_of_hardware_has() -> None:
    table = tomllib.loads((files("reliefsmith_data") / "hardware.toml").read_text(encoding="utf-8"))
    choices = specs(HangSettings)["hardware"].choices
    assert set(choices) == {"auto", "none", *table}
    assert len(choices) == len(set(choices))


@pytest.mark.parametrize("kind", ["slot_mm", "magnet_mm", "pin_mm", "tape_mm"])
def test_sizes_of_hardware_are_two_sides_or_the_tables_own(kind: str) -> None:
    assert getattr(HangSettings(), kind) is None
    assert getattr(HangSettings(**{kind: [30, 4]}), kind) == (30.0, 4.0)
    for bad in ([30], [30, 0.1], [201, 4]):
        with pytest.raises(RecipeError, match=f"hang.{kind} must be"):
            HangSettings(**{kind: bad})


def test_holes_are_one_to_four() -> None:
    assert [HangSettings(holes=count).holes for count in (1, 4)] == [1, 4]
    for bad in (0, 5, 1.5):
        with pytest.raises(RecipeError, match=r"hang.holes must be"):
            HangSettings(holes=bad)


def test_the_least_that_prints_is_more_than_a_bead_and_a_dot_more_than_a_stroke() -> None:
    motif, nozzle = MotifSettings(), PrinterSettings().nozzle_mm
    assert nozzle < motif.min_gap_mm < motif.min_stroke_mm < motif.min_dot_mm
    assert BaseSettings().min_width_mm > motif.min_stroke_mm
    assert HangSettings().wall_mm > BaseSettings().border_mm


def test_a_link_is_as_strong_as_the_base_is_wide_at_least() -> None:
    assert PieceSettings().link_mm >= BaseSettings().min_width_mm
    with pytest.raises(RecipeError):
        PieceSettings(link_mm=1.9)


def test_additions_to_the_base_are_left_out_unless_they_are_asked_for() -> None:
    base = BaseSettings()
    assert (base.rim_mm, base.field_mm, base.spike_mm) == (0.0, None, None)
    assert BaseSettings(field_mm=(3, 500)).field_mm == (3.0, 500.0)
    with pytest.raises(RecipeError, match=r"base.spike_mm must be between 3 and 300 mm"):
        BaseSettings(spike_mm=(60, 2))
