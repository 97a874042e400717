"""Slabs of motifs with their names, where colors change, what is said of heights that were moved."""

from __future__ import annotations

import shapely

from reliefsmith.model import ColorChange, Motif
from reliefsmith.polygons import as_multi
from reliefsmith.solid.layergrid import LayerGrid
from reliefsmith.solid.levels import bare_base, changes_at, luminance, motif_slabs, snapped_note

from .plans import NAVY, RED, WHITE, plan_of

GRID = LayerGrid(200_000, 200_000)
MOTIFS = [
    Motif(color, as_multi(shapely.box(x, 0, x + 3, 3))) for x, color in ((0, RED), (5, WHITE), (9, RED))
]


def test_slabs_are_named_by_their_colors_each_name_once() -> None:
    slabs = motif_slabs(MOTIFS, 2.0, 2.6)
    assert [slab.part for slab in slabs] == ["red", "white", "red-2"]
    assert {(slab.role, slab.bottom_mm, slab.top) for slab in slabs} == {("motif", 2.0, 2.6)}
    assert [slab.top for slab in motif_slabs(MOTIFS, 2.0, [2.2, 2.4, 2.8])] == [2.2, 2.4, 2.8]
    assert motif_slabs([], 2.0, 2.6) == []


def test_all_colors_begin_above_the_same_layer() -> None:
    assert changes_at(MOTIFS, 10, GRID) == tuple(ColorChange(11, 2.0, motif.color) for motif in MOTIFS)


def test_a_base_without_motifs_is_one_slab_of_one_color() -> None:
    levels = bare_base(plan_of(shapely.box(0, 0, 10, 10), color=NAVY), GRID, 2.1, 10)
    (slab,) = levels.slabs
    assert (slab.part, slab.color, slab.bottom_mm, slab.top) == ("base", NAVY, 0.0, 2.0)
    assert (levels.layers, levels.changes, levels.by_height) == (10, (), True)
    assert [item.code for item in levels.notes] == ["heights-snapped"]
    assert bare_base(plan_of(shapely.box(0, 0, 10, 10)), GRID, 2.0, 10).notes == ()


def test_moved_heights_are_all_told_where_one_was_moved() -> None:
    (item,) = snapped_note([("base", 2.0, 2.0), ("whole", 2.55, 2.6)])
    assert item.message == "Heights moved to whole layers: base 2 to 2 mm, whole 2.55 to 2.6 mm."
    assert snapped_note([("base", 2.0, 2.0 + 1e-9)]) == ()


def test_luminance_is_that_of_the_standard() -> None:
    """ITU-R BT.709 weights of linear light, as in IEC 61966-2-1."""
    assert [round(luminance(color), 4) for color in ((255, 0, 0), (0, 255, 0), (0, 0, 255), (255,) * 3)] == [
        0.2126,
        0.7152,
        0.0722,
        1.0,
    ]
