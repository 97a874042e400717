"""Lines of letters among pieces: chains that go on evenly, of several shapes, by one pen."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate

from reliefsmith.plan.lettering.letterlines import lines_of
from reliefsmith.plan.lettering.letters import letters

HIGH, PEN, PITCH, SIZE = 4.0, 0.8, 3.6, 40.0


def bars(*boxes: tuple[float, float, float, float]) -> shapely.Geometry:
    return shapely.union_all([shapely.box(*box) for box in boxes])


STEM, FOOT, HEAD = (0, 0, PEN, HIGH), (0, 0, 2.4, PEN), (0, HIGH - PEN, 2.4, HIGH)
WAIST, RIGHT, MIDDLE = (0, 1.6, 2.4, 2.4), (1.6, 0, 2.4, HIGH), (0.8, 0, 1.6, HIGH)
SHAPES = {
    "L": bars(STEM, FOOT),
    "E": bars(STEM, FOOT, HEAD, WAIST),
    "T": bars(MIDDLE, HEAD),
    "U": bars(STEM, FOOT, RIGHT),
    "H": bars(STEM, WAIST, RIGHT),
    "O": bars(STEM, FOOT, HEAD, RIGHT),
    "I": bars(STEM),
}


def row(word: str, pitch: float = PITCH) -> list[shapely.Geometry]:
    """Return letters of bars on a line, their middles a pitch apart; a space leaves one out."""
    return [translate(SHAPES[key], pitch * k, 0) for k, key in enumerate(word) if key != " "]


def found(pieces: Sequence[shapely.Geometry]) -> list[list[int]]:
    """Return the lines as indices, from the left end."""
    lines = [line.tolist() for line in lines_of(letters(pieces, SIZE))]
    return [line if line[0] < line[-1] else line[::-1] for line in lines]


@pytest.mark.parametrize(
    ("word", "is_line"),
    [
        ("HOTEL", True),
        ("HOLE", True),
        ("HOE", False),  # four letters at least
        ("LLLLLL", False),  # of three shapes at least
        ("LELELE", False),
        ("LETLET", True),
        ("IHIOIEIIUI", False),  # half of them bent
        ("IHIOIEIHUI", True),
    ],
)
def test_a_line_has_four_letters_three_shapes_and_half_of_them_bent(word: str, is_line: bool) -> None:
    assert found(row(word)) == ([list(range(len(word)))] if is_line else [])


@settings(max_examples=30)
@given(st.floats(0, 360), st.floats(0.5, 2.0), st.permutations(range(5)))
def test_a_line_is_found_however_it_lies_and_whatever_comes_first(
    turn: float, size: float, order: list[int]
) -> None:
    pieces = [scale(rotate(piece, turn, origin=(0, 0)), size, size, origin=(0, 0)) for piece in row("HOTEL")]
    (line,) = lines_of(letters([pieces[k] for k in order], SIZE * size))
    assert [order[k] for k in line] in ([0, 1, 2, 3, 4], [4, 3, 2, 1, 0])


def test_a_line_goes_on_over_the_gap_between_words_and_ends_at_a_wider_one() -> None:
    """From middle to middle a word's gap is two pitches; four are more than eight radii of gyration."""
    assert found(row("HOTEL HOTEL")) == [list(range(10))]
    assert sorted(found(row("HOTEL    HOTEL"))) == [list(range(5)), list(range(5, 10))]


def test_of_two_lines_that_meet_the_shorter_one_ends_before_the_longer() -> None:
    across = row("HOTELHOTEL")
    down = [translate(SHAPES[key], 4 * PITCH, -(k + 1) * 4.6) for k, key in enumerate("HOTEL")]
    assert sorted(map(sorted, found([*across, *down]))) == [list(range(10)), list(range(10, 15))]


def test_letters_on_a_circle_are_a_line() -> None:
    radius = 12.0
    pieces = [
        translate(rotate(SHAPES[key], -math.degrees(turn)), radius * math.sin(turn), radius * math.cos(turn))
        for key, turn in zip("HOTELHOTEL", np.arange(10) * PITCH / radius, strict=True)
    ]
    (line,) = found(pieces)
    assert sorted(line) == list(range(10))


def test_steps_up_and_down_are_no_line() -> None:
    """Letters of 3 mm, every other one higher: off the best line by .33 or .59 of .41 that are allowed."""
    small = [scale(piece, 0.75, 0.75) for piece in row("HOTELHOTEL")]
    for up, is_line in ((0.5, True), (1.1, False)):
        pieces = [translate(piece, 0, up * (k % 2)) for k, piece in enumerate(small)]
        assert bool(found(pieces)) is is_line


@pytest.mark.parametrize(("pen", "is_line"), [(1.1, True), (1.8, False)])
def test_one_pen_writes_a_line(pen: float, is_line: bool) -> None:
    """Every other letter by a wider pen: 1.1 times, or 1.8."""
    wider = PEN * (pen - 1) / 2
    pieces = [piece.buffer(wider * (k % 2), join_style="mitre") for k, piece in enumerate(row("HOLEHOLE"))]
    assert bool(found(pieces)) is is_line


def test_a_piece_twice_as_large_is_of_no_line() -> None:
    pieces = row("HOTELHOTEL")
    pieces[5:] = [scale(piece, 2.5, 2.5, origin=(16, 0)) for piece in pieces[5:]]
    assert all(max(line) < 5 or min(line) >= 5 for line in found(pieces))


def test_a_field_of_hooks_is_no_page_of_lettering() -> None:
    """Among many pieces a few lie in a row by chance; letters keep to themselves."""
    lot, side = np.random.default_rng(0), 20
    hook = shapely.union(shapely.box(0, 0, 0.2, 1), shapely.box(0, 0, 0.7, 0.2))
    field = []
    for place in range(side * side):
        shape = rotate(scale(hook, *lot.uniform(0.7, 1.2, 2)), lot.uniform(0, 360))
        row, column = divmod(place, side)
        field.append(translate(shape, *(np.array((column, row)) * 1.5 + lot.uniform(-0.2, 0.2, 2))))
    found = lines_of(letters(field, side * 1.5))
    assert sum(len(line) for line in found) <= 0.1 * len(field)


def test_of_no_pieces_there_are_no_lines() -> None:
    assert lines_of(letters([], SIZE)) == []
