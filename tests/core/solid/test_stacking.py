"""What every stack has: its first layer, the names of its parts, a plain base, layers that can be laid."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.errors import GeometryError

from .plans import GOLD, RED, WHITE, heights_of, plan_of, stacked

BASE = shapely.box(0, 0, 30, 20)
LEFT, RIGHT = shapely.box(2, 2, 10, 18), shapely.box(10, 2, 28, 12)


def test_the_first_layer_counts_with_its_own_height() -> None:
    made = stacked(plan_of(BASE, (RED, LEFT), color=WHITE), heights_of(1.5, 0.5, first=0.3))
    assert made.layer_tops_mm == (0.3, 0.5, 0.7, 0.9, 1.1, 1.3, 1.5, 1.7, 1.9, 2.1)
    assert made.slabs[0].top == 1.5
    assert made.notes[0].code == "heights-snapped"
    assert "2 to 2.1 mm" in made.notes[0].message


def test_heights_on_the_grid_need_no_note() -> None:
    assert stacked(plan_of(BASE, (RED, LEFT)), heights_of(2.0, 0.6)).notes == ()


def test_parts_are_base_then_color_words_by_falling_area() -> None:
    dots = [(RED, shapely.box(1, 1, 2, 2)), (GOLD, LEFT), ((190, 20, 20), RIGHT)]
    made = stacked(plan_of(BASE, *dots), heights_of(2.0, 0.6))
    assert [slab.part for slab in made.slabs] == ["base", "red", "gold", "red-2"]
    assert [slab.role for slab in made.slabs] == ["base", "motif", "motif", "motif"]


def test_a_plain_base_has_no_change() -> None:
    made = stacked(plan_of(BASE), heights_of(1.9, 0.6))
    assert made.color_changes == ()
    assert made.by_height
    assert made.layer_tops_mm[-1] == made.slabs[0].top == 2.0


@pytest.mark.parametrize("heights", [heights_of(2.0, 0.6, 0.5), heights_of(2.0, 0.6, 0.2, 0.5)])
def test_layers_higher_than_the_nozzle_are_refused(heights) -> None:
    with pytest.raises(GeometryError, match=r"nozzle of 0.4 mm"):
        stacked(plan_of(BASE, (RED, LEFT)), heights)
