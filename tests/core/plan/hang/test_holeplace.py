"""Where the cheapest place for a hole lies: what the costs of `best_place` forbid, one by one."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.hang.holeplace import Place, Site, best_pair, best_place

NOTHING = shapely.MultiPolygon()


def spiked(width: float, *, covered_to: float | None = None) -> Place:
    """Return the place on a disc of 28 mm with a spike on top, 26 mm above its middle."""
    base = shapely.union(shapely.Point(0, 0).buffer(14, 64), shapely.box(-width / 2, 0, width / 2, 26))
    covered = NOTHING if covered_to is None else base.intersection(shapely.box(-20, -20, 20, covered_to))
    motifs = covered.buffer(0.5) if covered_to else NOTHING
    return best_place(Site(base, motifs, motifs, (0.0, 0.5), hole=5.0, wall=2.5, rivals=()))


@pytest.mark.parametrize(("width", "on_tip"), [(1.0, False), (1.6, False), (2.4, True), (6.0, True)])
def test_a_hole_hangs_on_a_spike_only_if_its_neck_holds(width: float, on_tip: bool) -> None:
    """The tip lies highest, straight above the mass, with nothing in the way; only the neck is thin."""
    assert (spiked(width).y > 24) == on_tip


@pytest.mark.parametrize(("width", "on_tip"), [(1.0, False), (2.1, True)])
def test_a_neck_under_two_millimetres_is_worse_than_cutting_into_motifs(width: float, on_tip: bool) -> None:
    assert (spiked(width, covered_to=24.0).y > 24) == on_tip


def test_the_hole_lies_above_an_opening_that_could_be_taken_for_it() -> None:
    """Below the opening is the cheapest place, but then a ring would be put into the opening."""
    opening = shapely.Point(0, 20).buffer(3, 32)
    plate, motif = shapely.box(-15, -130, 15, 30) - opening, shapely.box(-15, 26.5, 15, 30)
    site = Site(plate, motif, motif, (0.0, -50.0), hole=5.0, wall=2.5, rivals=())
    assert best_place(site).y == pytest.approx(12.0, abs=0.1)
    rivalled = Site(plate, motif, motif, (0.0, -50.0), hole=5.0, wall=2.5, rivals=(opening,))
    assert best_place(rivalled).y > 30


@pytest.mark.parametrize("high", [4.0, 14.0])
def test_screws_go_into_lugs_where_the_base_is_too_narrow_for_their_walls(high: float) -> None:
    """A hole of 5 mm with walls of 2.5 mm takes 10 mm."""
    bar = shapely.box(-30, -high / 2, 30, high / 2)
    site = Site(bar, NOTHING, NOTHING, (0.0, 0.0), hole=5.0, wall=2.5, rivals=())
    left, right = best_pair(site, widest=True)
    assert (left.x, left.y) == pytest.approx((-right.x, right.y))
    whole = bar.covers(shapely.Point(right.x, right.y).buffer(4.9))
    assert whole is (high > 10)
