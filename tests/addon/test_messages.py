"""What an artist reads where a command is refused: the core's line, with a way out that Blender has."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from reliefsmith.errors import ArtworkError, InputTakenError, TakenError

SAYING = Path(__file__).parents[2] / "addon" / "reliefsmith_addon" / "saying.py"


@pytest.fixture(scope="module")
def saying() -> ModuleType:
    """The module that words errors; it needs no Blender."""
    spec = importlib.util.spec_from_file_location("addon_saying", SAYING)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("kind", [TakenError, InputTakenError])
def test_a_file_in_the_way_is_told_without_words_of_other_faces(
    saying: ModuleType, kind: type[TakenError]
) -> None:
    told = saying.words(kind("kite.svg is there already"))
    assert told == "kite.svg is there already; choose another folder, or move that file away first"


def test_other_lines_of_the_core_stay_as_they_are(saying: ModuleType) -> None:
    assert saying.words(ArtworkError("no picture; give one")) == "no picture; give one"
    assert "please report it" in saying.words(KeyError("x"))
