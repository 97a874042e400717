"""Lines under each other: their pitch, their order, and their middle at the anchor."""

from __future__ import annotations

import itertools

import pytest
import shapely

from reliefsmith.errors import RecipeError
from reliefsmith.typeset.along import Line, set_along
from reliefsmith.typeset.fonts import face_of
from reliefsmith.typeset.lines import lines_of, set_lines
from reliefsmith.typeset.standing import Type

from .madefonts import bars

SIZE, GAP = 7.0, 0.3
HOW = Type(face_of(bars()), SIZE, GAP)
PITCH = 1.2 * SIZE / 0.7 + GAP  # 1.2 times the font's size, whose capitals are 0.7 of it, within 1 %


def _lines(text: str, align: str = "center") -> list[shapely.MultiPolygon]:
    """The bars of each line, from the highest down."""
    shape = set_lines(text, HOW, Line(SIZE), align)
    heights = sorted({round(piece.centroid.y, 3) for piece in shape.geoms}, reverse=True)
    return [
        shapely.MultiPolygon([one for one in shape.geoms if round(one.centroid.y, 3) == height])
        for height in heights
    ]


def test_one_line_is_set_as_without_lines() -> None:
    assert lines_of(" Mirabel ") == ["Mirabel"]
    assert set_lines("HH", HOW, Line(SIZE)).equals(set_along("HH", HOW, Line(SIZE)))


@pytest.mark.parametrize("count", [2, 3, 4])
def test_lines_keep_their_pitch_their_order_and_their_middle(count: int) -> None:
    lines = _lines(" | ".join("H" * (number + 1) for number in range(count)))
    assert [len(line.geoms) for line in lines] == list(range(1, count + 1))
    y = [line.centroid.y for line in lines]
    assert [high - low for high, low in itertools.pairwise(y)] == pytest.approx(
        [PITCH] * (count - 1), rel=0.01
    )
    assert sum(y) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("align", "side"), [("left", 0), ("right", 2)])
def test_each_line_is_aligned_by_itself(align: str, side: int) -> None:
    assert [line.bounds[side] for line in _lines("H|HHH", align)] == pytest.approx([0.0, 0.0])
    assert [line.centroid.x for line in _lines("H|HHH")] == pytest.approx([0.0, 0.0])


def test_a_line_without_letters_is_refused() -> None:
    with pytest.raises(RecipeError):
        set_lines("H| |H", HOW, Line(SIZE))
