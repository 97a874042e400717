"""Notes of changes: the largest first, a few dozen at most, each with a place inside it and its length."""

from __future__ import annotations

import shapely

from reliefsmith.plan.remarks import LEAST_NOTED_MM2, place_of, remarks


def boxes(*sides: float) -> list[shapely.Polygon]:
    return [shapely.box(10 * k, 0, 10 * k + side, side) for k, side in enumerate(sides)]


def told(changed: list[shapely.Polygon]) -> list[str]:
    return [item.message for item in remarks("gap-closed", changed, "Closed over {size} mm.")]


def test_the_largest_comes_first_with_its_longest_extent() -> None:
    notes = remarks("gap-closed", boxes(1.0, 3.0, 2.0), "Closed over {size} mm.")
    assert [item.message for item in notes] == [
        f"Closed over {size} mm." for size in ("4.24", "2.83", "1.41")
    ]
    assert [item.at_mm for item in notes] == [(11.5, 1.5), (21.0, 1.0), (0.5, 0.5)]
    assert [item.size_mm for item in notes] == [4.24, 2.83, 1.41]


def test_what_no_nozzle_shows_is_not_told() -> None:
    side = LEAST_NOTED_MM2**0.5
    assert len(told(boxes(side * 1.01, side * 0.99))) == 1


def test_after_two_dozen_places_the_rest_is_summed_up() -> None:
    assert len(told(boxes(*[1.0] * 24))) == 24
    assert told(boxes(*[1.0] * 27))[24:] == ["3 more such places, all smaller."]


def test_words_may_depend_on_the_piece() -> None:
    notes = remarks("gap-closed", boxes(1.0, 2.0), lambda piece: f"{piece.area:g} mm2 over {{size}} mm")
    assert [item.message for item in notes] == ["4 mm2 over 2.83 mm", "1 mm2 over 1.41 mm"]


def test_the_place_of_a_bent_piece_lies_in_it() -> None:
    bent = shapely.union(shapely.box(0, 0, 10, 1), shapely.box(0, 0, 1, 10))
    assert bent.buffer(0.01).contains(shapely.Point(place_of(bent)))
    assert not bent.contains(bent.centroid)
    assert place_of(shapely.box(0, 0, 3, 1)) == (1.5, 0.5)
