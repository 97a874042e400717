"""A raised rim runs along the outside only, gives way to motifs, and stands on no tongue."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.model import Slab
from reliefsmith.polygons import as_multi, noded_coverage
from reliefsmith.recipe.sections import BaseSettings
from reliefsmith.solid.layergrid import LayerGrid
from reliefsmith.solid.levels import Levels
from reliefsmith.solid.rim import RimmedPlan, rimmed, with_rim

from .plans import NAVY, RED, plan_of

PLATE = shapely.box(-20, -10, 20, 10)
GRID = LayerGrid(200_000, 200_000)
NOZZLE = 0.4


def made(base: shapely.Geometry = PLATE, *motifs: shapely.Geometry, **settings: float) -> RimmedPlan:
    plan = plan_of(base, *((RED, shape) for shape in motifs))
    return rimmed(plan, BaseSettings(**{"rim_mm": 1.2, "margin_mm": 0.5, **settings}), NOZZLE)


def test_the_rim_is_as_wide_as_asked_along_the_outside_and_not_round_openings() -> None:
    plan, rim = made(PLATE.difference(shapely.box(-3, -3, 3, 3)))
    assert rim.area == pytest.approx(PLATE.area - 37.6 * 17.6, abs=0.1)
    assert shapely.distance(rim, shapely.Point(0, 0)) == pytest.approx(8.8, abs=0.01)
    assert plan.base.area == pytest.approx(PLATE.area - 36)


def test_it_gives_way_to_motifs_by_the_margin_and_ends_where_less_than_a_nozzle_is_left() -> None:
    """One motif .3 mm from the rim's inner side, one .7 mm from the outside."""
    near, across = shapely.box(-10, -8.5, -5, 5), shapely.box(5, -9.3, 10, 5)
    _, rim = made(PLATE, near, across)
    below = [
        shapely.intersection(rim, shapely.LineString([(x, -11), (x, -5)])).length for x in (-7.5, 0.0, 7.5)
    ]
    assert below == pytest.approx([1.0, 1.2, 0.0], abs=0.01)


def test_no_rim_stands_on_a_tongue() -> None:
    tongue = shapely.box(-8, -18, 8, -10)
    whole, part = noded_coverage([as_multi(PLATE), as_multi(tongue)])
    plan = replace(plan_of(shapely.union(PLATE, tongue)), tongues=part)
    _, rim = rimmed(plan, BaseSettings(rim_mm=1.2), NOZZLE)
    assert shapely.intersection(rim, tongue).area == pytest.approx(0.0, abs=1e-6)
    assert rim.bounds[1] == pytest.approx(-10.0)
    assert rim.area > 0.8 * (whole.area - 37.6 * 17.6)


def test_a_rim_that_cannot_be_is_refused_with_what_to_do() -> None:
    with pytest.raises(GeometryError, match="narrower than the nozzle"):
        made(rim_mm=0.3)
    with pytest.raises(GeometryError, match="motifs leave no room for a rim"):
        made(PLATE, PLATE.buffer(-0.6, join_style="mitre"))


@pytest.mark.parametrize(
    ("height", "top", "snapped"), [(1.0, 3.0, False), (0.5, 2.6, True), (0.1, 2.2, True)]
)
def test_it_stands_on_the_base_by_whole_layers_and_one_at_least(
    height: float, top: float, snapped: bool
) -> None:
    """A tie goes up; where motifs share its layers, these hold two colors."""
    plan, rim = made()
    base = Slab("base", "base", NAVY, plan.base, 0.0, 2.0)
    motif = Slab("red", "motif", RED, shapely.box(-3, -3, 3, 3), 2.0, 2.4)
    settings = BaseSettings(rim_mm=1.2, rim_height_mm=height)
    alone = with_rim(Levels((base,), 10, (), True), rim, GRID, settings)
    assert [(slab.part, slab.bottom_mm, slab.top) for slab in alone.slabs] == [
        ("base", 0.0, 2.0),
        ("base", 2.0, top),
    ]
    assert alone.layers == round(top / 0.2)
    assert alone.by_height
    assert bool(alone.notes) is snapped
    shared = with_rim(Levels((base, motif), 12, (), True), rim, GRID, settings)
    assert not shared.by_height
    assert shared.layers == max(12, round(top / 0.2))
