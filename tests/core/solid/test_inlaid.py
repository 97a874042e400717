"""Flush and sunk: pockets of the base, what lies in them, and how much of the base is left."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import signed_volume

from .plans import GOLD, RED, plan_of, styled

BASE = shapely.box(0, 0, 40, 30)
LEFT, RIGHT = shapely.box(2, 2, 20, 20), shapely.box(20, 2, 38, 12)


def test_flush_motifs_end_level_with_the_base() -> None:
    stacked, parts = styled(plan_of(BASE, (RED, LEFT), (GOLD, RIGHT)), "flush")
    assert [(slab.part, slab.bottom_mm, slab.top) for slab in stacked.slabs] == [
        ("base", 0.0, 1.4),
        ("base", 1.4, 2.0),
        ("red", 1.4, 2.0),
        ("gold", 1.4, 2.0),
    ]
    assert sum(signed_volume(part.vertices, part.triangles) for part in parts) == pytest.approx(1200 * 2.0)
    assert [change.layer for change in stacked.color_changes] == [8, 8]
    assert not stacked.by_height


def test_sunk_motifs_lie_on_a_floor_below_the_top() -> None:
    stacked, parts = styled(plan_of(BASE, (RED, LEFT)), "sunk")
    assert [(slab.part, slab.bottom_mm, slab.top) for slab in stacked.slabs] == [
        ("base", 0.0, 1.0),
        ("base", 1.0, 2.0),
        ("red", 1.0, 1.4),
    ]
    volumes = [signed_volume(part.vertices, part.triangles) for part in parts]
    assert volumes == pytest.approx([1200 * 2.0 - 324 * 1.0, 324 * 0.4])


def test_a_base_too_low_to_sink_motifs_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"base_mm 0\.8 is too low"):
        styled(plan_of(BASE, (RED, LEFT)), "sunk", base_mm=0.8)


def test_a_flush_motif_leaves_a_layer_of_base() -> None:
    stacked, _ = styled(plan_of(BASE, (RED, LEFT)), "flush", base_mm=0.4)
    assert [slab.top for slab in stacked.slabs] == [0.2, 0.4, 0.4]
    assert stacked.notes[0].code == "heights-snapped"


def test_a_motif_that_covers_the_base_leaves_no_rest() -> None:
    stacked, parts = styled(plan_of(BASE, (RED, BASE)), "flush")
    assert [slab.part for slab in stacked.slabs] == ["base", "red"]
    assert len(parts) == 2
