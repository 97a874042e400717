"""What a maker should know of a text, and whether what is advised does help."""

from __future__ import annotations

import re

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.findings import Finding
from reliefsmith.model import Plan, SetText
from reliefsmith.plan.inscriptions.advice import text_findings
from reliefsmith.plan.inscriptions.compose import Composer
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.recipe import Recipe
from reliefsmith.walk.inputs import as_fonts

from ..arts import RED
from .texts import with_texts

LIMITS = Limits.of(Recipe().motif, Recipe().printer)
PLATE = plan_of(shapely.box(-60, -40, 60, 40))


def told(plan: Plan, side: str = "front", **text: object) -> list[Finding]:
    """Return the findings of one text at the middle of a plan."""
    recipe = Recipe().with_values({"lettering": [{"text": "IL", "at_mm": [0, 0], **text}]})
    (font,) = as_fonts(recipe)
    composer = Composer(1, recipe.lettering[0], font, LIMITS)
    made = composer.given()
    return list(text_findings(plan, composer, SetText("IL", 1, made.letters, made.size_mm, made.at_mm, side)))


@pytest.mark.parametrize(
    ("text", "size", "font"), [("Mae", 1.5, "sans"), ("M", 3.0, "sans"), ("8", 4.0, "rounded")]
)
def test_what_is_advised_for_a_fine_text_helps(text: str, size: float, font: str) -> None:
    (found,) = told(PLATE, text=text, size_mm=size, font=font)
    assert found.code == "text-thin"
    assert f"with capitals of {size:.1f} mm" in found.message
    larger = float(re.search(r"set it with capitals of ([0-9.]+) mm", found.message)[1])
    assert size < larger <= 4.0 * size
    assert told(PLATE, text=text, size_mm=larger, font=font) == []
    for other in re.findall(r"take the shipped font (\w+)", found.message):
        assert other != font
        assert told(PLATE, text=text, size_mm=size, font=other) == []
    assert ("shipped font" in found.message) is (text != "Mae")


def test_where_no_size_up_to_four_times_helps_it_is_said_so() -> None:
    (found,) = told(PLATE, size_mm=1.0, text="Mae")
    assert found.message.endswith("; take a bolder font and a larger size.")


def test_a_font_that_lacks_a_letter_is_not_advised() -> None:
    """The shipped rounded font has no Cyrillic; it would print Latin of that size."""
    (found,) = told(PLATE, text="М", size_mm=3.0)
    assert "shipped font" not in found.message


@pytest.mark.parametrize(("share", "across"), [(0.08, False), (0.12, True)])
def test_a_text_across_two_colors_is_told_from_a_tenth_of_it_on(share: float, across: bool) -> None:
    letters = told_letters()
    left, low, _, high = letters.bounds
    beside = shapely.box(left - 9, low - 9, cut_at(letters, share), high + 9)
    plan = plan_of(shapely.box(-60, -40, 60, 40), (RED, beside))
    found = told(plan, size_mm=8.0)
    assert [item.code for item in found] == (["text-across"] if across else [])
    assert told(plan, side="back", size_mm=8.0) == []


def told_letters() -> shapely.MultiPolygon:
    recipe = Recipe().with_values({"lettering": [{"text": "IL", "at_mm": [0, 0], "size_mm": 8.0}]})
    return Composer(1, recipe.lettering[0], as_fonts(recipe)[0], LIMITS).given().letters


def cut_at(letters: shapely.MultiPolygon, share: float) -> float:
    """Return the x left of which such a share of the letters lies."""
    left, low, right, high = letters.bounds
    a, b = left, right
    for _ in range(40):
        x = (a + b) / 2
        inside = letters.intersection(shapely.box(left, low, x, high)).area / letters.area
        a, b = (x, b) if inside < share else (a, x)
    return a


def test_findings_on_texts() -> None:
    def codes(*texts: dict, **values: object) -> set[str]:
        found = {item.code for item in with_texts(*texts, **values).findings}
        return found & {"text-thin", "text-across"}

    assert codes({"text": "MIRA", "at_mm": [5, 0], "size_mm": 6}) == set()
    assert codes({"text": "MIRA", "at_mm": [5, 0], "size_mm": 2}) == {"text-thin"}
    assert codes({"text": "MIRA", "at_mm": [-19, 0], "size_mm": 6}) == {"text-across"}
