"""Values by their kind: what is kept of good ones, what is refused, and how the message begins."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.errors import ColorError, RecipeError
from reliefsmith.recipe.tables import PartColor
from reliefsmith.recipe.values import Spec, checked

WIDE = Spec("number", "", "mm", -2, 9)


def kept(value: Any, kind: str, **more: Any) -> Any:
    return checked("kite.size", value, Spec(kind, "", **more))


@pytest.mark.parametrize(
    ("kind", "more", "value", "as_kept"),
    [
        ("number", {}, 3, 3.0),
        ("number", {"low": 1, "high": 2}, 1, 1.0),
        ("number", {"low": 1, "high": 2}, 2, 2.0),
        ("number", {}, 2**53, float(2**53)),
        ("integer", {"low": 1, "high": 2}, 2, 2),
        ("flag", {}, False, False),
        ("text", {"high": 3}, "äöü", "äöü"),
        ("choice", {"choices": ("a", "b")}, "b", "b"),
        ("color", {}, "#AbCdEf", "#abcdef"),
        ("color", {"choices": ("auto",)}, "auto", "auto"),
        ("color-or-number", {}, "#ABCDEF", "#abcdef"),
        ("color-or-number", {"low": 0, "high": 2}, 2, 2.0),
        ("colors", {"high": 2}, ["#ABCDEF", "#000000"], ("#abcdef", "#000000")),
        ("color-pairs", {}, [["#ABCDEF", "#000000"]], (("#abcdef", "#000000"),)),
        ("point", {}, [1, -2], (1.0, -2.0)),
        ("size", {}, (1, 2), (1.0, 2.0)),
        ("box", {}, [1, 2, 3, 4], (1.0, 2.0, 3.0, 4.0)),
        ("polygon", {"most": 3}, [[0, 0], [1, 0], [0, 1]], ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))),
        ("tables", {"row": PartColor, "most": 1}, [PartColor("a", "#AA0000")], (PartColor("a", "#aa0000"),)),
        ("number", {"optional": True}, None, None),
    ],
)  # fmt: skip
def test_a_good_value_is_kept_in_one_form(kind: str, more: dict[str, Any], value: Any, as_kept: Any) -> None:
    found = kept(value, kind, **more)
    assert found == as_kept
    assert type(found) is type(as_kept)
    assert kept(found, kind, **more) == found


@pytest.mark.parametrize(
    ("kind", "more", "value", "words"),
    [
        ("number", {}, True, " must be a number, got True"),
        ("number", {}, None, " must be a number, got None"),
        ("number", {}, "1,5", " must be a number, got '1,5'; write 1.5"),
        ("number", {}, 2**53 + 1, " must be a finite number"),
        ("number", {}, math.nan, " must be a finite number, got nan"),
        ("number", {"low": 1, "high": 2, "unit": "g"}, 2.1, " must be between 1 and 2 g, got 2.1"),
        ("number", {"low": 1, "high": 2}, 0.9, " must be between 1 and 2, got 0.9"),
        ("integer", {}, 1.0, " must be a whole number, got 1.0"),
        ("integer", {}, False, " must be a whole number"),
        ("integer", {"low": 1, "high": 2}, 3, " must be between 1 and 2, got 3"),
        ("flag", {}, 1, " must be true or false, got 1; write true"),
        ("text", {}, 3, " must be text, got 3"),
        ("text", {"high": 3}, "kite", " may have 3 characters at most, got 4"),
        ("text", {}, "a\x1f", " must be one line of plain text"),
        ("text", {}, "a\x7f", " must be one line of plain text"),
        ("text", {}, "\ud800", " must be one line of plain text"),
        ("choice", {"choices": ("round", "long")}, "Round", " must be one of round, long, got 'Round', did"),
        ("choice", {"choices": ("round",)}, 3, " must be one of round, got 3"),
        ("color", {}, "abcdef", ' must be a color such as "#1b2a49", got \'abcdef\'; write "#abcdef"'),
        ("color", {"choices": ("auto",)}, 3, ' must be auto or a color such as "#1b2a49", got 3'),
        ("color-or-number", {}, True, ' must be a color such as "#1b2a49", or a number, got True'),
        ("colors", {}, "#abcdef", " must be a list of colors"),
        ("colors", {"high": 1}, ["#abcdef"] * 2, " may list 1 colors at most, got 2"),
        ("color-pairs", {}, [["#abcdef"] * 3], " must be a list of pairs"),
        ("point", {}, [1], " must be two numbers such as [1.5, -2], got [1]"),
        ("box", {}, [1, 2], " must be four numbers such as"),
        ("polygon", {}, [[0, 0], [1, 1]], " must have 3 to 2 points, got 2"),
        ("polygon", {"most": 4}, [[0, 0]] * 5, " must have 3 to 4 points, got 5"),
        ("polygon", {}, [[0, 0], [1, 1], [2]], " point 3 must be two numbers"),
        ("tables", {"row": PartColor}, "red", " must be a list of tables, got 'red'"),
        ("tables", {"row": PartColor, "most": 1}, [{}, {}], " may list 1 tables at most, got 2"),
        ("tables", {"row": PartColor}, [{"part": "a", "color": "#000000"}, {}], " entry 2 needs part"),
    ],
    ids=range(32),
)  # fmt: skip
def test_a_bad_value_is_told_in_one_line(kind: str, more: dict[str, Any], value: Any, words: str) -> None:
    with pytest.raises(RecipeError) as caught:
        kept(value, kind, **more)
    assert str(caught.value).startswith(f"kite.size{words}")
    assert "\n" not in str(caught.value)


def test_a_word_for_a_color_is_its_own_kind_of_error() -> None:
    """So that the command can name the picture's colors; what is a color in another writing is not that."""
    with pytest.raises(ColorError):
        kept("red", "color")
    with pytest.raises(RecipeError) as caught:
        kept("f80", "color")
    assert not isinstance(caught.value, ColorError)


@given(st.floats(-2, 9, width=32))
def test_a_number_of_numpy_is_the_one_that_it_prints(value: float) -> None:
    assert checked("kite.size", np.float32(value), WIDE) == float(str(np.float32(value)))
    assert checked("kite.size", np.float64(value), WIDE) == value


def test_arrays_of_numpy_are_lists() -> None:
    corners = np.array([[0, 0], [1, 0], [0, 1]], dtype=np.int16)
    assert kept(corners, "polygon") == ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    assert kept((np.float32(0.1), np.int8(-3)), "point") == (0.1, -3.0)
    assert kept(np.bool_(True), "flag") is True
    with pytest.raises(RecipeError, match="finite"):
        kept(np.float32("nan"), "number")
