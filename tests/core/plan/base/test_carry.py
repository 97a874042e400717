"""The base under a mended drawing: wide enough, without slits, and under every motif and text."""

from __future__ import annotations

import shapely

from reliefsmith.model import Mended, Plan
from reliefsmith.plan.base.carry import carry
from reliefsmith.plan.strokes.centerlines import thin_places
from reliefsmith.polygons import as_multi, polygons_of
from reliefsmith.recipe import Recipe

from ..arts import BLUE, RED, assert_in_register, codes, flat, outlined, repaired

PLATE, BAR = shapely.box(-20, -10, 20, 10), shapely.box(-8, -2, 8, 2)
BEFORE = outlined(flat((RED, PLATE), (BLUE, BAR)))


def carried(shape: shapely.Geometry, ground: shapely.Geometry | None = None, much: str = "") -> Plan:
    """Return the plan of a red plate with its blue bar mended to a shape."""
    r = Recipe()
    more = () if ground is None else (as_multi(ground),)
    return carry(BEFORE, Mended((as_multi(shape),), much=much), *more, base=r.base, printer=r.printer)


def test_a_drawing_that_fits_leaves_the_base_as_it_is() -> None:
    plan = carried(BAR)
    assert plan.base.equals(BEFORE.base)
    assert plan.motifs[0].polygon.equals(BAR)
    assert (plan.notes, plan.findings) == (BEFORE.notes, BEFORE.findings)


def test_the_base_grows_under_a_motif_that_mending_took_over_its_edge() -> None:
    """It ends 3 mm beyond the plate with its border; the margin of .3 mm stays round it."""
    plan = carried(shapely.box(-8, -2, 24, 2))
    assert_in_register(plan)
    assert 24.3 <= plan.base.bounds[2] <= 24.32
    assert codes(plan.notes) == ["base-grown"]


def test_what_could_not_be_printed_is_no_motif() -> None:
    assert carried(shapely.MultiPolygon()).motifs == ()


def test_the_base_carries_ground_for_texts() -> None:
    plan = carried(BAR, shapely.box(-10, -16, 10, -8))
    assert shapely.covers(plan.base, shapely.box(-10, -15.99, 10, -8))
    assert plan.base.geom_type == "MultiPolygon"
    assert len(plan.base.geoms) == 1


def test_much_repair_is_told_at_the_middle_of_the_piece() -> None:
    (found,) = carried(BAR, much="Much was changed").findings
    assert (found.code, found.message, found.at_mm) == ("much-repaired", "Much was changed", (0.0, 0.0, 0.0))


def test_a_base_without_border_is_widened_to_its_least_width():
    bar = shapely.union_all(
        [shapely.box(-10, -4, -4, 4), shapely.box(-5, -0.5, 5, 0.5), shapely.box(4, -4, 10, 4)]
    )
    recipe = Recipe().with_values({"base.border_mm": 0.0, "colors.base": "#c81e1e"})
    plan = repaired(flat((RED, bar)), recipe)
    assert not [place for place in thin_places(plan.base, 1.9) if abs(place.centroid.x) < 3]
    assert "base-widened" in codes(plan.notes)
    assert len(polygons_of(plan.base)) == 1


def test_a_slit_of_the_base_is_closed():
    halves = shapely.union_all([shapely.box(-10, -10, -1.3, 10), shapely.box(1.3, -10, 10, 10)])
    before = outlined(flat((BLUE, halves)))
    after = repaired(flat((BLUE, halves)))
    assert len(polygons_of(before.base)) == 2
    assert len(polygons_of(after.base)) == 1
    assert "gap-closed" in codes(after.notes)
