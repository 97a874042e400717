"""Letters among the motifs: they take their place, join their color, and take thin strips along."""

from __future__ import annotations

import pytest
import shapely

from core.solid.plans import NAVY, plan_of
from reliefsmith.model import Plan, SetText
from reliefsmith.plan.inscriptions.among import with_letters
from reliefsmith.plan.register import in_register
from reliefsmith.plan.strokes.leastwidths import Limits
from reliefsmith.polygons import as_multi

from ..arts import BLUE, RED, YELLOW, assert_in_register
from .texts import assert_sound, with_texts

LIMITS = Limits(0.6, 0.5, 1.0, 0.4)
PLATE, FIELD = shapely.box(-30, -15, 30, 15), shapely.box(-20, -10, 0, 10)
PLAN = plan_of(PLATE, (RED, FIELD), (BLUE, shapely.box(10, -10, 20, 10)))
BAR = shapely.box(-15, -2, -5, 2)


def text(shape: shapely.Geometry, depth_mm: float = 0.0) -> SetText:
    return SetText("I", 2, as_multi(shape), 4.0, (0.0, 0.0), depth_mm=depth_mm)


def areas(plan: Plan) -> dict[tuple[int, int, int], float]:
    return {motif.color: round(motif.polygon.area, 3) for motif in plan.motifs}


def test_letters_of_a_new_color_are_a_motif_and_the_others_give_way() -> None:
    plan = with_letters(PLAN, text(BAR), YELLOW, LIMITS)
    assert areas(plan) == {RED: 400.0 - 40, BLUE: 200.0, YELLOW: 40.0}
    assert [motif.color for motif in plan.motifs] == [RED, BLUE, YELLOW]  # by falling area
    assert_in_register(plan)
    assert plan.texts[-1].color == YELLOW


def test_letters_across_an_edge_share_its_corners() -> None:
    plan = with_letters(PLAN, text(shapely.box(-25, -2, -5, 2)), YELLOW, LIMITS)
    assert areas(plan) == {RED: 400.0 - 60, BLUE: 200.0, YELLOW: 80.0}
    assert_in_register(plan)


def test_letters_of_a_color_that_is_there_become_part_of_it() -> None:
    assert areas(with_letters(PLAN, text(BAR), BLUE, LIMITS)) == {RED: 400.0 - 40, BLUE: 200.0 + 40}
    clear = with_letters(PLAN, text(shapely.box(2, -1, 8, 1)), BLUE, LIMITS)
    assert areas(clear) == {RED: 400.0, BLUE: 200.0 + 12}


def test_letters_in_the_bases_color_are_where_motifs_give_way() -> None:
    plan = with_letters(PLAN, text(BAR), NAVY, LIMITS)
    assert areas(plan) == {RED: 400.0 - 40, BLUE: 200.0}
    assert plan.texts[-1].color == NAVY
    assert with_letters(PLAN, text(BAR, depth_mm=0.4), NAVY, LIMITS).texts[-1].color is None  # sunk


@pytest.mark.parametrize(("left", "goes"), [(0.3, True), (0.45, False)])
def test_a_strip_beside_letters_that_no_nozzle_lays_goes_with_them(left: float, goes: bool) -> None:
    """Between the letter and the field's edge 0.3 or 0.45 mm are left; the nozzle lays 0.4."""
    bar = shapely.box(-15, -2, -left, 2)
    rest = 400.0 - bar.area - (4 * left if goes else 0.0)
    assert areas(with_letters(PLAN, text(bar), YELLOW, LIMITS))[RED] == pytest.approx(rest, abs=0.3)


def test_a_note_says_which_text_was_set_how_high_and_where() -> None:
    (told,) = with_letters(PLAN, text(BAR), YELLOW, LIMITS).notes
    assert (told.code, told.at_mm, told.size_mm) == ("text-set", (-10.0, 0.0), 4.0)
    assert told.message == "Text 2 was set, its capitals 4.0 mm high."


def test_a_text_that_meets_no_motif_leaves_all_as_noding_would() -> None:
    plan = with_texts({"text": "Bo", "box_mm": [-10, -40, 20, 8]})
    assert_sound(plan)
    _, noded = in_register(plan.base, plan.motifs)
    assert [motif.color for motif in plan.motifs] == [motif.color for motif in noded]
    for motif, other in zip(plan.motifs, noded, strict=True):
        assert motif.polygon.normalize().equals_exact(other.polygon.normalize(), 0.0)
