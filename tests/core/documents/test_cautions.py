"""Cautions: those of the hardware that there is and of no other, for children too, and no promise."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from reliefsmith.documents.cautions import caution_items, caution_words, short_cautions, workshop_cautions
from reliefsmith.documents.holders import hardware_named
from reliefsmith.recipe import Recipe

KINDS = ("split-ring", "jump-ring", "ball-chain", "cord", "strap", "ribbon", "screw", "magnet", "pin", "tape")
OWN = {"magnet": "magnet", "pin": "sharp point", "screw": "Screws"}


def _result(audience: str = "adults"):
    return SimpleNamespace(recipe=Recipe().with_values({"audience": audience}))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("audience", ["adults", "children"])
def test_hardware_that_can_do_harm_has_a_caution_of_its_own_and_no_other_has_it(
    kind: str, audience: str
) -> None:
    hardware = hardware_named(kind)
    items = caution_items(_result(audience), hardware)
    assert len(items) == 1 + (kind in OWN) + len(workshop_cautions())
    said = " ".join(items[1:])
    assert {name for name, word in OWN.items() if word in said} == ({kind} & set(OWN))
    assert "swallowed" in items[0]
    assert "under 3" in items[0]


def test_what_may_be_swallowed_is_named_for_adults() -> None:
    assert "the piece and its ball chain" in caution_items(_result(), hardware_named("ball-chain"))[0]
    assert "keep the piece from children" in caution_items(_result(), None)[0]


def test_for_children_no_test_is_claimed() -> None:
    assert "not tested as a toy" in caution_items(_result("children"), None)[0]
    assert short_cautions("children").startswith("Not tested as a toy;")
    assert short_cautions("adults").startswith("Not a toy;")


def test_a_swallowed_magnet_is_an_emergency_wherever_it_is_told() -> None:
    magnet = hardware_named("magnet")
    words = "get medical help at once"
    assert words in " ".join(caution_items(_result(), magnet))
    assert words in short_cautions("adults", magnet)
    assert words not in short_cautions("adults", hardware_named("pin"))


def test_the_short_ones_are_one_paragraph_without_gaps() -> None:
    for kind in (None, *KINDS):
        words = short_cautions("adults", hardware_named(kind) if kind else None)
        assert "  " not in words
        assert words.endswith("the filament decides.")
    assert caution_words(_result("children"), None) == short_cautions("children")


def test_every_print_is_hot_and_no_food_and_the_law_is_left_to_its_place() -> None:
    said = " ".join(workshop_cautions())
    for word in ("hot", "air the room", "Not for food", "claims compliance with none", "right to use"):
        assert word in said
