"""Inspection of whole jobs: nothing said twice, nothing changed, the same twice."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from core.plan.arts import BLACK, BLUE, RED, WHITE, YELLOW, flat, hung
from reliefsmith.checks import hanging, layerchecks, layerstack, smallparts, strips, tips
from reliefsmith.checks.independent import check_parts
from reliefsmith.checks.inspect import inspect, inspect_steps
from reliefsmith.model import FlatAreas, Inspection, Part, Plan, Stack
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack


def _lantern() -> FlatAreas:
    """A round lantern of 70 mm: black frame, two panes."""
    frame = shapely.Point(0, 0).buffer(35, quad_segs=24)
    panes = [shapely.Point(x, -4).buffer(11, quad_segs=16) for x in (-15, 15)]
    return flat((BLACK, frame), (YELLOW, panes[0]), (RED, panes[1]))


def _made(areas: FlatAreas, recipe: Recipe) -> tuple[Plan, Stack, tuple[Part, ...]]:
    plan = hung(areas, recipe)
    stacked = stack(plan, heights=recipe.heights, printer=recipe.printer)
    return plan, stacked, build(stacked)


def _inspected(plan: Plan, stacked: Stack, parts: tuple[Part, ...], recipe: Recipe) -> Inspection:
    return inspect(
        plan,
        stacked,
        parts,
        heights=recipe.heights,
        printer=recipe.printer,
        hang=recipe.hang,
        cost=recipe.cost,
        filaments=recipe.filaments,
        audience=recipe.audience,
    )


def _codes(inspection: Inspection) -> set[str]:
    return {item.code for item in inspection.findings}


def test_a_sound_job_has_no_finding_but_hiding() -> None:
    recipe = Recipe.from_mapping({"heights": {"style": "raised"}})
    found = _inspected(*_made(_lantern(), recipe), recipe)
    assert _codes(found) == {"low-hiding", "changes-in-layers"}
    recipe = Recipe()
    found = _inspected(*_made(_lantern(), recipe), recipe)
    assert _codes(found) == {"low-hiding"}


@pytest.mark.parametrize(("loaded", "said"), [(1, True), (2, True), (3, False)])
def test_changes_in_layers_are_said_where_they_are_by_hand(loaded: int, said: bool) -> None:
    recipe = Recipe.from_mapping({"printer": {"filaments": loaded}, "heights": {"style": "raised"}})
    found = _inspected(*_made(_lantern(), recipe), recipe)
    assert ("changes-in-layers" in _codes(found)) is said


@pytest.mark.parametrize("loaded", [1, 2])
def test_what_stepped_would_take_is_what_it_takes(loaded: int) -> None:
    raised, stepped = (
        Recipe.from_mapping({"printer": {"filaments": loaded}, "heights": {"style": style}})
        for style in ("raised", "stepped")
    )
    said = _inspected(*_made(_lantern(), raised), raised)
    (item,) = [item for item in said.findings if item.code == "changes-in-layers"]
    by_hand = _inspected(*_made(_lantern(), stepped), stepped).estimate.attended_min / 3.0
    assert item.message.endswith(f"it would be {by_hand:.0f}.")


def test_one_motif_color_changes_in_no_layer() -> None:
    recipe = Recipe()
    areas = flat((BLACK, shapely.box(0, 0, 70, 40)), (WHITE, shapely.box(10, 10, 30, 30)))
    found = _inspected(*_made(areas, recipe), recipe)
    assert "changes-in-layers" not in _codes(found)
    assert found.estimate.changes == 1


def test_inspection_and_layer_check_agree() -> None:
    """The one knows the stack, the other cuts the solids; both see the same piece."""
    recipe = Recipe.from_mapping({"base": {"border_mm": 0.0}, "printer": {"bed_mm": [50.0, 50.0]}})
    plan, stacked, parts = _made(_lantern(), recipe)
    found = _codes(_inspected(plan, stacked, parts, recipe)) | {item.code for item in plan.findings}
    found -= {"changes-in-layers"}  # of the recipe's machine, not of the solids
    checked = {item.code for item in check_parts(parts, printer=recipe.printer, heights=recipe.heights)}
    assert found == checked
    assert "bed-too-small" in found


def test_what_the_plan_said_is_not_said_twice() -> None:
    recipe = Recipe.from_mapping({"hang": {"wall_mm": 1.0}})
    plan, stacked, parts = _made(_lantern(), recipe)
    assert "hole-wall-weak" in {item.code for item in plan.findings}
    assert "hole-wall-weak" not in _codes(_inspected(plan, stacked, parts, recipe))


def test_a_hole_that_the_solids_do_not_have() -> None:
    """The plan says a hole, the base is filled: measured on the base, not believed."""
    recipe = Recipe()
    plan, _, _ = _made(_lantern(), recipe)
    filled = replace(plan, base=shapely.Polygon(plan.base.exterior))
    stacked = stack(filled, heights=recipe.heights, printer=recipe.printer)
    assert "hole-missing" in _codes(_inspected(filled, stacked, build(stacked), recipe))


def test_no_hole_wanted() -> None:
    recipe = Recipe.from_mapping({"hang": {"hardware": "none"}})
    plan, stacked, parts = _made(_lantern(), recipe)
    said = [*plan.findings, *_inspected(plan, stacked, parts, recipe).findings]
    assert [item.code for item in said].count("hole-missing") == 1


def test_an_opening_of_a_piece_that_hangs_from_nothing_is_no_hole() -> None:
    """A ring with an opening aside, near its rim: hung from it, it would be askew."""
    disc, opening = (shapely.Point(x, y).buffer(r, quad_segs=24) for x, y, r in ((0, 0, 35), (24, 12, 6)))
    recipe = Recipe.from_mapping({"hang": {"hardware": "none"}})
    made = _made(flat((BLACK, disc.difference(opening))), recipe)
    assert "hangs-crooked" not in _codes(_inspected(*made, recipe))
    assert "hangs-crooked" in _codes(_inspected(*made, Recipe()))


def test_a_motif_over_the_edge_of_the_base() -> None:
    recipe = Recipe()
    plan, stacked, parts = _made(_lantern(), recipe)
    motif = plan.motifs[0]
    over = replace(motif, polygon=shapely.MultiPolygon([shapely.box(0, 0, 60, 5)]))
    assert "motif-over-edge" in _codes(_inspected(replace(plan, motifs=(over,)), stacked, parts, recipe))


def test_solids_that_do_not_hold_their_slabs() -> None:
    recipe = Recipe()
    plan, stacked, parts = _made(_lantern(), recipe)
    shrunk = replace(parts[0], vertices=parts[0].vertices * 0.999)
    assert "not-watertight" in _codes(_inspected(plan, stacked, (shrunk, *parts[1:]), recipe))


def test_children() -> None:
    recipe = Recipe.from_mapping({"audience": "children", "size": {"width_mm": 30.0}})
    areas = flat((BLUE, shapely.Point(0, 0).buffer(14, quad_segs=16)), (WHITE, shapely.box(-5, -5, 5, 5)))
    found = _inspected(*_made(areas, recipe), recipe)
    (small,) = [item for item in found.findings if item.code == "small-part"]
    assert small.severity != "note"
    grown_up = Recipe()
    (noted,) = [
        item for item in _inspected(*_made(areas, grown_up), grown_up).findings if item.code == "small-part"
    ]
    assert noted.severity == "note"


def test_the_same_job_gives_the_same_inspection() -> None:
    recipe = Recipe()
    made = _made(_lantern(), recipe)
    assert _inspected(*made, recipe) == _inspected(*made, recipe)


def test_progress_rises_and_the_steps_can_be_closed() -> None:
    recipe = Recipe()
    plan, stacked, parts = _made(_lantern(), recipe)
    steps = inspect_steps(
        plan,
        stacked,
        parts,
        heights=recipe.heights,
        printer=recipe.printer,
        hang=recipe.hang,
        cost=recipe.cost,
        filaments=recipe.filaments,
        audience=recipe.audience,
    )
    first = next(steps)
    assert 0 <= first.fraction <= 1
    steps.close()
    with pytest.raises(StopIteration):
        next(steps)


def test_another_height_on_the_same_plan_is_inspected_as_if_it_were_the_first() -> None:
    """Measures of shapes are remembered between runs; what depends on heights is not among them."""
    areas = _lantern()
    for height in (2.0, 3.0):
        recipe = Recipe().with_values({"heights.base_mm": height})
        plan, stacked, parts = _made(areas, recipe)
        inspection = _inspected(plan, stacked, parts, recipe)
        for module in (layerchecks, layerstack, strips, tips, hanging, smallparts):
            for item in vars(module).values():
                if hasattr(item, "cache_clear"):
                    item.cache_clear()
        assert _inspected(plan, stacked, parts, recipe) == inspection
        base = next(part for part in parts if part.name == "base")
        assert inspection.estimate.volume_mm3["base"] == pytest.approx(
            sum(
                slab.polygon.area * (slab.top - slab.bottom_mm)
                for slab in stacked.slabs
                if slab.part == base.name
            )
        )
