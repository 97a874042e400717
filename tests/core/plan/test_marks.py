"""Marks that act on the plan: kept as drawn, thickened, left thin, other borders, links asked and barred."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import reliefsmith as rs
from reliefsmith.pipeline import Job
from reliefsmith.plane import polygons_of
from reliefsmith.recipe import Recipe
from reliefsmith.store import MemoryStore, encode
from sound import assert_sound

from .arts import BLACK, BLUE, RED, artworks, assert_in_register, connected, flat, outlined, repaired

SAMPLES = Path(__file__).parents[3] / "samples"
PLATE = shapely.box(-20, -15, 20, 15)
THIN_BAR, OTHER_BAR = shapely.box(-12, 4.85, 12, 5.15), shapely.box(-12, -5.15, 12, -4.85)
BARS = flat((BLACK, PLATE), (RED, shapely.union(THIN_BAR, OTHER_BAR)))


def _recipe(*marks: dict[str, Any], **more: Any) -> Recipe:
    return Recipe().with_values({"colors.base": "#0a0a0a", "marks": list(marks), **more})


def _width(plan, y: float) -> float:
    (motif,) = plan.motifs
    _, low, _, high = shapely.intersection(motif.polygon, shapely.box(-5, y - 3, 5, y + 3)).bounds
    return high - low


def _codes(items) -> list[str]:
    return [item.code for item in items]


def test_a_thin_bar_is_thickened_to_what_its_mark_says_and_the_other_as_usual() -> None:
    plan = repaired(BARS, _recipe({"kind": "thicken", "at_mm": [0, 5], "value": 0.9}))
    assert _width(plan, 5) == pytest.approx(0.9, abs=0.005)
    assert _width(plan, -5) == pytest.approx(0.6, abs=0.005)
    assert "mark-applied" in _codes(plan.notes)


def test_within_a_polygon_only_that_part_is_thickened() -> None:
    corners = [[0, 3], [14, 3], [14, 7], [0, 7]]
    plan = repaired(BARS, _recipe({"kind": "thicken", "polygon_mm": corners, "value": 1.2}))
    (motif,) = plan.motifs
    right = shapely.intersection(motif.polygon, shapely.box(4, 2, 8, 8)).bounds
    left = shapely.intersection(motif.polygon, shapely.box(-8, 2, -4, 8)).bounds
    assert right[3] - right[1] == pytest.approx(1.2, abs=0.01)
    assert left[3] - left[1] == pytest.approx(0.6, abs=0.01)


@pytest.mark.parametrize("kind", ["protect", "leave-thin"])
def test_a_bar_is_kept_as_drawn_and_the_finding_says_how_thin(kind: str) -> None:
    plan = repaired(BARS, _recipe({"kind": kind, "at_mm": [0, 5]}))
    assert _width(plan, 5) == pytest.approx(0.3, abs=1e-6)
    assert _width(plan, -5) == pytest.approx(0.6, abs=0.005)
    (found,) = [item for item in plan.findings if item.code == "left-thin"]
    assert "0.30 mm" in found.message
    assert found.at_mm == (0, 5, 0.0)


def test_a_dot_that_would_go_is_protected() -> None:
    areas = flat(
        (BLACK, PLATE), (RED, shapely.union(shapely.box(3, 3, 3.3, 3.3), shapely.box(-9, -9, -3, -3)))
    )
    assert len(polygons_of(repaired(areas, _recipe()).motifs[0].polygon)) == 1
    plan = repaired(areas, _recipe({"kind": "protect", "at_mm": [3.15, 3.15]}))
    boxes = [piece.bounds for piece in polygons_of(plan.motifs[0].polygon)]
    assert (3.0, 3.0, 3.3, 3.3) in boxes


def test_the_border_is_wider_at_its_mark_and_as_usual_elsewhere() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[12, -4], [18, -4], [18, 4], [12, 4]], "value": 3.0}
    plan = outlined(disc, _recipe(mark, **{"base.border_mm": 1.0}))
    x0, y0, x1, y1 = plan.base.bounds
    assert x1 == pytest.approx(18.0, abs=0.02)
    assert (x0, y0, y1) == pytest.approx((-16.0, -16.0, 16.0), abs=0.02)
    assert plan.base.covers(shapely.Point(0, 0).buffer(15.98, 32))


def test_the_border_is_narrower_at_its_mark() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[10, -6], [18, -6], [18, 6], [10, 6]], "value": 0.5}
    plan = outlined(disc, _recipe(mark, **{"base.border_mm": 2.0}))
    x0, _, x1, _ = plan.base.bounds
    assert x1 == pytest.approx(15.5, abs=0.05)
    assert x0 == pytest.approx(-17.0, abs=0.02)


PAIR = flat((RED, shapely.box(-20, -10, -4, 10)), (BLUE, shapely.box(4, -10, 20, 10)))


def _bars(plan) -> list[tuple[float, float]]:
    """Return lower and upper edge of what joins the two halves at x = 0."""
    cut = shapely.intersection(plan.base, shapely.LineString([(0, -30), (0, 30)]))
    return sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(cut))


def test_a_link_is_added_where_it_is_asked_for_in_its_width() -> None:
    plan = connected(PAIR, _recipe({"kind": "link", "at_mm": [0, 6], "value": 4.0}))
    assert any(abs(high - low - 4.0) < 0.1 and low < 6 < high for low, high in _bars(plan))
    assert "mark-applied" in _codes(plan.notes)
    assert plan.base.geom_type == "Polygon"


def test_no_link_passes_where_a_mark_forbids_it() -> None:
    usual = _bars(connected(PAIR, _recipe()))
    low, high = usual[0]
    middle = (low + high) / 2
    mark = {"kind": "no-link", "polygon_mm": [[-3, low - 1], [3, low - 1], [3, high + 1], [-3, high + 1]]}
    plan = connected(PAIR, _recipe(mark))
    assert all(not (low < middle < high) for low, high in _bars(plan))
    assert plan.base.geom_type == "Polygon"
    assert "mark-missed" not in _codes(plan.findings)


def test_where_nothing_else_joins_a_forbidden_link_is_made_and_told() -> None:
    mark = {"kind": "no-link", "polygon_mm": [[-3, -40], [3, -40], [3, 40], [-3, 40]]}
    plan = connected(PAIR, _recipe(mark))
    assert plan.base.geom_type == "Polygon"
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert "cannot be joined anywhere else" in found.message


def test_the_core_of_a_letter_is_held_and_called_so() -> None:
    ring = shapely.Point(0, 0).buffer(15) - shapely.Point(0, 0).buffer(11)
    plan = connected(flat((RED, ring), (BLUE, shapely.Point(0, 0).buffer(5))), _recipe())
    assert plan.base.geom_type == "Polygon"
    assert any("holds a core" in item.message for item in plan.notes)


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        ({"kind": "protect", "at_mm": [60, 60]}, "finds no area"),
        ({"kind": "thicken", "at_mm": [0, 10], "value": 0.2}, "finds no stroke thinner"),
        ({"kind": "leave-thin", "at_mm": [0, 10]}, "finds no stroke thinner"),
        ({"kind": "border", "at_mm": [60, 60], "value": 2}, "finds no area"),
        ({"kind": "link", "at_mm": [0, 0]}, "lies on the base"),
    ],
)
def test_a_mark_that_finds_nothing_is_told(mark: dict[str, Any], words: str) -> None:
    plan = connected(BARS, _recipe(mark))
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert words in found.message
    assert "mark-applied" not in _codes(plan.notes)


@settings(max_examples=15, deadline=None)
@given(artworks(), st.data())
def test_whatever_is_protected_stays_the_same_and_all_stays_in_register(areas, data) -> None:
    before = outlined(areas)
    pieces = [(item.color, piece) for item in before.motifs for piece in polygons_of(item.polygon)]
    if not pieces:
        return
    color, piece = data.draw(st.sampled_from(pieces))
    point = piece.representative_point()
    at = [round(point.x, 3), round(point.y, 3)]
    if not piece.contains(shapely.Point(at)):
        return
    plan = repaired(areas, Recipe().with_values({"marks": [{"kind": "protect", "at_mm": at}]}))
    assert_in_register(plan)
    own = [motif.polygon for motif in plan.motifs if motif.color == color]
    assert own
    assert own[0].covers(piece.buffer(-0.001))
    found = [part for part in polygons_of(own[0]) if part.contains(shapely.Point(at))]
    # Nodes that neighbors add lie within half a step of the grid beside its sides.
    assert found[0].symmetric_difference(piece).area < 0.0005 * piece.length


MARKS = (
    {"kind": "protect", "at_mm": [0.0, 5.0]},
    {"kind": "border", "polygon_mm": [[-30, -30], [0, -30], [0, 0], [-30, 0]], "value": 2.5},
    {"kind": "no-link", "at_mm": [10.0, 0.0], "value": 3.0},
)


@pytest.mark.parametrize("name", ["kite.png", "heron.jpg", "lantern.png"])
def test_samples_with_marks_are_sound_and_incremental_equals_fresh(name: str) -> None:
    recipe = Recipe.load(SAMPLES / f"{name.split('.', maxsplit=1)[0]}.toml")
    job = Job(SAMPLES / name, MemoryStore())
    plain = job.relief(recipe)
    ran: set[str] = set()
    marked = recipe.with_values({"marks": [dict(mark) for mark in MARKS]})
    relief = job.relief(marked, lambda step: ran.add(step.stage) if step.fraction < 1.0 else None)
    assert "marked" not in ran  # these marks change no area
    assert_sound(relief)
    fresh = rs.make(SAMPLES / name, marked)
    assert encode(relief.plan) == encode(fresh.plan)
    assert encode(relief.parts) == encode(fresh.parts)
    assert encode(job.relief(recipe).parts) == encode(plain.parts)
