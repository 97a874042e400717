"""Raised: the whole and the interface on whole layers, ties, where colors begin."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.mesh import touching_points

from .plans import GOLD, NAVY, RED, WHITE, heights_of, plan_of, stacked

BASE = shapely.box(0, 0, 30, 20)
LEFT, RIGHT = shapely.box(2, 2, 10, 18), shapely.box(10, 2, 28, 12)


@pytest.mark.parametrize(
    ("asked", "interface", "top"),
    [
        ((2.0, 0.6), 2.0, 2.6),  # whole layers already
        ((2.0, 0.5), 2.0, 2.6),  # 12.5 layers: half up
        ((1.5, 0.5), 1.6, 2.0),  # the interface ties: the base gets the layer
        ((1.93, 0.55), 2.0, 2.4),  # 12.4 layers in all, 9.65 in the base
        ((0.2, 0.1), 0.2, 0.4),  # 1.5 layers: half up
        ((1.95, 0.1), 1.8, 2.0),  # 10.25 layers: one of them stays for the motif
    ],
)
def test_the_total_is_snapped_first_then_the_interface(asked, interface, top) -> None:
    made = stacked(plan_of(BASE, (RED, LEFT), color=WHITE), heights_of(*asked))
    assert [slab.top for slab in made.slabs] == [interface, top]
    assert made.layer_tops_mm[-1] == top


@pytest.mark.parametrize(
    ("base_color", "motifs", "interface"),
    [
        (NAVY, [WHITE], 1.4),
        (WHITE, [NAVY], 1.6),
        (NAVY, [RED, WHITE], 1.4),  # one light color over the dark base is enough
        (GOLD, [NAVY, RED], 1.6),
        (RED, [RED], 1.6),  # as light as the base is not lighter
    ],
)
def test_a_tie_gives_the_layer_to_light_motifs_over_a_dark_base(base_color, motifs, interface) -> None:
    shapes = [LEFT, RIGHT]
    plan = plan_of(BASE, *zip(motifs, shapes, strict=False), color=base_color)
    made = stacked(plan, heights_of(1.5, 0.5))
    assert made.slabs[0].top == interface
    assert made.slabs[1].top == 2.0


@given(
    st.floats(0.2, 6.0),
    st.floats(0.1, 3.0),
    st.sampled_from([0.08, 0.1, 0.12, 0.16, 0.2, 0.24, 0.28, 0.3]),
    st.sampled_from([0.1, 0.2, 0.25, 0.3, 0.4]),
    st.booleans(),
)
@settings(max_examples=150)
def test_heights_end_on_layers_near_what_was_asked(base, motif, layer, first, light) -> None:
    colors = (NAVY, WHITE) if light else (WHITE, NAVY)
    made = stacked(plan_of(BASE, (colors[1], LEFT), color=colors[0]), heights_of(base, motif, layer, first))
    tops = made.layer_tops_mm
    assert tops[0] == pytest.approx(first)
    assert [b - a for a, b in pairwise(tops)] == pytest.approx([layer] * (len(tops) - 1))
    assert made.slabs[0].top in tops
    assert made.slabs[0].top < made.slabs[1].top == tops[-1]
    if base + motif > first + layer:
        assert abs(tops[-1] - (base + motif)) <= layer / 2 + 1e-6
    if first < base and tops[-1] - base > layer:
        assert abs(made.slabs[0].top - base) <= layer / 2 + 1e-6
    asked = (base, base + motif)
    moved = max(abs(made.slabs[0].top - asked[0]), abs(tops[-1] - asked[1])) > 1e-6
    assert bool(made.notes) == moved


def test_one_motif_color_changes_once_by_height() -> None:
    made = stacked(plan_of(BASE, (WHITE, LEFT)), heights_of(2.0, 0.6))
    (change,) = made.color_changes
    assert (change.layer, change.z_mm, change.color) == (11, 2.0, WHITE)
    assert made.by_height


def test_several_motif_colors_begin_in_the_same_layer() -> None:
    made = stacked(plan_of(BASE, (WHITE, RIGHT), (RED, LEFT)), heights_of(2.0, 0.6))
    assert [(change.layer, change.z_mm, change.color) for change in made.color_changes] == [
        (11, 2.0, WHITE),
        (11, 2.0, RED),
    ]
    assert not made.by_height


def test_touching_corners_are_parted_in_the_slabs() -> None:
    corners = shapely.MultiPolygon([shapely.box(2, 2, 8, 8), shapely.box(8, 8, 14, 14)])
    made = stacked(plan_of(BASE, (WHITE, corners)), heights_of(2.0, 0.6))
    assert len(touching_points(made.slabs[1].polygon)) == 0
    assert made.slabs[0].polygon.equals(BASE)
