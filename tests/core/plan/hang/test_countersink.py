"""Countersinks: the cone of a screw's head in whole layers, and what is said where the base is too low."""

from __future__ import annotations

import math

import pytest
import shapely

from core.solid.plans import plan_of
from reliefsmith.errors import RecipeError
from reliefsmith.model import Plan
from reliefsmith.plan.hang.countersink import HEAD_PLAY_MM, countersunk, head_of
from reliefsmith.plan.hang.holeplace import Place, Site
from reliefsmith.recipe.sections import HeightSettings

from ..arts import YELLOW, flat, hung
from .kinds import PLATE, recipe

pytestmark = pytest.mark.usefixtures("unadvised")

NOTHING = shapely.MultiPolygon()


def sunk(
    head: float, places: list[tuple[float, float]], *, hole: float = 5.0, **heights: float
) -> tuple[Plan, list[float]]:
    """Return a plate with screws at places, and the radii of the first one's rings in front."""
    base = shapely.box(-40, -15, 40, 15)
    for place in places:
        base = base.difference(shapely.Point(place).buffer(hole / 2, 64))
    site = Site(base, NOTHING, NOTHING, (0.0, 0.0), hole, 2.5, (), head=head, head_wall=1.2)
    made, _ = countersunk(
        plan_of(base), [Place(x, y, 0.0, 0.0) for x, y in places], site, HeightSettings(**heights)
    )
    own = [one for one in made.pockets if shapely.Point(places[0]).within(shapely.convex_hull(one.polygon))]
    return made, [one.polygon.bounds[2] - places[0][0] for one in own]


def test_rings_are_as_wide_as_the_cone_where_each_layer_begins_and_lie_one_in_the_other() -> None:
    """A head of 8.6 mm at 90 degrees on a hole of 5: 1.8 mm of cone, in layers of 0.2 that is nine rings."""
    made, radii = sunk(8.6, [(1.5, 0.0)], base_mm=3.0, layer_mm=0.2)
    assert radii == pytest.approx([4.3 - 0.2 * step for step in range(9)], abs=0.001)
    assert [one.depth_mm for one in made.pockets] == pytest.approx([0.2 * (step + 1) for step in range(9)])
    assert sum(one.polygon.area for one in made.pockets) == pytest.approx(
        math.pi * (4.3**2 - 2.5**2), rel=3e-3
    )
    assert all(one.side == "front" for one in made.pockets)
    assert made.findings == ()


def test_a_step_that_hardly_shows_is_left_to_the_hole() -> None:
    """Head and hole differ by one layer's spread and a bit: 0.21 is one ring, 0.23 is two."""
    assert [len(sunk(5.0 + 2 * over, [(0.0, 0.0)])[1]) for over in (0.21, 0.23)] == [1, 2]


def test_every_screw_of_a_piece_is_sunk() -> None:
    made, radii = sunk(8.6, [(-20.0, 0.0), (20.0, 0.0)], base_mm=3.0)
    assert len(made.pockets) == 2 * len(radii) == 18
    assert sum(one.polygon.centroid.x > 0 for one in made.pockets) == 9


@pytest.mark.parametrize(("base_mm", "rings", "short"), [(2.0, 9, 0.0), (1.8, 8, 0.2), (0.4, 1, 1.6)])
def test_one_layer_of_the_base_stays_and_what_the_head_stands_out_is_told(
    base_mm: float, rings: int, short: float
) -> None:
    made, radii = sunk(8.6, [(0.0, 0.0)], base_mm=base_mm, layer_mm=0.2, first_layer_mm=0.2)
    assert len(radii) == rings
    told = [one.message for one in made.findings]
    assert len(told) == (short > 0)
    if short:
        assert f"stands out by {short:.1f} mm: raise heights.base_mm to 2.0" in told[0]


def test_the_head_has_its_play() -> None:
    thread, head = head_of(5.0)
    assert (thread, head) == (4.0, pytest.approx(8.4 + HEAD_PLAY_MM))


def test_motifs_give_way_to_the_head():
    plan = hung(flat(PLATE, (YELLOW, shapely.box(-39, -14, 39, 14))), recipe("screw", at_mm=[0.0, 0.0]))
    head = shapely.Point(0, 0).buffer(head_of(5.0)[1] / 2)
    assert all(motif.polygon.distance(head) >= 0.29 for motif in plan.motifs)
    assert "motif-cleared" in {item.code for item in plan.notes}


def test_a_hole_that_no_screw_passes_is_refused():
    with pytest.raises(RecipeError, match=r"hang\.hole_mm 1 is too narrow for a screw"):
        hung(flat(PLATE), recipe("screw", hole_mm=1.0))
