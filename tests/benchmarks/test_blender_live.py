"""What the artist waits for holds in every prepared Blender: `pytest -m bench -s tests/benchmarks`.

The limits are absolute times: they mean something on an idle machine.
"""

from __future__ import annotations

from pathlib import Path

import blender_live
import pytest

pytestmark = pytest.mark.bench

READY = [version for version in blender_live.check.BLENDERS if blender_live.check.is_ready(version)]
EDITS = 50


@pytest.mark.skipif(not READY, reason="no Blender is prepared; `python addon/check.py --prepare` makes them")
@pytest.mark.parametrize("version", READY or ["none"])
def test_the_artist_does_not_wait(version: str, tmp_path: Path) -> None:
    zip_path = blender_live.check.built(tmp_path / "zip", [version])
    picture = blender_live.sample("kite.png", tmp_path)
    rows = blender_live.rows(blender_live.measured(version, zip_path, picture, EDITS))
    for row in rows:
        print(f"{row.what:30} {row.value:8.1f} <= {row.limit:6.1f} {row.words}")
    assert [row.what for row in rows if not row.holds] == []
