"""Material, time, price by hand; cautions, finishing and symptoms of what the piece has and nothing else."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.holders import hardware_named
from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.care import (
    cautions_section,
    estimate_section,
    finishing_section,
    symptoms_section,
    time_words,
)
from reliefsmith.model import Pocket
from reliefsmith.recipe import Recipe

from ..pages import Page


@pytest.mark.parametrize("minutes", [0.2, 59.4, 59.6, 60, 119.5, 1440.0])
def test_hours_and_minutes_add_up_again(minutes: float) -> None:
    words = time_words(minutes).split()
    numbers = [int(word) for word in words if word.isdigit()]
    assert sum(n * unit for n, unit in zip(numbers[::-1], (1, 60), strict=False)) == round(minutes)
    assert all(n < 60 for n in numbers[-1:])


def _cells(page: Page) -> list[str]:
    return [data for tag, data in page.texts if tag in ("td", "th")]


def test_material_is_that_of_the_estimate_and_what_is_pushed_through_by_its_cylinder(job) -> None:
    cells = _cells(Page(estimate_section(job, legend(job)).encode()))
    estimate, printer = job.inspection.estimate, job.recipe.printer
    at = cells.index("Pushed through")
    volume = estimate.purge_mm3
    length = volume / (math.pi * (printer.filament_mm / 2) ** 2) / 1000
    assert cells[at + 1 : at + 4] == [
        f"{volume / 1000:.2f} cm³",
        f"{volume * 1.24 / 1000:.2f} g",
        f"{length:.2f} m",
    ]
    red = cells.index("2 red")
    assert cells[red + 1] == f"{estimate.volume_mm3['red'] / 1000:.2f} cm³"


@pytest.mark.parametrize("count", [1, 12])
def test_the_order_is_as_many_times_one_piece(job, count: int) -> None:
    page = Page(
        estimate_section(
            replace(job, recipe=Recipe().with_values({"order.quantity": count})), legend(job)
        ).encode()
    )
    cells, estimate = _cells(page), job.inspection.estimate
    price = cells[cells.index("Price") + 1 :][:2]
    assert price[0] == f"{estimate.cost:.2f} EUR"
    assert ("The order" in cells) == (count > 1)
    if count > 1:
        assert price[1] == f"{estimate.cost * count:.2f} EUR"
        assert f"Totals, {count} pieces, one by one" in page.text()
    else:
        assert "Totals, 1 piece" in page.text()


def test_finishing_speaks_of_an_eyelet_only_where_there_is_one(job) -> None:
    inside = replace(job, plan=replace(job.plan, hole=replace(job.plan.hole, origin="inside")))
    with_one, without = (Page(finishing_section(item, None).encode()).text() for item in (job, inside))
    assert "never by a motif or the eyelet." in with_one
    assert "eyelet" not in without


def test_plates_are_joined_before_hardware_is_fitted(job) -> None:
    ring = hardware_named("split-ring")
    items = [
        data
        for tag, data in Page(finishing_section(job, ring, ["Join <them>."]).encode()).texts
        if tag == "li"
    ]
    assert items.index("Join <them>.") < next(
        at for at, words in enumerate(items) if "Pass the split ring" in words
    )
    plain = [data for tag, data in Page(finishing_section(job, None).encode()).texts if tag == "li"]
    assert not any("split ring" in words for words in plain)


KINDS = ("split-ring", "strap", "screw", "magnet", "pin", "tape")


@pytest.mark.parametrize("kind", KINDS)
def test_symptoms_name_settings_that_there_are_and_the_hardware_that_there_is(job, kind: str) -> None:
    hardware = hardware_named(kind)
    pocketed = hardware.use in ("magnet", "pin", "tape")
    pockets = (Pocket(kind, shapely.box(0, 0, 9, 9), 1.0, "back"),) if pocketed else ()  # type: ignore[arg-type]
    plan = replace(job.plan, hole=None if pocketed else job.plan.hole, pockets=pockets)
    page = Page(symptoms_section(replace(job, plan=plan), hardware).encode())
    known = {f"{name}.{key}" for name, section in Recipe().sections() for key in section.__slots__}
    codes = {data for tag, data in page.texts if tag == "code"}
    assert codes <= known
    assert f"The {hardware.noun} does not {'go in' if pocketed else 'pass'}" in page.text()
    assert ("hangs crooked" in page.text()) == (kind not in ("magnet", "tape"))
    assert ("the hole is tight there" in page.text()) == (not pocketed)
    assert ("hang.wall_mm" in codes) == (not pocketed)


def test_two_screws_do_not_hang_crooked(job) -> None:
    two = replace(job, plan=replace(job.plan, other_holes=(job.plan.hole,)))
    assert "crooked" not in symptoms_section(two, hardware_named("screw"))
    assert "crooked" in symptoms_section(two, hardware_named("cord"))
    assert "does not" not in symptoms_section(job, None)


def test_the_pause_is_that_of_the_first_change(job) -> None:
    assert "Color change (pause before layer 11)" in symptoms_section(job, None)
    none = replace(job, stack=replace(job.stack, color_changes=()))
    assert "Color change (pauses)" in symptoms_section(none, None)


def test_cautions_are_listed(job) -> None:
    assert len(Page(cautions_section(job, None).encode()).all("li")) > 5
