"""The first layer is drawn in against its spread on the bed, and nothing small is lost by that."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.model import Slab
from reliefsmith.polygons import as_multi
from reliefsmith.solid.foot import KEPT_SHARE, footed

GREY, RED = (90, 90, 90), (200, 30, 40)
PLATE = shapely.box(-20, -10, 20, 10)


def slab(shape: shapely.Geometry, bottom: float = 0.0, top: float = 2.0, part: str = "base") -> Slab:
    return Slab(
        part, "base" if part == "base" else "motif", GREY if part == "base" else RED, shape, bottom, top
    )


def rows(slabs: tuple[Slab, ...]) -> list[tuple[str, float, float, float]]:
    return [(item.part, item.bottom_mm, item.top, round(item.polygon.area, 4)) for item in slabs]


def test_the_first_layer_alone_is_drawn_in_and_holes_grow() -> None:
    plate = PLATE.difference(shapely.box(-2, -2, 2, 2))
    first = 39.6 * 19.6 - 4.4 * 4.4
    made = rows(footed([slab(plate)], 0.2, 0.2))
    assert made == [
        ("base", 0.0, 0.2, pytest.approx(first, abs=0.05)),
        ("base", 0.2, 2.0, plate.area),
    ]


def test_a_part_that_ends_with_the_first_layer_is_no_second_slab() -> None:
    made = rows(footed([slab(PLATE, top=0.2), slab(PLATE, 0.2, 2.0)], 0.2, 0.2))
    assert [row[:3] for row in made] == [("base", 0.0, 0.2), ("base", 0.2, 2.0)]
    assert made[0][3] < made[1][3] == PLATE.area


def test_what_begins_above_keeps_its_outline() -> None:
    made = rows(footed([slab(PLATE), slab(shapely.box(-20, -10, 0, 10), 2.0, 2.6, "red")], 0.2, 0.2))
    assert made[-1] == ("red", 2.0, 2.6, 400.0)


def test_colors_that_meet_on_the_bed_keep_their_boundary() -> None:
    left, right = shapely.box(-20, -10, 0, 10), shapely.box(0, -10, 20, 10)
    made = footed([slab(left), slab(right, part="red")], 0.2, 0.2)
    first = [item.polygon for item in made if item.top == 0.2]
    assert shapely.intersection(*map(shapely.boundary, first)).length == pytest.approx(19.6)
    assert first[0].bounds == pytest.approx((-19.8, -9.8, 0.0, 9.8))


@pytest.mark.parametrize(
    ("piece", "kept"),
    [
        (shapely.box(30, 0, 30.3, 8), True),  # would vanish
        (
            shapely.union_all(
                [shapely.box(30, 0, 34, 4), shapely.box(34, 1.9, 38, 2.1), shapely.box(38, 0, 42, 4)]
            ),
            True,
        ),
        (shapely.box(30, 0, 30.7, 8), True),  # .3 of .7 mm, less than half
        (shapely.box(30, 0, 30.9, 8), False),  # .5 of .9 mm
    ],
)
def test_a_piece_that_would_vanish_break_or_lose_half_keeps_its_outline(
    piece: shapely.Polygon, kept: bool
) -> None:
    assert KEPT_SHARE == 0.5
    made = footed([slab(as_multi([PLATE, piece]))], 0.2, 0.2)
    window = shapely.box(25, -5, 50, 15)
    first = shapely.intersection(made[0].polygon, window).area
    assert (first == pytest.approx(piece.area, abs=1e-3)) is kept


def test_a_small_piece_of_one_color_at_the_rim_keeps_its_outline() -> None:
    """A strip of .3 mm along the side of a plate: of its color less than half would be left."""
    strip, rest = shapely.box(19.7, -10, 20, 10), shapely.box(-20, -10, 19.7, 10)
    made = footed([slab(rest), slab(strip, part="red")], 0.2, 0.2)
    (red,) = [item for item in made if item.part == "red" and item.top == 0.2]
    assert red.polygon.area == pytest.approx(strip.area)
