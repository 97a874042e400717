"""Pockets in solids: closed, of the volume that is area times depth less, whichever style and side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.errors import GeometryError
from reliefsmith.mesh import mesh_faults, signed_volume
from reliefsmith.model import Pocket
from reliefsmith.polygons import as_multi, disc, snapped
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

from .plans import GOLD, PRINTER, RED, plan_of


def pocket_at(x, y, radius, depth):
    return Pocket("magnet", shapely.transform(disc(x, y, radius), snapped), depth, "back")


def heights_for(style, base=3.0, face="up"):
    values = {"heights.style": style, "heights.base_mm": base, "heights.face": face}
    return Recipe().with_values(values).heights


def volume(plan, heights):
    parts = build(stack(plan, heights=heights, printer=PRINTER))
    for part in parts:
        assert mesh_faults(part.vertices, part.triangles).sound
    return sum(signed_volume(part.vertices, part.triangles) for part in parts)


PLAIN = plan_of(
    shapely.box(-30, -20, 30, 20),
    (RED, shapely.box(-20, -12, -2, 12)),
    (GOLD, shapely.box(-2, -12, 15, 12)),
)


@settings(max_examples=20)
@given(
    st.sampled_from(["raised", "flush", "sunk", "stepped"]),
    st.floats(-20, 20),
    st.floats(-12, 12),
    st.floats(1.0, 5.0),
    st.integers(1, 7),
)
def test_the_volume_is_less_by_area_times_depth(style, x, y, radius, layers):
    pocket = pocket_at(x, y, radius, round(0.2 * layers, 6))
    heights = heights_for(style)
    before, after = volume(PLAIN, heights), volume(replace(PLAIN, pockets=(pocket,)), heights)
    assert before - after == pytest.approx(pocket.polygon.area * pocket.depth_mm, abs=1e-6)


def test_a_pocket_is_open_below_and_closed_above():
    plan = replace(PLAIN, pockets=(pocket_at(0, 0, 4, 1.2),))
    result = stack(plan, heights=heights_for("raised"), printer=PRINTER)
    middle = shapely.Point(0, 0)
    base = [slab for slab in result.slabs if slab.part == "base"]
    open_at = [slab.bottom_mm for slab in base if not slab.polygon.intersects(middle)]
    assert open_at == [0.0]
    assert [(slab.bottom_mm, slab.top) for slab in base] == [(0.0, 1.2), (1.2, 3.0)]


def test_nested_rings_from_the_front_make_a_cone_of_layers():
    hole = shapely.transform(disc(25, 0, 2.0), snapped)
    edges = [shapely.transform(disc(25, 0, radius), snapped) for radius in (3.2, 2.8, 2.4)]
    rings = [one.difference(other) for one, other in zip(edges, [*edges[1:], hole], strict=True)]
    pockets = tuple(
        Pocket("countersink", ring, round(0.2 * n, 6), "front") for n, ring in enumerate(rings, start=1)
    )
    plan = replace(PLAIN, base=PLAIN.base.difference(hole), pockets=pockets)
    for style in ("raised", "flush", "sunk", "stepped"):
        heights = heights_for(style)
        taken = volume(replace(plan, pockets=()), heights) - volume(plan, heights)
        assert taken == pytest.approx(sum(item.polygon.area * item.depth_mm for item in pockets), abs=1e-6)
    slabs = stack(plan, heights=heights_for("raised"), printer=PRINTER).slabs
    base = [slab for slab in slabs if slab.part == "base"]
    tops = np.array([slab.top for slab in base])
    np.testing.assert_allclose(tops, [2.4, 2.6, 2.8, 3.0], atol=1e-9)
    areas = [slab.polygon.area for slab in base]
    assert areas == sorted(areas, reverse=True)  # wider the nearer to the front: no overhang


def test_face_down_the_pocket_is_on_the_bed_side_that_is_the_front():
    pocket = pocket_at(0, 0, 4, 1.2)
    plan = replace(PLAIN, pockets=(pocket,))
    heights = heights_for("flush", face="down")
    result = stack(plan, heights=heights, printer=PRINTER)
    middle = shapely.Point(0, 0)
    highest = max(slab.top for slab in result.slabs)
    open_at = [(s.bottom_mm, s.top) for s in result.slabs if s.part == "base" and s.top == highest]
    assert open_at == [(pytest.approx(highest - 1.2), highest)]
    assert not any(s.polygon.intersects(middle) for s in result.slabs if s.top == highest)
    assert volume(PLAIN, heights) - volume(plan, heights) == pytest.approx(
        pocket.polygon.area * 1.2, abs=1e-6
    )


def test_depths_between_layers_go_on_to_the_next():
    plan = replace(PLAIN, pockets=(pocket_at(0, 0, 4, 1.1),))
    heights = heights_for("raised")
    assert volume(PLAIN, heights) - volume(plan, heights) == pytest.approx(
        plan.pockets[0].polygon.area * 1.2, abs=1e-6
    )


@pytest.mark.parametrize(
    ("style", "base", "x", "words"),
    [
        ("raised", 1.2, -2, r"raise heights\.base_mm by 0\.4"),
        ("flush", 1.6, -2, r"raise heights\.base_mm by 0\.6"),
        ("flush", 1.6, 16, "reaches into the pocket"),
    ],
)
def test_a_pocket_without_a_ceiling_is_refused(style, base, x, words):
    plan = replace(PLAIN, pockets=(pocket_at(x, 0, 4, 1.2),))
    with pytest.raises(GeometryError, match=words):
        stack(plan, heights=heights_for(style, base), printer=PRINTER)


def test_a_pocket_beside_the_base_or_in_the_front_of_two_plates_is_refused():
    with pytest.raises(GeometryError, match="beside the base"):
        stack(
            replace(PLAIN, pockets=(pocket_at(90, 0, 4, 1.2),)),
            heights=heights_for("raised"),
            printer=PRINTER,
        )
    halves = Recipe().with_values(
        {"heights.style": "sunk", "heights.face": "down", "heights.split": "pegs", "heights.base_mm": 4.0}
    )
    front = replace(pocket_at(0, 0, 4, 1.2), side="front")
    with pytest.raises(GeometryError, match=r"heights\.split to none"):
        stack(replace(PLAIN, pockets=(front,)), heights=halves.heights, printer=PRINTER)


def test_the_back_one_of_two_plates_has_the_pockets_of_the_back():
    halves = Recipe().with_values(
        {"heights.style": "sunk", "heights.face": "down", "heights.split": "pegs", "heights.base_mm": 4.0}
    )
    plain = stack(PLAIN, heights=halves.heights, printer=PRINTER)
    found = stack(replace(PLAIN, pockets=(pocket_at(0, 0, 4, 1.2),)), heights=halves.heights, printer=PRINTER)
    lost = {
        part.name: signed_volume(part.vertices, part.triangles)
        - signed_volume(other.vertices, other.triangles)
        for part, other in zip(build(plain), build(found), strict=True)
    }
    assert lost.pop("back") == pytest.approx(np.pi * 16 * 1.2, rel=0.01)
    assert all(abs(left) < 1e-6 for left in lost.values())


@pytest.mark.parametrize("side", ["front", "back"])
def test_a_motif_that_reaches_into_a_pocket_is_refused_with_a_way_out(side):
    pocket = replace(pocket_at(-20.0, 0.0, 3.0, 2.4 if side == "back" else 0.6), side=side)
    plan = replace(PLAIN, pockets=(pocket,))
    words = "heights.base_mm" if side == "back" else "hang.at_mm"
    thick = replace(heights_for("flush"), motif_mm=1.0)
    with pytest.raises(GeometryError, match=f"reaches into the pocket.*{words}"):
        stack(plan, heights=thick, printer=PRINTER)


@pytest.mark.parametrize("style", ["raised", "flush", "stepped"])
def test_letters_whose_rings_touch_at_a_point_leave_a_closed_solid(style):
    eye = [(0, 0), (2, 1), (1, 2)]  # of a letter, open to its edge at a point
    letter = shapely.Polygon([(0, 0), (5, 0), (5, 5), (0, 5)], [eye])
    letters = shapely.MultiPolygon([letter, shapely.box(5, 5, 7, 7)])  # and beside another at a corner
    plan = replace(PLAIN, pockets=(Pocket("lettering", letters, 0.4, "back"),))
    heights = heights_for(style)
    before, after = volume(PLAIN, heights), volume(plan, heights)
    assert before - after == pytest.approx(letters.area * 0.4, abs=0.01)


def test_what_is_laid_into_a_pocket_is_a_part_of_its_color_flush_with_the_back():
    picture = Pocket("picture", as_multi(shapely.box(-5, -5, 5, 5)), 0.4, "back", GOLD)
    plan = replace(plan_of(shapely.box(-20, -20, 20, 20), (RED, shapely.box(0, 0, 8, 8))), inlays=(picture,))
    made = stack(plan, heights=heights_for("raised"), printer=PRINTER)
    (laid,) = [slab for slab in made.slabs if slab.color == GOLD]
    assert laid.part
    assert laid.role == "motif"
    assert (laid.bottom_mm, laid.top, laid.polygon.area) == (0.0, 0.4, 100.0)
    assert len({slab.part for slab in made.slabs}) == 3
    assert GOLD in {change.color for change in made.color_changes}
    assert not made.by_height
