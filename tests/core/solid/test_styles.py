from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from reliefsmith.colorimetry import relative_luminance
from reliefsmith.colorimetry.hiding import HIDES, Coefficients, shown_share
from reliefsmith.errors import GeometryError
from reliefsmith.mesh import cut, signed_volume
from reliefsmith.polygons import merged, opened
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import BaseSettings, FilamentSettings, HeightSettings
from reliefsmith.recipe.settings import specs
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import STYLES, stack
from reliefsmith.solid.stepped import hidden_layers, step_layers
from sound import assert_closed, assert_closed_as_stl

from .plans import GOLD, NAVY, PRINTER, RED, WHITE, heights_of, pictures, plan_of

BASE = shapely.box(0, 0, 40, 30)
LEFT, RIGHT = shapely.box(2, 2, 20, 20), shapely.box(20, 2, 38, 12)
DOT = shapely.box(4, 22, 8, 26)


def _made(plan, style: str, **values):
    stacked = stack(plan, heights=HeightSettings(style=style, **values), printer=PRINTER)
    return stacked, build(stacked)


def test_every_style_of_the_recipe_is_made() -> None:
    assert {"auto", *STYLES} == set(specs(HeightSettings)["style"].choices)
    assert Recipe().heights.style == "auto"


def test_flush_motifs_end_level_with_the_base() -> None:
    stacked, parts = _made(plan_of(BASE, (RED, LEFT), (GOLD, RIGHT)), "flush")
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
    stacked, parts = _made(plan_of(BASE, (RED, LEFT)), "sunk")
    assert [(slab.part, slab.bottom_mm, slab.top) for slab in stacked.slabs] == [
        ("base", 0.0, 1.0),
        ("base", 1.0, 2.0),
        ("red", 1.0, 1.4),
    ]
    volumes = [signed_volume(part.vertices, part.triangles) for part in parts]
    assert volumes == pytest.approx([1200 * 2.0 - 324 * 1.0, 324 * 0.4])


def test_a_base_too_low_to_sink_motifs_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"base_mm 0\.8 is too low"):
        _made(plan_of(BASE, (RED, LEFT)), "sunk", base_mm=0.8)


def test_a_flush_motif_leaves_a_layer_of_base() -> None:
    stacked, _ = _made(plan_of(BASE, (RED, LEFT)), "flush", base_mm=0.4)
    assert [slab.top for slab in stacked.slabs] == [0.2, 0.4, 0.4]
    assert stacked.notes[0].code == "heights-snapped"


def test_a_motif_that_covers_the_base_leaves_no_rest() -> None:
    stacked, parts = _made(plan_of(BASE, (RED, BASE)), "flush")
    assert [slab.part for slab in stacked.slabs] == ["base", "red"]
    assert len(parts) == 2


def test_steps_nest_and_need_one_change_for_each_color() -> None:
    plan = plan_of(BASE, (RED, LEFT), (GOLD, RIGHT), (WHITE, DOT))
    stacked, _ = _made(plan, "stepped")
    steps = stacked.slabs[1:]
    assert stacked.by_height
    assert len(stacked.color_changes) == 3
    assert [change.color for change in stacked.color_changes] == [slab.color for slab in steps]
    for below, above in zip(stacked.slabs, steps, strict=False):
        assert above.bottom_mm == below.top
        assert above.polygon.difference(below.polygon).area == 0
    own = {motif.color: motif.polygon for motif in plan.motifs}
    for index, slab in enumerate(steps):
        later = merged([item.polygon for item in steps[index + 1 : index + 2]])
        assert slab.polygon.difference(later).symmetric_difference(own[slab.color]).area < 1e-9
    assert "order-chosen" in {item.code for item in stacked.notes}


@pytest.mark.parametrize(
    ("usual", "color", "below", "layers"),
    [
        (3, WHITE, NAVY, 4),  # light over dark hides less
        (3, NAVY, WHITE, 2),  # dark over light hides more
        (3, RED, NAVY, 3),
        (2, NAVY, WHITE, 2),  # two layers at least
        (1, NAVY, WHITE, 1),  # but no more than asked
    ],
)
def test_layers_of_a_step_follow_the_color_below(usual, color, below, layers) -> None:
    assert step_layers(usual, color, below) == layers


def test_a_measured_filament_gets_just_the_layers_that_hide_what_is_below() -> None:
    chalk = Coefficients("chalk", (40.0,) * 3, (0.2,) * 3, assumed=False)
    milk = Coefficients("milk", (4.0,) * 3, (0.02,) * 3, assumed=False)
    for filament in (chalk, milk):
        layers = hidden_layers(WHITE, NAVY, 0.2, [(WHITE, filament)])
        exact = next((n for n in range(1, 40) if shown_share(filament, 0.2 * n, NAVY) >= HIDES), 40)
        assert layers == min(max(exact, 2), 12)
    assert hidden_layers(NAVY, WHITE, 0.2, [(NAVY, chalk)]) is None  # dark over light
    assert hidden_layers(RED, NAVY, 0.2, [(WHITE, chalk)]) is None  # another filament


def test_a_step_in_a_measured_filament_is_as_high_as_it_must_be() -> None:
    plan = plan_of(shapely.box(-10, -10, 10, 10), (WHITE, shapely.box(-5, -5, 5, 5)))
    heights = replace(heights_of(2.0, 0.6), style="stepped")

    def step(over: str) -> int:
        row = {
            "name": "white",
            "color": "#ffffff",
            "thin_color": over,
            "thin_mm": 0.2,
            "thin_over": "#14213d",
        }
        stock = FilamentSettings(stock=(row,))
        stacked = stack(plan, heights=heights, printer=PRINTER, filaments=stock)
        return round((stacked.slabs[1].top - stacked.slabs[1].bottom_mm) / 0.2)

    assert step("#f6f6f6") < 4 < step("#a8a8a8")  # 4 where nothing was measured


STEPS = ("#d32020", "#c9a227", "#ffffff")
"""Red, gold, white."""


def test_steps_that_the_recipe_gives_are_the_same_bands_in_every_piece() -> None:
    whole, _ = _made(plan_of(BASE, (GOLD, LEFT), (RED, RIGHT), (WHITE, DOT)), "stepped", steps=STEPS)
    without, parts = _made(plan_of(BASE, (WHITE, DOT), (RED, LEFT)), "stepped", steps=STEPS)
    lowest, _ = _made(plan_of(BASE, (RED, LEFT)), "stepped", steps=STEPS)
    bands = [(slab.color, slab.bottom_mm, slab.top) for slab in whole.slabs]
    assert [color for color, *_ in bands] == [NAVY, RED, GOLD, WHITE]
    assert [(slab.color, slab.bottom_mm, slab.top) for slab in without.slabs] == bands
    assert [(slab.color, slab.bottom_mm, slab.top) for slab in lowest.slabs] == bands[:2]
    assert whole.color_changes == without.color_changes
    assert without.slabs[2].polygon.equals(without.slabs[3].polygon)  # gold lies hidden under white
    assert without.slabs[1].polygon.area == pytest.approx(DOT.area + LEFT.area)
    for part in parts:
        assert_closed(part)


def test_a_color_that_the_steps_do_not_name_comes_last_and_is_told() -> None:
    stacked, _ = _made(plan_of(BASE, (RED, LEFT), ((40, 90, 200), RIGHT)), "stepped", steps=STEPS[:2])
    assert [slab.color for slab in stacked.slabs] == [NAVY, RED, GOLD, (40, 90, 200)]
    assert [item.code for item in stacked.findings] == ["color-unmatched"]
    fine, _ = _made(plan_of(BASE, (RED, LEFT)), "stepped", steps=STEPS[:2])
    assert fine.findings == ()


def test_colors_in_the_examples_differ_as_said() -> None:
    white, navy, red = (float(relative_luminance(np.array(c, np.uint8))) for c in (WHITE, NAVY, RED))
    assert white - navy > 0.25 > red - navy


@pytest.mark.parametrize("style", STYLES)
def test_a_plan_without_motifs_is_a_plain_base(style: str) -> None:
    stacked, (part,) = _made(plan_of(BASE), style)
    assert stacked.color_changes == ()
    assert stacked.by_height
    assert signed_volume(part.vertices, part.triangles) == pytest.approx(1200 * 2.0)


@pytest.mark.parametrize("style", STYLES)
@given(plan=pictures())
@settings(max_examples=20)
def test_every_style_is_closed_apart_and_shows_the_picture(style: str, plan) -> None:
    stacked, parts = _made(plan, style)
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
