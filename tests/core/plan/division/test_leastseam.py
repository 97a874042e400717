"""Where a piece is cut in a band: along colors where that is cheaper, and arms where they are wide."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.division.jointkeys import NEEDED_MM, keys_of
from reliefsmith.plan.division.leastseam import _boundaries, cheapest_halves
from reliefsmith.polygons import as_multi, faces_of, polygons_of
from reliefsmith.recipe.sections import SeamSettings

NOTHING = shapely.MultiPolygon()


def _tapering(angle: float = 0.0) -> shapely.Polygon:
    """A plate of 60 mm with an arm of 100 mm that is 14 mm wide at its root and 2 mm at its tip."""
    arm = shapely.Polygon([(58, 23), (60, 23), (160, 29), (160, 31), (60, 37), (58, 37)])
    whole = shapely.union(shapely.box(0, 0, 60, 60), arm)
    return shapely.affinity.rotate(whole, angle, origin=(0, 0)) if angle else whole


def _width(x: float) -> float:
    return 14 - 12 * (x - 60) / 100


def test_an_arm_that_must_be_cut_is_cut_where_a_key_has_room() -> None:
    region = faces_of([_tapering()])[0]
    before, after = cheapest_halves(region, [], NOTHING, 0, (70.0, 150.0))
    assert len(polygons_of(after)) == 1
    neck = _width(after.bounds[0])
    assert NEEDED_MM - 1.0 <= neck <= NEEDED_MM + 2.0  # lines of the lattice stand 6.7 mm apart
    assert before.area + after.area == pytest.approx(region.area)


def test_where_all_of_an_arm_in_the_band_is_narrow_its_widest_place_is_cut() -> None:
    region = faces_of([_tapering()])[0]
    _, after = cheapest_halves(region, [], NOTHING, 0, (132.0, 156.0))
    assert after.bounds[0] <= 132.0 + 4.0


def test_wide_pieces_are_cut_along_colors_and_else_straight_on() -> None:
    region = shapely.box(0, 0, 200, 60)
    faces = faces_of([region])
    halves = cheapest_halves(faces[0], [], NOTHING, 0, (80.0, 120.0))
    assert shapely.length(shapely.intersection(*map(shapely.boundary, halves))) == pytest.approx(60)
    field = as_multi(shapely.Polygon([(0, 0), (95, 0), (105, 60), (0, 60)]))
    colored = cheapest_halves(faces[0], [field], NOTHING, 0, (80.0, 120.0))
    assert shapely.symmetric_difference(colored[0], field).area < 0.1


@pytest.mark.parametrize(("high", "followed"), [(20.0, True), (13.0, False)])
def test_a_boundary_of_colors_is_followed_up_to_four_times_the_way_across(
    high: float, followed: bool
) -> None:
    """It runs aslant over 60 mm: 3.2, or 4.7, times as long as straight across."""
    field = as_multi(shapely.Polygon([(0, 0), (70, 0), (130, high), (0, high)]))
    halves = cheapest_halves(faces_of([shapely.box(0, 0, 200, high)])[0], [field], NOTHING, 0, (70.0, 130.0))
    assert (shapely.symmetric_difference(halves[0], field).area < 1.0) is followed


@pytest.mark.parametrize(("wide", "lines"), [(120.0, 13), (20.0, 7), (0.0, 1)])
def test_lines_of_the_lattice_stand_four_millimetres_apart_or_twelve_to_the_band(
    wide: float, lines: int
) -> None:
    """Both of its ends among them, so that all that lies beyond is on one side."""
    drawn = _boundaries(shapely.box(0, 0, 200, 60), [], 0, (40.0, 40.0 + wide))
    upright = {line.bounds[0] for line in drawn if line.bounds[0] == line.bounds[2]}
    assert len(upright) == lines
    assert {40.0, 40.0 + wide} <= upright


def test_a_band_lies_between_two_y_as_between_two_x() -> None:
    """The same plate with its arm and a boundary of colors, its axes exchanged."""

    def exchanged(shape: shapely.Geometry) -> shapely.Geometry:
        return shapely.transform(shape, lambda points: points[:, ::-1])

    region, field = _tapering(), shapely.Polygon([(0, 0), (95, 0), (105, 60), (0, 60)])
    for colors in ([], [field]):
        across = cheapest_halves(region, colors, NOTHING, 0, (70.0, 150.0))
        up = cheapest_halves(exchanged(region), list(map(exchanged, colors)), NOTHING, 1, (70.0, 150.0))
        for one, other in zip(across, up, strict=True):
            assert exchanged(other).symmetric_difference(one).area < 0.01


def test_an_arm_as_wide_as_a_key_needs_takes_one() -> None:
    gap, step = 0.2, 1.0  # between parts, and between places at which a key is tried
    wide = NEEDED_MM + 2 * gap + step
    cells = [shapely.box(0, 0, 40, wide), shapely.box(40, 0, 80, wide)]
    keys, loose = keys_of(cells, NOTHING, SeamSettings(), gap)
    assert len(keys) == 1
    assert not loose
    narrow = [shapely.box(0, 0, 40, NEEDED_MM - 0.4), shapely.box(40, 0, 80, NEEDED_MM - 0.4)]
    assert len(keys_of(narrow, NOTHING, SeamSettings(), gap)[1]) == 1
