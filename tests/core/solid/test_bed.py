"""How a piece lies on the bed: as it is, turned over, or as two plates side by side."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.model import Slab
from reliefsmith.solid.bed import APART_MM, on_bed, piece_of
from reliefsmith.solid.levels import Levels

GREY, RED = (90, 90, 90), (200, 30, 40)
PLATE = Slab("base", "base", GREY, shapely.box(-20, -10, 20, 10), 0.0, 2.0)
MOTIF = Slab("red", "motif", RED, shapely.box(5, 0, 15, 5), 2.0, 2.6)


def spans(slabs: tuple[Slab, ...]) -> list[tuple[str, float, float]]:
    return [(item.part, item.bottom_mm, item.top) for item in slabs]


def test_a_piece_that_is_printed_face_up_is_as_it_lies() -> None:
    levels = Levels((PLATE, MOTIF), 13, (), True)
    assert piece_of(levels, "up") == ()
    assert on_bed(levels, "up") == ((PLATE, MOTIF), None)


def test_face_down_it_is_mirrored_on_the_bed_and_turned_over_when_done() -> None:
    face = Slab("red", "motif", RED, MOTIF.polygon, 0.0, 0.6)
    back = Slab("base", "base", GREY, PLATE.polygon, 0.6, 2.6)
    levels = Levels((face, back), 13, (), True)
    assert spans(piece_of(levels, "down")) == [("red", 2.0, 2.6), ("base", 0.0, 2.0)]
    (first, _), offset = on_bed(levels, "down")
    assert offset is None
    assert first.polygon.bounds == (-15.0, 0.0, -5.0, 5.0)


def plates(wide: float, high: float) -> Levels:
    outline = shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)
    front = Slab("red", "motif", RED, outline, 0.0, 1.0)
    back = Slab("base", "base", GREY, outline, 0.0, 2.0)
    return Levels((front,), 10, (), True, back=(back,), front_mm=1.0, joint_mm=2.0)


def test_a_front_plate_lies_on_its_back_plate_with_the_face_outward() -> None:
    made = piece_of(plates(40, 20), "down")
    assert spans(made) == [("red", 2.0, 3.0), ("base", 0.0, 2.0)]


@pytest.mark.parametrize(
    ("wide", "high", "moved"),
    [(40.0, 20.0, (0.0, 25.0)), (20.0, 40.0, (25.0, 0.0)), (20.0, 20.0, (25.0, 0.0))],
)
def test_two_plates_lie_side_by_side_where_the_bed_is_better_used(
    wide: float, high: float, moved: tuple[float, float]
) -> None:
    (front, back), offset = on_bed(plates(wide, high), "down")
    assert offset == moved
    assert shapely.distance(front.polygon, back.polygon) == APART_MM
