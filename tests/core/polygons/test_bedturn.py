"""How an outline is turned to lie on a bed: held against shapely's own turning and hand computations."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity

from reliefsmith.polygons import turn_on_bed


def lies(outline: shapely.Geometry, bed: tuple[float, float], turn: float) -> bool:
    x0, y0, x1, y1 = affinity.rotate(outline, turn, origin=(0, 0)).bounds
    return x1 - x0 <= bed[0] + 1e-6 and y1 - y0 <= bed[1] + 1e-6


@pytest.mark.parametrize(("size", "turn"), [((30, 20), 0), ((20, 30), 90), ((30, 30), None)])
def test_a_box_that_fits_only_along_the_bed(size: tuple[float, float], turn: float | None) -> None:
    """As long as the bed is wide: a degree of tilt already takes 20 sin 1 = 0.35 mm more."""
    assert turn_on_bed(shapely.box(5, 7, 5 + size[0], 7 + size[1]), (30, 20)) == turn


def test_a_long_bar_lies_across_a_square_bed_at_the_least_whole_degree() -> None:
    """110 x 4 mm on 82 x 82: 110 cos t + 4 sin t <= 82 holds from 43.9 degrees on."""
    bar = shapely.box(0, 0, 110, 4)
    assert 110 * math.cos(math.radians(43)) + 4 * math.sin(math.radians(43)) > 82
    assert 110 * math.cos(math.radians(44)) + 4 * math.sin(math.radians(44)) < 82
    assert turn_on_bed(bar, (82, 82)) == 44
    assert turn_on_bed(affinity.scale(bar, -1, 1), (82, 82)) == 44
    assert turn_on_bed(bar, (80, 80)) is None  # (110 + 4) / sqrt 2 is 80.6


@pytest.mark.parametrize("tilt", [0, 17, 60, 91, 133, 179])
@pytest.mark.parametrize("bed", [(50, 22), (22, 50), (41, 41)])
def test_it_is_the_first_turn_at_which_shapely_finds_it_on_the_bed(
    tilt: float, bed: tuple[float, float]
) -> None:
    wedge = affinity.rotate(shapely.Polygon([(0, 0), (48, 0), (30, 20), (4, 12)]), tilt, origin=(9, -4))
    turns = [0, 90, *range(1, 90), *range(91, 180)]
    assert turn_on_bed(wedge, bed) == next((turn for turn in turns if lies(wedge, bed, turn)), None)


def test_openings_and_loose_parts_count_by_what_lies_round_them_all() -> None:
    frame = shapely.box(0, 0, 30, 30) - shapely.box(1, 1, 29, 29)
    assert turn_on_bed(frame, (29.99, 29.99)) is None
    assert (
        turn_on_bed(shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(39, 0, 40, 1)]), (1, 40)) == 90
    )
