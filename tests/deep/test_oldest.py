"""The oldest supported versions give the same counts, areas and colors as the kept ones."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

from deep import golden

pytestmark = pytest.mark.deep

ROOT = Path(__file__).parents[2]
VERSIONS = Path(__file__).parent / "data" / "oldest.txt"


@pytest.mark.skipif(sys.version_info[:2] != (3, 11), reason="the oldest versions have wheels for Python 3.11")
def test_the_oldest_versions_give_the_same_pieces(tmp_path: Path) -> None:
    venv.create(tmp_path / "old", with_pip=True)
    python = tmp_path / "old" / "bin" / "python"
    words = ["-m", "pip", "install", "-q", "--only-binary=:all:", "-r", str(VERSIONS)]
    subprocess.run([python, *words], check=True)
    places = os.pathsep.join(str(ROOT / name) for name in ("core", "shared", "tests"))
    out = tmp_path / "oldest.json"
    subprocess.run(
        [python, "-m", "deep.golden", str(out)], check=True, env={**os.environ, "PYTHONPATH": places}
    )
    found = json.loads(out.read_text(encoding="utf-8"))["jobs"]
    kept = json.loads(golden.LIST.read_text(encoding="utf-8"))["jobs"]
    assert found.keys() == kept.keys()
    for name, one in kept.items():
        assert found[name].get("error") == one.get("error"), name
        assert found[name].get("colors") == one.get("colors"), name
        assert found[name].get("areas_mm2", []) == pytest.approx(one.get("areas_mm2", []), rel=1e-6), name
