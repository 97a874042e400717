"""What is said of repaired strokes, gaps, and pieces that were left out."""

from __future__ import annotations

import numpy as np
import shapely

from reliefsmith.plan.strokes.centerlines import Strokes
from reliefsmith.plan.strokes.giveaway import Given
from reliefsmith.plan.strokes.partition import GROUND
from reliefsmith.plan.strokes.repairnotes import Gain, dot_notes, given_notes, stroke_notes
from reliefsmith.polygons import as_multi

NOTHING = shapely.MultiPolygon()
DISCS = as_multi(shapely.box(0, 0, 10, 0.8))


def gain(
    number: int = 0,
    *,
    added: float = 0.2,
    refused: float = 0.0,
    widths: tuple[float, ...] = (0.3, 0.4, 0.5),
) -> Gain:
    """A stroke along x, 10 mm long, which got a strip of some mm2 and was refused one."""
    places = np.array([(2.0 + k, 0.4) for k in range(len(widths))]).reshape(-1, 2)
    strips = (shapely.box(0, 0.8 - area / 10, 10, 0.8) if area else NOTHING for area in (added, refused))
    got, left = (as_multi(shape) for shape in strips)
    return Gain(number, 0, DISCS, got, left, Strokes(DISCS, places, np.array(widths)))


def told(*gains: Gain) -> list[str]:
    return [item.message for item in stroke_notes(gains, 0.8, 0.5, 0.4)]


def test_a_stroke_is_told_by_the_width_that_it_had_in_the_middle() -> None:
    assert told(gain()) == ["A stroke of 0.40 mm was thickened to 0.80 mm over 10.03 mm."]
    assert told(gain(widths=(0.797,))) == ["A stroke under 0.80 mm was thickened to 0.80 mm over 10.03 mm."]
    assert told(gain(GROUND, widths=(0.3,))) == ["A gap of 0.30 mm was opened to 0.50 mm over 10.03 mm."]


def test_a_place_without_a_center_line_is_a_pointed_end() -> None:
    assert told(gain(widths=())) == ["A pointed end was made 0.40 mm wide over 10.03 mm."]


def test_what_gained_too_little_to_be_seen_is_not_told() -> None:
    assert told(gain(added=0.019)) == []
    assert len(told(gain(added=0.021))) == 1
    assert told(gain(added=0.0)) == []


def test_it_is_said_where_neighbors_left_too_little_room() -> None:
    for refused, said in ((0.015, False), (0.021, True)):
        assert ("as far as its neighbors leave room" in told(gain(refused=refused))[0]) is said


def test_colors_are_told_one_after_the_other_and_the_ground_last() -> None:
    words = told(gain(GROUND), gain(2), gain(1, widths=(0.2,)))
    assert [word.split(" was")[0] for word in words] == [
        "A stroke of 0.20 mm",
        "A stroke of 0.40 mm",
        "A gap of 0.40 mm",
    ]


def square(side: float) -> shapely.Polygon:
    return shapely.box(0, 0, side, side)


def test_pieces_left_out_are_told_by_what_shows_in_their_place() -> None:
    piece = square(0.3)  # of .09 mm2; a quarter of a nozzle's square is .04
    said = given_notes(
        [
            Given(piece, 0, 1),
            Given(piece, 0, GROUND),
            Given(piece, GROUND, 0),
            Given(square(0.5), 0, 1, is_tail=True),
        ],
        0.4,
    )
    assert [item.message for item in said] == [
        "A piece of 0.42 mm is too small to print and was left out; its area went to the color beside it.",
        "A piece of 0.42 mm is too small to print and was left out; the ground shows in its place.",
        "An end narrower than the nozzle was shortened by 0.71 mm.",
        "A gap of 0.42 mm too narrow to print was closed.",
    ]
    assert [item.code for item in said] == ["area-removed"] * 3 + ["gap-closed"]


def test_tips_and_chips_are_counted() -> None:
    said = given_notes([Given(square(0.19), 0, 1), Given(square(0.39), 0, 1, is_tail=True)], 0.4)
    assert [item.message for item in said] == ["2 tips and chips narrower than the nozzle were rounded."]
    assert given_notes([], 0.4) == ()


def test_enlarged_dots_are_told() -> None:
    assert [item.message for item in dot_notes([square(0.8)])] == ["A dot was enlarged to 1.13 mm."]
