"""Hand relief read back: what was applied comes back, and what heights cannot hold is told with its share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from core.solid.plans import PRINTER, RED, plan_of
from handwork import Bumps, tops_at
from pieces import part
from reliefsmith.errors import GeometryError
from reliefsmith.jobs.handread import read_relief
from reliefsmith.mesh.raster import Nodes, painted
from reliefsmith.model import HandRelief, Part
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack

PLATE = shapely.box(-20, -13, 20, 13)
SQUARE = shapely.box(-8, -8, 8, 8)
WIDTH_MM = 40.0
NAVY = (20, 33, 61)


def _parts(hand=None) -> tuple[Part, ...]:
    return build(stack(plan_of(PLATE, (RED, SQUARE)), None, hand, heights=Recipe().heights, printer=PRINTER))


def _joined(one: Part, *others: trimesh.Trimesh) -> Part:
    mesh = trimesh.util.concatenate([trimesh.Trimesh(one.vertices, one.triangles, process=False), *others])
    return replace(one, vertices=np.asarray(mesh.vertices), triangles=np.asarray(mesh.faces, np.int32))


def _middles(relief: HandRelief, width_mm: float) -> np.ndarray:
    """The places of all values in mm."""
    rows, columns = np.indices(relief.values.shape)
    at = (relief.origin[0] + relief.step * columns, relief.origin[1] - relief.step * rows)
    return width_mm * np.stack([item.ravel() for item in at], axis=1)


def _box(low: tuple[float, float, float], high: tuple[float, float, float]) -> trimesh.Trimesh:
    return trimesh.creation.box(bounds=[low, high])


def test_what_was_applied_is_read_back() -> None:
    bumps = Bumps(40.0, 26.0)
    reading = read_relief(list(zip(_parts(), _parts(bumps.relief()), strict=True)), WIDTH_MM)
    assert reading.kept == 1.0
    assert reading.unheld == ()
    places = np.random.default_rng(2).uniform((-19.5, -12.5), (19.5, 12.5), (4000, 2))
    clear = np.abs(np.abs(places) - 8).min(axis=1) > 0.15
    off = (reading.relief.at(places, WIDTH_MM) - bumps.at(places))[clear]
    assert np.sqrt((off**2).mean()) <= 0.005
    assert np.abs(off).max() <= 0.06


def test_reading_and_applying_again_changes_next_to_nothing() -> None:
    first = _parts(Bumps(40.0, 26.0).relief())
    again = _parts(read_relief(list(zip(_parts(), first, strict=True)), WIDTH_MM).relief)
    twice = read_relief(list(zip(first, again, strict=True)), WIDTH_MM)
    assert np.sqrt(np.nanmean(twice.relief.values**2)) <= 0.003


def test_work_is_added_to_the_work_of_before_which_stays() -> None:
    """Two strokes, one after the other: the first one is not worn away by reading the later one."""
    bumps = Bumps(40.0, 26.0)
    field = read_relief(list(zip(_parts(), _parts(bumps.relief()), strict=True)), WIDTH_MM).relief
    for stroke in range(2):
        made, pad = _parts(field), _box((-19.0 + stroke, -12.0, 0.0), (-18.5 + stroke, -11.5, 2.8))
        pairs = [(made[0], _joined(made[0], pad)), *((one, one) for one in made[1:])]
        new = read_relief(pairs, WIDTH_MM, earlier=field).relief
        assert new.step == field.step
        places = _middles(new, WIDTH_MM)
        away = (places[:, 1] > -11.3) | (places[:, 0] > stroke - 18.0)
        off = new.at(places, WIDTH_MM) - field.at(places, WIDTH_MM)
        assert np.abs(off[away]).max() < 1e-6
        assert new.at(np.array([[stroke - 18.75, -11.75]]), WIDTH_MM)[0] == pytest.approx(0.8, abs=0.02)
        field = new


def test_work_where_no_part_lies_now_stays() -> None:
    rise = HandRelief(np.full((2, 2), 0.4, np.float32), (-0.5, 0.5), 1.0)
    short = part("base", NAVY, shapely.box(-5, -5, 5, 5), (0.0, 2.4))
    taller = part("base", NAVY, shapely.box(-5, -5, 5, 5), (0.0, 2.5))
    relief = read_relief([(short, taller)], WIDTH_MM, earlier=rise).relief
    found = relief.at(np.array([[0.0, 0.0], [12.0, 12.0]]), WIDTH_MM)
    np.testing.assert_allclose(found, [0.5, 0.4], atol=1e-6)


def test_work_on_what_was_too_deep_begins_at_what_was_seen() -> None:
    deep = HandRelief(np.full((2, 2), -3.0, np.float32), (-0.5, 0.5), 1.0)
    plain, made, raised = (part("base", NAVY, PLATE, (0.0, top)) for top in (2.0, 0.4, 0.7))
    relief = read_relief([(made, raised)], WIDTH_MM, earlier=deep, plain=[plain]).relief
    assert relief.at(np.zeros((1, 2)), WIDTH_MM)[0] == pytest.approx(-1.3, abs=1e-6)


def test_untouched_parts_give_a_field_of_zeros_on_all_ground() -> None:
    parts = _parts()
    reading = read_relief([(one, one) for one in parts], WIDTH_MM)
    held = ~np.isnan(reading.relief.values)
    assert held.sum() * 0.01 == pytest.approx(40 * 26, rel=0.02)
    assert (reading.relief.values[held] == 0).all()
    assert reading.kept == 1.0


def test_a_level_lift_is_held_to_the_edges() -> None:
    plain = part("base", NAVY, PLATE, (0.0, 2.0))
    lifted = part("base", NAVY, PLATE, (0.0, 2.5))
    relief = read_relief([(plain, lifted)], WIDTH_MM).relief
    held = relief.values[~np.isnan(relief.values)]
    np.testing.assert_allclose(held, 0.5, atol=1e-6)


@pytest.mark.parametrize("at", [(-15.0, -9.0), (0.0, 11.0), (14.0, 3.0)])
def test_an_undercut_is_told_with_its_place_and_volume(at: tuple[float, float]) -> None:
    """A slab of 3 x 3 x 0.5 mm that hangs 1 mm above the top: 9 mm3 of air below it."""
    plain = part("base", NAVY, PLATE, (0.0, 2.0))
    x, y = at
    hung = _joined(plain, _box((x - 1.5, y - 1.5, 3.0), (x + 1.5, y + 1.5, 3.5)))
    reading = read_relief([(plain, hung)], WIDTH_MM)
    assert {item.kind for item in reading.unheld} == {"undercut"}
    assert sum(item.volume_mm3 for item in reading.unheld) == pytest.approx(9.0, rel=0.1)
    assert all(abs(item.at_mm[0] - x) <= 1.6 and abs(item.at_mm[1] - y) <= 1.6 for item in reading.unheld)
    # The lift of 1.5 mm is held, the air of 1 mm is not.
    assert reading.kept == pytest.approx(1.5 / 2.5, abs=0.02)


@pytest.mark.parametrize("grown", [0.5, 2.0])
def test_a_moved_wall_and_an_island_lie_beside(grown: float) -> None:
    plain = part("base", NAVY, PLATE, (0.0, 2.0))
    wide = part("base", NAVY, shapely.box(-20, -13, 20 + grown, 13), (0.0, 2.0))
    reading = read_relief([(plain, wide)], WIDTH_MM)
    assert {item.kind for item in reading.unheld} == {"beside"}
    assert reading.kept == pytest.approx(0.0, abs=0.01)
    assert reading.unheld[0].at_mm[0] > 20
    island = _joined(plain, _box((24.0, 0.0, 0.0), (27.0, 3.0, 2.0)))
    told = read_relief([(plain, island)], WIDTH_MM).unheld
    assert {item.kind for item in told} == {"beside"}
    assert sum(item.volume_mm3 for item in told) == pytest.approx(18.0, rel=0.1)


def test_a_hole_through_the_part_is_gone() -> None:
    plain = part("base", NAVY, PLATE, (0.0, 2.0))
    bored = part("base", NAVY, PLATE - shapely.box(5, 5, 8, 8), (0.0, 2.0))
    reading = read_relief([(plain, bored)], WIDTH_MM)
    assert {item.kind for item in reading.unheld} == {"gone"}
    assert sum(item.volume_mm3 for item in reading.unheld) == pytest.approx(18.0, rel=0.15)


def test_a_pocket_of_the_part_itself_is_no_undercut() -> None:
    floor = trimesh.Trimesh(*_pocketed(), process=False)
    plain = Part("base", "base", NAVY, np.asarray(floor.vertices), np.asarray(floor.faces, np.int32))
    assert read_relief([(plain, plain)], WIDTH_MM).unheld == ()


def _pocketed() -> tuple[np.ndarray, np.ndarray]:
    mesh = trimesh.util.concatenate([_box((-9, -9, 0), (9, 9, 0.8)), _box((-9, -9, 1.4), (9, 9, 2.0))])
    return np.asarray(mesh.vertices), np.asarray(mesh.faces)


def test_painting_agrees_with_heights_found_one_by_one() -> None:
    """Independent: triangles found by their boxes, on a sphere and a slanted cylinder."""
    ball = trimesh.creation.icosphere(subdivisions=3, radius=4.0)
    tube = trimesh.creation.cylinder(
        1.0, 9.0, transform=trimesh.transformations.rotation_matrix(1.0, (1, 2, 0))
    )
    for mesh in (ball, tube):
        nodes = Nodes((-5.03, -5.01), 0.37, (28, 28))
        found = painted(np.asarray(mesh.vertices), np.asarray(mesh.faces, np.int32), nodes)
        x, y = np.meshgrid(np.arange(28) * 0.37 - 5.03, np.arange(28) * 0.37 - 5.01)
        solid = Part("a", "base", NAVY, np.asarray(mesh.vertices), np.asarray(mesh.faces, np.int32))
        wanted = tops_at([solid], np.column_stack([x.ravel(), y.ravel()]))
        np.testing.assert_allclose(found.highest.ravel(), wanted, atol=1e-6)
        inside = ~np.isnan(wanted)  # convex: filled from the lowest to the highest
        thick = (found.highest - found.lowest).ravel()
        np.testing.assert_allclose(found.filled.ravel()[inside], thick[inside], atol=1e-4)


def test_no_part_and_no_numbers_are_refused() -> None:
    with pytest.raises(GeometryError, match="no part"):
        read_relief([], WIDTH_MM)
    plain = part("base", NAVY, PLATE, (0.0, 2.0))
    broken = replace(plain, vertices=plain.vertices * np.nan)
    with pytest.raises(GeometryError, match="no numbers"):
        read_relief([(plain, broken)], WIDTH_MM)
