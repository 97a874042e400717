"""The snippets of the add-on's README run as they stand."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import bpy
import pytest

pytestmark = pytest.mark.blender

ROOT = Path(__file__).parents[3]
SNIPPETS = re.findall(r"```python\n(.*?)```", (ROOT / "addon" / "README.md").read_text(), re.DOTALL)


@pytest.mark.parametrize("number", range(4))
def test_a_snippet_runs(scene: Any, monkeypatch: pytest.MonkeyPatch, capsys: Any, number: int) -> None:
    assert len(SNIPPETS) == 4
    monkeypatch.chdir(ROOT)
    exec(compile(SNIPPETS[number], f"snippet {number + 1}", "exec"), {})
    if "print" in SNIPPETS[number]:
        assert "base" in capsys.readouterr().out
    else:
        assert any("reliefsmith_part" in item for item in bpy.context.scene.objects)
