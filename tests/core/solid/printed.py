"""What must hold of every stack and its solids, however they lie on the bed."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely

from reliefsmith.mesh import cut, signed_volume
from reliefsmith.recipe.sections import BaseSettings, HeightSettings, PrinterSettings
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack
from sound import assert_closed, assert_closed_as_stl


def made(plan, *, filaments: int = 1, base: BaseSettings | None = None, **heights):
    """Return stack and parts of a plan."""
    stacked = stack(
        plan,
        heights=HeightSettings(**heights),
        printer=PrinterSettings(filaments=filaments),
        base=base or BaseSettings(),
    )
    return stacked, build(stacked)


def assert_prints(stacked, parts) -> None:
    """Every part is closed and holds its slabs; parts are apart; nothing hangs over by more than a gap."""
    for part in parts:
        assert_closed(part)
        assert_closed_as_stl(part)
        own = [slab for slab in stacked.slabs if slab.part == part.name]
        wanted = sum(slab.polygon.area * (slab.top - slab.bottom_mm) for slab in own)
        assert signed_volume(part.vertices, part.triangles) == pytest.approx(wanted, rel=1e-9)
    below = None
    for bottom, top in pairwise([0.0, *stacked.layer_tops_mm]):
        shapes = [cut(part.vertices, part.triangles, (bottom + top) / 2) for part in parts]
        whole = shapely.union_all(shapes)
        assert sum(shape.area for shape in shapes) - whole.area < 1e-6
        if below is not None:
            # The gaps between colors printed in turn are 0.1 mm, the foot is at most 0.5 mm wide.
            assert whole.difference(below.buffer(0.51)).area < 1e-6
        below = whole


def seen_from_front(stacked) -> dict[tuple[int, int, int], shapely.Geometry]:
    """Return what is seen of each color on the finished piece, from its slabs."""
    covered = shapely.MultiPolygon()
    seen: dict[tuple[int, int, int], shapely.Geometry] = {}
    for slab in sorted(stacked.seen, key=lambda item: -item.top):
        shape = slab.polygon.difference(covered)
        seen[slab.color] = seen.get(slab.color, shapely.MultiPolygon()).union(shape)
        covered = covered.union(slab.polygon)
    return seen
