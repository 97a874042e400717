"""Every style of relief: closed, apart in every layer, showing the picture; rims round them."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import cut, signed_volume
from reliefsmith.polygons import merged, opened
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BaseSettings, HeightSettings
from reliefsmith.recipe.settings import specs
from reliefsmith.solid.stacking import STYLES, stack
from sound import assert_closed, assert_closed_as_stl

from .plans import PRINTER, RED, pictures, plan_of, styled

BASE = shapely.box(0, 0, 40, 30)
LEFT, RIGHT = shapely.box(2, 2, 20, 20), shapely.box(20, 2, 38, 12)
DOT = shapely.box(4, 22, 8, 26)


def test_every_style_of_the_recipe_isstyled() -> None:
    assert {"auto", *STYLES} == set(specs(HeightSettings)["style"].choices)
    assert Recipe().heights.style == "auto"


@pytest.mark.parametrize("style", STYLES)
def test_a_plan_without_motifs_is_a_plain_base(style: str) -> None:
    stacked, (part,) = styled(plan_of(BASE), style)
    assert stacked.color_changes == ()
    assert stacked.by_height
    assert signed_volume(part.vertices, part.triangles) == pytest.approx(1200 * 2.0)


@pytest.mark.parametrize("style", STYLES)
@given(plan=pictures())
@settings(max_examples=20)
def test_every_style_is_closed_apart_and_shows_the_picture(style: str, plan) -> None:
    stacked, parts = styled(plan, style)
    for part in parts:
        assert_closed(part)
        assert_closed_as_stl(part)
        own = [slab for slab in stacked.slabs if slab.part == part.name]
        wanted = sum(slab.polygon.area * (slab.top - slab.bottom_mm) for slab in own)
        assert signed_volume(part.vertices, part.triangles) == pytest.approx(wanted, rel=1e-9)
    _assert_apart_in_every_layer(stacked, parts)
    _assert_shows(stacked, plan)


def _assert_apart_in_every_layer(stacked, parts) -> None:
    """No two parts share area in any layer, and nothing is larger than what lies below it together."""
    tops = [0.0, *stacked.layer_tops_mm]
    below = None
    for bottom, top in pairwise(tops):
        shapes = [cut(part.vertices, part.triangles, (bottom + top) / 2) for part in parts]
        whole = shapely.union_all(shapes)
        assert sum(shape.area for shape in shapes) - whole.area < 1e-6
        if stacked.by_height:
            assert sum(not shape.is_empty for shape in shapes) == 1
        if below is not None:
            assert whole.difference(below).area < 1e-6
        below = whole


def _assert_shows(stacked, plan) -> None:
    """Seen from above every color shows its own area, but for the crumbs taken at touching corners."""
    left = merged([plan.base])
    seen: dict[tuple[int, int, int], float] = {}
    for slab in sorted(stacked.slabs, key=lambda item: -item.top):
        seen[slab.color] = seen.get(slab.color, 0.0) + left.intersection(slab.polygon).area
        left = left.difference(slab.polygon)
    for motif in plan.motifs:
        assert seen[motif.color] == pytest.approx(motif.polygon.area, abs=0.2)


def test_a_rim_without_room_is_refused() -> None:
    """A plan of `outline` has room for the rim that it is told of; any other plan may have none."""
    plan = plan_of(shapely.box(-20, -15, 20, 15), (RED, shapely.box(-19.6, -14.6, 19.6, 14.6)))
    with pytest.raises(GeometryError, match="no room for a rim of 2 mm"):
        stack(plan, heights=HeightSettings(style="raised"), printer=PRINTER, base=BaseSettings(rim_mm=2.0))


def test_a_rim_ends_where_motifs_leave_it_less_than_a_nozzle() -> None:
    base = BaseSettings(rim_mm=2.0)
    reach = 20 - base.margin_mm - 0.25  # at the right edge, where 0.25 mm are left
    plan = plan_of(shapely.box(-20, -15, 20, 15), (RED, shapely.box(-10, -5, reach, 5)))
    stacked = stack(plan, heights=HeightSettings(style="raised"), printer=PRINTER, base=base)
    rim = max((slab for slab in stacked.slabs if slab.part == "base"), key=lambda slab: slab.bottom_mm)
    assert rim.polygon.contains(shapely.Point(-19.9, 0))
    assert not rim.polygon.intersects(shapely.Point(19.9, 0))
    assert shapely.difference(rim.polygon, opened(rim.polygon, 0.19)).area < 0.5
