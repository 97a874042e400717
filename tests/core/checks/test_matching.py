"""Matching of parts to filaments: nearest by CIEDE2000, all together, within what is in stock."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from core.documents.jobs import kite
from reliefsmith.checks.matching import match, table
from reliefsmith.colorimetry import ciede2000, parse_hex, srgb_to_lab, to_hex
from reliefsmith.findings import Severity
from reliefsmith.model import Filament, Matching
from reliefsmith.recipe.sections import FilamentSettings, OrderSettings
from reliefsmith.recipe.tables import Spool

# The kite of the documents: navy base (20, 33, 61), red (211, 32, 32), yellow (247, 201, 35).


def matched(
    *stock: Spool, only: bool = False, quantity: int = 1, colors: dict[str, str] | None = None
) -> Matching:
    job = kite(repaired=False)
    parts = tuple(
        replace(part, color=parse_hex(colors[part.name])) if colors and part.name in colors else part
        for part in job.parts
    )
    settings = FilamentSettings(stock=stock, only_stock=only)
    return match(job.stack, parts, job.inspection, filaments=settings, order=OrderSettings(quantity=quantity))


def names(result: Matching) -> dict[str, str | None]:
    return {item.part: item.filament.name if item.filament else None for item in result.matches}


def codes(result: Matching) -> list[str]:
    return [item.code for item in result.findings]


NIGHT = Spool("night", "#14213d", grams=500)
BERRY = Spool("berry", "#d32020")
CORN = Spool("corn", "#f7c923")


def test_without_a_stock_the_table_is_a_suggestion_without_findings() -> None:
    result = matched()
    assert names(result) == {"base": "navy", "red": "red", "yellow": "yellow"}
    assert {item.filament.source for item in result.matches if item.filament} == {"table"}
    assert not result.asked
    assert result.findings == ()


def test_the_same_color_in_stock_is_taken_with_no_difference_and_a_second_best() -> None:
    result = matched(CORN, NIGHT, BERRY)
    assert names(result) == {"base": "night", "red": "berry", "yellow": "corn"}
    assert [item.delta_e00 for item in result.matches] == [0.0, 0.0, 0.0]
    assert [item.second.name for item in result.matches if item.second] == ["navy", "red", "yellow"]
    assert result.asked
    assert codes(result) == []


def test_differences_are_those_of_the_published_formula() -> None:
    """Grays: a* = b* = 0, where CIEDE2000 is dL / SL; SL = 1 + 0.015 (L - 50)^2 / sqrt(20 + (L - 50)^2)."""
    result = matched(Spool("ash", "#777777"), only=True, colors={"base": "#808080", "red": "#000000"})
    lightness = [116 * (((n / 255 + 0.055) / 1.055) ** 2.4) ** (1 / 3) - 16 for n in (0x80, 0x77)]
    offset = (sum(lightness) / 2 - 50) ** 2
    weight = 1 + 0.015 * offset / (20 + offset) ** 0.5
    assert names(result)["base"] == "ash"
    # The white point's rounding leaves a trace of chroma in grays.
    assert result.matches[0].delta_e00 == pytest.approx((lightness[0] - lightness[1]) / weight, abs=2e-3)


def test_two_parts_never_get_the_same_filament_where_the_picture_tells_them_apart() -> None:
    """Both reds are nearest to berry; together they differ least if the darker one takes wine."""
    stock = (NIGHT, BERRY, Spool("wine", "#8a1010"))
    result = matched(*stock, only=True, colors={"red": "#d32020", "yellow": "#b81818"})
    gap = ciede2000(*(srgb_to_lab(np.array(parse_hex(code))) for code in ("#d32020", "#b81818")))
    assert gap > 5
    assert names(result) == {"base": "night", "red": "berry", "yellow": "wine"}


def test_the_total_counts_and_not_the_first_part() -> None:
    """One orange-red spool suits both; the yellow has no other near it, the red has berry."""
    stock = (NIGHT, Spool("sunset", "#e8701c"), BERRY)
    result = matched(*stock, only=True, colors={"red": "#e04a20", "yellow": "#f09a20"})
    assert names(result) == {"base": "night", "red": "berry", "yellow": "sunset"}


def test_nearly_equal_colors_may_share_a_filament() -> None:
    result = matched(NIGHT, BERRY, CORN, only=True, colors={"red": "#d32020", "yellow": "#d12222"})
    assert names(result) == {"base": "night", "red": "berry", "yellow": "berry"}


def test_stock_comes_before_a_table_entry_that_is_hardly_nearer() -> None:
    near, far = Spool("own red", "#d2332f"), Spool("own red", "#b04038")
    exact = {"red": "#d2322d"}  # the table's red to the digit
    assert names(matched(near, colors=exact))["red"] == "own red"
    assert names(matched(far, colors=exact))["red"] == "red"


def test_a_table_entry_must_be_nearer_than_stock_by_a_just_noticeable_difference() -> None:
    """Two spools lie 0.9 and 1.2 from the table's navy, which is the part's own color."""
    navy = next(item for item in table() if item.name == "navy").color
    labs = [srgb_to_lab(np.array((*navy[:2], navy[2] + step), np.uint8)) for step in range(40)]
    gaps = np.array([float(ciede2000(labs[0], lab)) for lab in labs])
    for gap, expected in ((0.9, "spool"), (1.2, "navy")):
        step = int(np.argmin(np.abs(gaps - gap)))
        assert abs(gaps[step] - gap) < 0.1
        spool = Spool("spool", to_hex((*navy[:2], navy[2] + step)))
        assert names(matched(spool, colors={"base": to_hex(navy)}))["base"] == expected


def test_only_stock_leaves_parts_without_a_filament_and_says_so() -> None:
    result = matched(NIGHT, BERRY, only=True)
    assert names(result) == {"base": "night", "red": "berry", "yellow": None}
    assert codes(result) == ["filament-missing"]
    assert result.findings[0].severity is Severity.WARN
    assert "yellow" in result.findings[0].message
    assert codes(matched(only=True)) == ["filament-missing"] * 3


def test_a_filament_far_from_the_part_is_a_finding() -> None:
    result = matched(NIGHT, BERRY, Spool("grass", "#2f9e4f"), only=True)
    assert codes(result) == ["filament-far"]
    assert "yellow will look different: grass" in result.findings[0].message


def test_grams_left_are_held_against_all_pieces_of_the_order() -> None:
    mass = kite(repaired=False).inspection.estimate.mass_g["base"]
    enough, short = (
        replace(NIGHT, grams=round(mass * 3 + 0.1, 2)),
        replace(NIGHT, grams=round(mass * 3 - 0.1, 2)),
    )
    assert codes(matched(enough, BERRY, CORN, quantity=3)) == []
    result = matched(short, BERRY, CORN, quantity=3)
    assert codes(result) == ["filament-short"]
    assert (
        f"night has {short.grams:.2f} g left, and the 3 pieces take {3 * mass:.2f} g"
        in result.findings[0].message
    )


def test_a_shared_filament_must_last_for_both_parts() -> None:
    mass = kite(repaired=False).inspection.estimate.mass_g
    both = mass["red"] + mass["yellow"]
    near = {"red": "#d32020", "yellow": "#d12222"}
    spare = replace(BERRY, grams=round(both - 0.02, 2))
    assert spare.grams is not None
    assert spare.grams > max(mass["red"], mass["yellow"])
    assert codes(matched(NIGHT, spare, only=True, colors=near)) == ["filament-short"]


def test_a_tested_filament_that_lies_too_thin_on_a_darker_one_is_told() -> None:
    """Motifs of the kite are 0.6 mm thick on navy."""
    assert codes(matched(NIGHT, BERRY, replace(CORN, opaque_mm=0.6))) == []
    result = matched(NIGHT, BERRY, replace(CORN, opaque_mm=0.8))
    assert codes(result) == ["filament-thin"]
    assert (
        "corn hides from 0.8 mm as tested, but yellow lies 0.60 mm thick on base"
        in result.findings[0].message
    )
    light = {"base": "#ffffff"}
    assert codes(matched(Spool("snow", "#ffffff"), BERRY, replace(CORN, opaque_mm=0.8), colors=light)) == []


def test_a_filament_keeps_what_the_stock_says() -> None:
    result = matched(replace(NIGHT, finish="silk", opaque_mm=0.3))
    assert result.matches[0].filament == Filament("night", (20, 33, 61), "silk", "stock", 500.0, 0.3)
