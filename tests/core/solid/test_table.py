"""Which style, face, top and split go together, and what the others are refused with."""

from __future__ import annotations

import re
from itertools import product

import pytest
import shapely

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BaseSettings, HeightSettings
from reliefsmith.recipe.settings import specs
from reliefsmith.solid.stacking import STYLES, STYLES_DOWN, stack
from reliefsmith.solid.table import PLATES, TOPS, refusal, ways_out

from .plans import GOLD, PRINTER, RED, plan_of

CHOICES = specs(HeightSettings)
PLAN = plan_of(
    shapely.box(0, 0, 40, 30), (RED, shapely.box(4, 4, 20, 20)), (GOLD, shapely.box(22, 4, 34, 12))
)


def test_the_table_has_every_combination_and_no_other() -> None:
    styles = set(CHOICES["style"].choices) - {"auto"}  # which becomes one of the others before it is asked
    assert set(PLATES) == set(product(styles, *(CHOICES[name].choices for name in ("face", "split"))))
    assert set(CHOICES["top"].choices) <= set(TOPS)


@pytest.mark.parametrize(("style", "face", "split"), PLATES)
def test_what_the_table_allows_is_made_and_the_rest_is_refused_with_its_reason(style, face, split) -> None:
    heights = HeightSettings(style=style, face=face, split=split)
    reason = PLATES[style, face, split]
    if not reason:
        made = stack(PLAN, heights=heights, printer=PRINTER)
        assert (made.back_at_mm is not None) == (split == "pegs")
        assert bool(made.piece) == (face == "down")
        assert style in (STYLES if face == "up" else STYLES_DOWN)
        return
    with pytest.raises(RecipeError) as caught:
        stack(PLAN, heights=heights, printer=PRINTER)
    assert str(caught.value).startswith(f"heights: {reason}; set heights.")


def test_a_refusal_names_every_smallest_way_out() -> None:
    """By the definition: all that goes together, less what changes more than another that does."""
    keys = ("heights.style", "heights.face", "heights.split")
    good = [one for one, reason in PLATES.items() if not reason]
    for asked in PLATES.keys() - set(good):
        told = [dict(part.split(" to ") for part in way.split(" and ")) for way in ways_out(asked)]
        assert len(told) >= 2
        for way in told:
            after = tuple(way.get(key, old) for key, old in zip(keys, asked, strict=True))
            assert not PLATES[after]
        for one in good:
            changed = {key: new for key, old, new in zip(keys, asked, one, strict=True) if new != old}
            assert any(way.items() <= changed.items() for way in told)


@pytest.mark.parametrize("style", ["flush", "sunk", "stepped"])
def test_single_colors_have_heights_only_where_motifs_are_raised(style) -> None:
    row = ({"color": "#d32020", "height_mm": 1.0},)
    assert refusal(HeightSettings(style="raised", colors=row)) == ""
    assert "heights.colors" in refusal(HeightSettings(style=style, colors=row))


@pytest.mark.parametrize("style", ["raised", "flush", "sunk"])
def test_steps_are_given_only_where_motifs_are_stepped(style) -> None:
    assert refusal(HeightSettings(style="stepped", steps=("#d32020",))) == ""
    assert "heights.steps" in refusal(HeightSettings(style=style, steps=("#d32020",)))


@pytest.mark.parametrize(
    ("heights", "allowed"),
    [
        ({"style": "raised"}, True),
        ({"style": "flush"}, True),
        ({"style": "sunk"}, True),
        ({"style": "stepped"}, False),
        ({"style": "flush", "face": "down"}, False),
        ({"style": "sunk", "face": "down", "split": "pegs"}, False),
    ],
)
def test_a_rim_stands_only_where_the_front_is_up_and_layers_may_mix(heights, allowed) -> None:
    words = refusal(HeightSettings(**heights), BaseSettings(rim_mm=1.0))
    assert (words == "") == allowed
    assert allowed or "base.rim_mm" in words
    assert refusal(HeightSettings(**heights), BaseSettings()) == ""


REMEDY = re.compile(r"(?:set|leave|or) (heights|base)\.(\w+) (?:to|at) (\w+)")
"""How refusals offer a setting."""


@pytest.mark.parametrize("style", ["raised", "flush", "sunk", "stepped"])
@pytest.mark.parametrize("top", sorted(TOPS))
@pytest.mark.parametrize("rim", [0.0, 2.0])
def test_what_a_refusal_offers_does_away_with_it(style, top, rim) -> None:
    for face, split in product(["up", "down"], ["none", "pegs"]):
        values = {"style": style, "top": top, "face": face, "split": split}
        recipe = Recipe().with_values({**{f"heights.{k}": v for k, v in values.items()}, "base.rim_mm": rim})
        words = refusal(recipe.heights, recipe.base)
        offered = REMEDY.findall(words)
        assert bool(offered) == bool(words), words
        for section, name, value in offered:
            given = float(value) if value.isdigit() else value
            mended = recipe.with_values({f"{section}.{name}": given})
            assert refusal(mended.heights, mended.base) != words
