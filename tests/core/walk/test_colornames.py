"""A color that names none: told by the colors of the picture, the largest first; other errors as they are."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reliefsmith.errors import ColorError, RecipeError
from reliefsmith.walk.colornames import colors_told

PICTURE = np.full((40, 60, 3), 255, np.uint8)
PICTURE[5:35, 5:45] = 200, 30, 30
PICTURE[10:20, 48:56] = 30, 30, 200


def _told(picture: object, error: Exception) -> RecipeError:
    with pytest.raises(type(error).__mro__[1] if isinstance(error, ColorError) else type(error)) as caught:  # noqa: SIM117
        with colors_told(picture):  # type: ignore[arg-type]
            raise error
    return caught.value


def test_the_colors_of_the_picture_are_told_the_largest_first() -> None:
    told = _told(PICTURE, ColorError("base must be a color, got 'crimson'"))
    assert not isinstance(told, ColorError)
    words = str(told)
    assert words.startswith("base must be a color, got 'crimson'; the picture has #c81e1e (red), #1e1ec8 (")
    assert words.count("#") == 2  # its ground is none of its colors


def test_colors_of_one_word_are_told_apart() -> None:
    both = PICTURE.copy()
    both[10:20, 48:56] = 230, 60, 60
    words = str(_told(both, ColorError("no color")))
    names = [part.partition(")")[0] for part in words.split("(")[1:]]
    assert len(set(names)) == len(names) == 2


@pytest.mark.parametrize("picture", [b"no picture", "nofile.png", Path("nofile.png")])
def test_without_a_picture_the_error_stays_as_it_is(picture: object) -> None:
    error = ColorError("base must be a color")
    assert _told(picture, error) is error


@pytest.mark.parametrize("error", [RecipeError("no such setting"), KeyError("x")])
def test_other_errors_pass(error: Exception) -> None:
    assert _told(PICTURE, error) is error


def test_nothing_is_said_where_nothing_is_wrong() -> None:
    with colors_told(b"no picture"):
        value = 3
    assert value == 3
