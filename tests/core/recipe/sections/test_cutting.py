"""Where a piece is cut: lines of two points, forty at most, keys whose sockets a printer can roof."""

from __future__ import annotations

import pytest

from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import CutLine, SeamSettings

LINE = {"from_mm": [0, -90], "to_mm": [0, 90]}


def test_a_line_has_two_ends() -> None:
    assert CutLine(**LINE) == CutLine(from_mm=(0.0, -90.0), to_mm=(0.0, 90.0))
    assert CutLine((0, 0), (0, 1e-6)).to_mm == (0.0, 1e-6)
    with pytest.raises(RecipeError, match="are one point; a line needs two"):
        CutLine((1, 2), (1, 2))


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (
            [LINE, {"from_mm": [0, 0], "to_mm": [0, 0]}],
            "seams.lines entry 2: from_mm and to_mm are",
        ),
        ([{"from_mm": [0, 0]}], "seams.lines entry 1 needs to_mm"),
        ([{**LINE, "to_mm": [0, 2001]}], "seams.lines entry 1: to_mm must be between -2000 and 2000 mm"),
        ([LINE] * 41, "seams.lines may list 40 tables at most"),
    ],
)
def test_a_line_that_is_none_is_told_by_its_number(lines: list, words: str) -> None:
    with pytest.raises(RecipeError) as caught:
        Recipe().with_values({"seams.lines": lines})
    assert str(caught.value).startswith(words)
    assert len(Recipe().with_values({"seams.lines": [LINE] * 40}).seams.lines) == 40


def test_nothing_is_cut_unless_it_is_asked_for() -> None:
    seams = SeamSettings()
    assert (seams.mode, seams.lines, seams.reach_mm) == ("off", (), None)
    assert seams.numbers is True


def test_the_roof_over_a_socket_stays_a_bridge_that_holds() -> None:
    """A key of the longest reach, its gaps and two walls stay under the 10 mm of a bridge."""
    assert SeamSettings(reach_mm=8).reach_mm + 2 * SeamSettings().clearance_mm + 0.8 < 10
    with pytest.raises(RecipeError):
        SeamSettings(reach_mm=9.2)
    with pytest.raises(RecipeError):
        SeamSettings(reach_mm=1.9)
