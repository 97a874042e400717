"""Heights under hand relief: whatever was built before, a piece is that of a fresh start to the byte."""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import shapely
from hypothesis import strategies as st

from handwork import Bumps
from reliefsmith.model import HandRelief, Part, Stack
from reliefsmith.recipe import Recipe
from reliefsmith.solid import build as building
from reliefsmith.solid.build import build
from reliefsmith.solid.skin import free_points, skin
from reliefsmith.solid.stacking import stack
from tiers import examples

from .plans import PRINTER, RED, plan_of

WIDTH_MM, HEIGHT_MM = 16.0, 10.0
PLATE, DISC = shapely.box(-8, -5, 8, 5), shapely.Point(1, 0).buffer(3)
PLAN = plan_of(PLATE, (RED, shapely.set_precision(DISC, 0.001)))
DEEP = HandRelief(np.full((40, 40), -0.9, np.float32), (-0.5, 0.3), 1 / 39)
RELIEFS = {"bumps": Bumps(WIDTH_MM, HEIGHT_MM).relief(), "carved": DEEP, "none": None}

LEVELS = st.fixed_dictionaries(
    {
        "base_mm": st.sampled_from([1.0, 1.2, 1.24, 2.0, 3.2]),
        "motif_mm": st.sampled_from([0.4, 0.6, 1.6]),
        "layer_mm": st.sampled_from([0.2, 0.12]),
        "style": st.sampled_from(["raised", "flush", "sunk"]),
        "top": st.sampled_from(["flat", "flat", "chamfer", "crown"]),
        "relief": st.sampled_from(sorted(RELIEFS)),
    }
)


def forget() -> None:
    """Empty every memory of the core."""
    for name in [name for name in sys.modules if name.startswith("reliefsmith.")]:
        for value in vars(sys.modules[name]).values():
            if hasattr(value, "cache_clear"):
                value.cache_clear()


def made(levels: dict[str, object]) -> tuple[Stack, list[np.ndarray]]:
    """The stack of some levels, and the arrays of its parts and of its skin."""
    hand = RELIEFS[str(levels["relief"])]
    own = {key: value for key, value in levels.items() if key != "relief"}
    if own["style"] != "raised":
        own |= {"top": "flat", "base_mm": max(float(str(own["base_mm"])), 2.0) + 1.0}
    heights = replace(Recipe().heights, **own)
    stacked = stack(PLAN, None, hand, heights=heights, printer=PRINTER)
    parts = build(stacked)
    found = [array for part in parts for array in (part.vertices, part.triangles)]
    if hand is not None:
        dense: tuple[Part, ...] = skin(stacked, 0.3)
        found += [array for part in dense for array in (part.vertices, part.triangles)]
        found += [free_points(part, stacked) for part in dense]
    return stacked, found


@examples(5, 100, st.lists(LEVELS, min_size=2, max_size=4))
def test_any_order_of_heights_gives_a_fresh_piece_to_the_byte(order: list[dict[str, object]]) -> None:
    """Pieces made one after the other, and the first again, are as those that remember nothing."""
    forget()
    there_and_back = [*order, order[0]]
    kept = [made(levels) for levels in there_and_back]
    for levels, (stacked, arrays) in zip(there_and_back, kept, strict=True):
        forget()
        fresh, wanted = made(levels)
        assert fresh == stacked
        for one, other in zip(arrays, wanted, strict=True):
            assert one.dtype == other.dtype
            assert one.tobytes() == other.tobytes()


def test_another_base_height_builds_no_solid_again() -> None:
    forget()
    heights = Recipe().with_values({"heights.style": "raised"}).heights
    for base in (1.6, 2.0, 2.4, 1.6):
        build(stack(PLAN, None, RELIEFS["bumps"], heights=replace(heights, base_mm=base), printer=PRINTER))
    told = building._cast.cache_info()
    assert (told.misses, told.hits) == (2, 6)
