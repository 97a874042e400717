"""The child that draws is a Python, also where the core runs inside another program."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from reliefsmith.artwork import renderer
from reliefsmith.errors import ArtworkError

SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 4"><rect width="4" height="4"/></svg>'


def test_the_running_python_draws() -> None:
    assert renderer.python_here() == sys.executable


def test_inside_another_program_the_python_of_its_prefix_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/usr/bin/modeler")
    found = renderer.python_here()
    assert found is not None
    assert Path(found).name.startswith("python")
    assert Path(found).is_relative_to(sys.prefix)
    assert renderer.drawn_png(SQUARE, "square.svg").startswith(b"\x89PNG")


@pytest.mark.parametrize("program", ["/usr/bin/modeler", "", None])
def test_without_a_python_nothing_is_started_and_the_sentence_is_plain(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, program: str | None
) -> None:
    monkeypatch.setattr(sys, "executable", program)
    monkeypatch.setattr(sys, "prefix", str(tmp_path))
    monkeypatch.setattr(renderer.subprocess, "run", lambda *_, **__: pytest.fail("something was started"))
    with pytest.raises(ArtworkError, match=r"drawing square\.svg cannot be drawn here: .*save it as PNG"):
        renderer.drawn_png(SQUARE, "square.svg")
