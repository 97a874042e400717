"""What holds a piece: what fits by its own measures, and steps for the hardware that there is."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.holders import hardware_named
from reliefsmith.documents.sheet.holding import fitting_items, hardware_section
from reliefsmith.model import Hole, Pocket

from ..pages import Page

HOLE = Hole((0.0, 30.0), 5.0, 2.5, 0.2, "inside", (0.0, 32.5))


def _items(job, kind: str, *holes: Hole, pockets: tuple[Pocket, ...] = ()) -> list[str]:
    first, *others = holes or (None,)
    plan = replace(job.plan, hole=first, other_holes=tuple(others), pockets=pockets)
    page = Page(hardware_section(replace(job, plan=plan), hardware_named(kind)).encode())
    return [data for tag, data in page.texts if tag in ("li", "p")]


@pytest.mark.parametrize(
    ("kind", "words"),
    [("split-ring", "two turns of wire"), ("jump-ring", "wire"), ("cord", "two strands of cord")],
)
def test_what_passes_a_hole_is_its_diameter_less_the_play_by_the_turns(job, kind: str, words: str) -> None:
    hardware = hardware_named(kind)
    strand = (5.0 - hardware.play_mm) / hardware.turns
    items = _items(job, kind, HOLE)
    assert f"It takes {words} of up to {strand:.1f} mm, free to swing." in items
    inside = 2 * (2.5 + hardware.wire_mm)
    assert any(f"of {inside:.1f} mm or more inside swings" in item for item in items)
    assert items[-1] == "It hangs plumb."


def test_a_hole_says_where_it_is_and_its_least_wall(job) -> None:
    for origin, words in (
        ("artwork", "an opening of the drawing"),
        ("inside", "inside the base"),
        ("eyelet", "an eyelet"),
    ):
        assert words in _items(job, "cord", replace(HOLE, origin=origin))[0]
    two = _items(job, "cord", HOLE, replace(HOLE, center_mm=(9.0, 30.0), wall_mm=1.9))
    assert "Two holes on one level" in two[0]
    assert "at least 1.9 mm of plastic round it" in two[1]


def test_walls_are_drilled_as_far_apart_as_the_holes(job) -> None:
    places = ((-20.0, 30.0), (20.5, 30.0), (-15.0, -25.0), (15.0, -25.0))
    holes = [replace(HOLE, center_mm=place, hardware="screw") for place in places]
    assert _items(job, "screw", *holes[:2])[-1] == "Drill the wall 40.5 mm apart, level."
    assert (
        _items(job, "screw", *holes)[-1]
        == "Drill the wall 40.5 mm apart, level, and 30.0 mm apart 55.0 mm below."
    )
    assert "Held by four screws" in _items(job, "screw", *holes)[0]
    assert "Held by one screw:" in _items(job, "screw", holes[0])[0]


def test_a_slot_is_told_by_length_and_width(job) -> None:
    items = _items(job, "strap", replace(HOLE, slot_mm=(11.0, 3.0), origin="eyelet"))
    assert "Slot 11.0 × 3.0 mm, at least 2.5 mm of plastic round it." in items
    assert "in a slot of an eyelet" in items[0]


@pytest.mark.parametrize("count", [1, 2])
def test_pockets_are_told_by_their_sides_and_depth(job, count: int) -> None:
    round_one = Pocket("magnet", shapely.Point(0, 0).buffer(4.1, quad_segs=64), 1.2, "back")
    items = _items(job, "magnet", pockets=(round_one,) * count)
    assert "Pocket 8.20 mm wide and 1.20 mm deep, room for glue counted in." in items
    assert items[0].startswith("2 pockets" if count == 2 else "A pocket")
    assert ("each" in items[0]) == (count == 2)
    bar = Pocket("pin", shapely.box(0, 0, 25.4, 5.4), 1.5, "back")
    assert "Pocket 25.40 × 5.40 mm wide and 1.50 mm deep, room for glue counted in." in _items(
        job, "pin", pockets=(bar,)
    )


def test_a_piece_that_hangs_on_nothing_needs_nothing(job) -> None:
    assert _items(job, "cord") == ["This piece has no hanging hole and needs no hardware."]
    assert "needs no hardware" in hardware_section(job, None)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("split-ring", "Pass the split ring through the hole"),
        ("strap", "Pass the strap through the slot"),
        ("screw", "Search for cables and pipes"),
        ("magnet", "gloves, open windows"),
        ("pin", "gloves, open windows"),
        ("tape", "pull the liners off"),
    ],
)
def test_each_use_has_its_own_steps_and_ends_in_a_test_of_it(kind: str, words: str) -> None:
    items = fitting_items(hardware_named(kind))
    assert any(words in item for item in items)
    assert kind == "screw" or "ull" in items[-1]
    others = {"cables", "liners", "gloves", "slot", "swing"}
    own = {
        "screw": {"cables"},
        "tape": {"liners"},
        "magnet": {"gloves"},
        "pin": {"gloves"},
        "strap": {"slot"},
    }
    said = {word for word in others if any(word in item for item in items)}
    assert said == own.get(kind, {"swing"})
