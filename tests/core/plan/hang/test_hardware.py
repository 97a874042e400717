"""The table of hardware: what each takes, what "auto" chooses, which screw passes a hole."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.plan.hang.hardware import Hardware, hardware_for, hardware_table
from reliefsmith.recipe.sections import HangSettings

RING = Hardware("ring", "ring", wire_mm=1.5, turns=2, play_mm=0.4, reach_mm=8.0)


def test_the_recipe_offers_what_the_table_has_and_to_choose_or_to_do_without() -> None:
    names = [item.name for item in hardware_table()]
    for name in (*names, "auto", "none"):
        assert HangSettings(hardware=name).hardware == name
    assert len(set(names)) == len(names) == 10
    with pytest.raises(RecipeError):
        HangSettings(hardware="chain")


def test_each_kind_has_the_sizes_that_it_is_placed_by() -> None:
    sizes = {"loop": 0, "slot": 1, "screw": 0, "magnet": 2, "pin": 3, "tape": 3}
    for item in hardware_table():
        assert len(item.size_mm) == sizes[item.use]
        assert bool(item.heads_mm) == (item.use == "screw")
        assert item.opening_mm == item.wire_mm * item.turns + item.play_mm
        if item.use in ("loop", "slot"):
            assert item.wire_mm > 0
            assert item.reach_mm > 0


def test_it_fits_an_opening_that_it_passes_with_its_play_and_a_bridge_that_it_swings_round() -> None:
    assert (RING.bar_mm, RING.opening_mm) == (3.0, 3.4)
    assert RING.fits(3.4, 8.0)
    assert not RING.fits(3.399, 8.0)
    assert not RING.fits(3.4, 8.001)


@pytest.mark.parametrize(
    ("opening", "bridge", "name"),
    [
        (5.0, 2.5, "split-ring"),
        (4.3, 2.5, "jump-ring"),  # two turns of the ring need 4.4
        (4.3, 5.0, "ball-chain"),  # a jump ring reaches 3 mm
        (5.0, 30.0, "cord"),
        (1.0, 2.5, "split-ring"),  # nothing passes: the first, which the note then says does not swing
    ],
)
def test_auto_is_the_first_that_fits(opening: float, bridge: float, name: str) -> None:
    assert hardware_for("auto", opening, bridge).name == name


def test_unknown_hardware_names_what_is_known():
    with pytest.raises(RecipeError, match="split-ring, jump-ring"):
        hardware_for("chain", 5, 2)


def test_the_largest_screw_that_passes_is_taken() -> None:
    """A thread needs 0.4 mm of play, also where the sum is a rounding error off: 3.0 + 0.4."""
    screw = hardware_for("screw", 0, 0).screw
    assert [screw(hole)[0] for hole in (2.4, 3.39, 3.4, 5.0, 30.0)] == [2.0, 2.5, 3.0, 4.0, 8.0]
    with pytest.raises(RecipeError, match=r"2\.39 is too narrow for a screw; one of 2 mm takes 2\.4, or"):
        screw(2.39)
