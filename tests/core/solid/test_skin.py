"""The skin for sculpting: the same solid with even points on its tops; walls and rims are held."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from handwork import Bumps, tops_at
from reliefsmith.errors import GeometryError
from reliefsmith.mesh import signed_volume
from reliefsmith.model import HandRelief
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.skin import free_points, points_needed, skin
from reliefsmith.solid.stacking import stack
from sound import assert_closed

from .plans import PRINTER, RED, plan_of

PLATE, SQUARE = shapely.box(-20, -13, 20, 13), shapely.box(-8, -8, 8, 8)
ZEROS = HandRelief(np.zeros((2, 2), np.float32), (-0.5, 0.5), 1.0)


def _stack(hand: HandRelief = ZEROS, **more: object):
    heights = Recipe().with_values({f"heights.{key}": value for key, value in more.items()}).heights
    return stack(plan_of(PLATE, (RED, SQUARE)), None, hand, heights=heights, printer=PRINTER)


@pytest.mark.parametrize("step", [0.1, 0.2, 0.3])
@pytest.mark.parametrize("style", ["raised", "flush", "sunk"])
def test_a_skin_is_the_same_solid_with_even_points(step: float, style: str) -> None:
    plain = _stack(style=style, base_mm=3.0)
    made = skin(plain, step)
    for one, other in zip(build(plain), made, strict=True):
        assert_closed(other)
        assert signed_volume(one.vertices, one.triangles) == pytest.approx(
            signed_volume(other.vertices, other.triangles), rel=1e-9
        )
    count = sum(len(part.vertices) for part in made)
    assert count == pytest.approx(points_needed(plain, step), rel=0.1)
    corners = made[1].vertices[made[1].triangles]
    level = (corners[:, :, 2] == corners[:, :, 2].max()).all(axis=1)
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    assert np.quantile(longest[level], 0.9) <= 1.5 * step


def test_walls_and_rims_are_held_and_the_rest_is_free() -> None:
    plain = _stack()
    for part in skin(plain, 0.2):
        free = free_points(part, plain)
        assert 0.8 < free.mean() < 1.0
        assert (part.vertices[free, 2] >= 2.0).all()
        x, y = np.abs(part.vertices[free, 0]), np.abs(part.vertices[free, 1])
        inside = np.maximum(x - 8, y - 8)
        assert (np.abs(inside) > 0.02).all()  # not on the boundary of the two colors


def test_a_skin_keeps_the_relief_that_is_there() -> None:
    bumps = Bumps(40.0, 26.0)
    sculpted = _stack(bumps.relief())
    places = np.random.default_rng(4).uniform((-19, -12), (19, 12), (2000, 2))
    places = places[np.abs(np.abs(places) - 8).min(axis=1) > 0.15]
    before, after = tops_at(build(sculpted), places), tops_at(skin(sculpted, 0.1), places)
    assert np.abs(before - after).max() <= 0.01


def test_what_cannot_be_sculpted_is_refused() -> None:
    heights = Recipe().with_values({"heights.style": "flush", "heights.face": "down"}).heights
    down = stack(plan_of(PLATE, (RED, SQUARE)), None, None, heights=heights, printer=PRINTER)
    with pytest.raises(GeometryError, match=r"heights\.face"):
        skin(down, 0.2)
    with pytest.raises(GeometryError, match=r"0\.1 to 0\.3 mm"):
        skin(_stack(), 0.05)
