"""The review of a built zip finds what the platform's reviewers would."""

from __future__ import annotations

import importlib.util
import io
import sys
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

ADDON = Path(__file__).parents[2] / "addon"
MANIFEST = """
name = "Reliefsmith"
license = ["SPDX:GPL-3.0-or-later"]
[permissions]
files = "Read pictures"
[build.generated]
platforms = ["linux-x64"]
"""


def tool(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"addon_{name}", ADDON / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def zipped(path: Path, **files: str | bytes) -> Path:
    """Write a zip of an add-on that has nothing to object to, with some files put over it."""
    content = {"blender_manifest.toml": MANIFEST, "LICENSE": "text", "__init__.py": "import bpy\n", **files}
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in content.items():
            archive.writestr(name, text)
    return path


def test_a_clean_zip_has_no_objections(tmp_path: Path) -> None:
    assert tool("review").objections(zipped(tmp_path / "a.zip")) == []


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("import threading", "threads"),
        ("from threading import Thread", "threads"),
        ("import socket", "network"),
        ("from urllib.request import urlopen", "network"),
        ("import http.client", "network"),
        ("eval('1')", "calls eval"),
        ("exec('1')", "calls exec"),
        ("import sys\nsys.path.append('x')", "sys.path"),
        ("import sys\nsys.modules.pop('x')", "sys.modules"),
        ("import os\nos.system('x')", "os.system"),
        ("bl_info = {}", "bl_info"),
        ("import subprocess", "program"),
        ("import multiprocessing", "program"),
        ("from concurrent.futures import ProcessPoolExecutor", "program"),
        ("import os\nos.spawnl(0, 'x')", "program"),
        ("run('x', shell=True)", "shell"),
    ],
)
def test_code_that_reviewers_refuse_is_found_in_the_addon_and_in_our_wheel(
    tmp_path: Path, code: str, said: str
) -> None:
    review = tool("review")
    (found,) = review.objections(zipped(tmp_path / "a.zip", **{"panels.py": code}))
    assert said in found
    wheel = io.BytesIO()
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("reliefsmith/pipeline.py", code)
    name = "wheels/reliefsmith-0.2.0-py3-none-any.whl"
    (found,) = review.objections(zipped(tmp_path / "b.zip", **{name: wheel.getvalue()}))
    assert said in found


def test_only_the_renderer_may_start_its_child(tmp_path: Path) -> None:
    wheel = io.BytesIO()
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("reliefsmith/artwork/renderer.py", "import subprocess")
    name = "wheels/reliefsmith-0.2.0-py3-none-any.whl"
    assert tool("review").objections(zipped(tmp_path / "a.zip", **{name: wheel.getvalue()})) == []
    copied = zipped(tmp_path / "b.zip", **{"reliefsmith/artwork/renderer.py": "import subprocess"})
    assert tool("review").objections(copied) != []


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("wheels/numpy-2.0.0-cp311.whl", "numpy"),
        ("panels.pyc", "compiled"),
        ("lib.so", "compiled"),
    ],
)
def test_files_that_must_not_be_there_are_found(tmp_path: Path, name: str, said: str) -> None:
    (found,) = tool("review").objections(zipped(tmp_path / "a.zip", **{name: b""}))
    assert said in found


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('files = "Read pictures"', 'files = "x"\nnetwork = "y"', "permission"),
        ("GPL-3.0-or-later", "MIT", "license"),
        ('["linux-x64"]', '["linux-x64", "windows-x64"]', "more than one platform"),
        ('"Reliefsmith"', '"Relief for Blender"', "Blender"),
    ],
)
def test_a_manifest_that_reviewers_refuse_is_found(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = zipped(tmp_path / "a.zip", **{"blender_manifest.toml": MANIFEST.replace(old, new)})
    (found,) = tool("review").objections(path)
    assert said in found


def test_numpy_is_never_among_what_is_bundled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ADDON))
    names = [pin.partition("==")[0].lower() for pin in tool("build").bundled("linux-x64")]
    for name in ("inventory", "review"):
        sys.modules.pop(name, None)
    assert "shapely" in names
    assert "numpy" not in names


def test_the_core_as_it_would_be_bundled_has_no_objections(tmp_path: Path) -> None:
    core = ADDON.parent / "core"
    wheel = io.BytesIO()
    with zipfile.ZipFile(wheel, "w") as archive:
        for path in sorted(core.rglob("*.py")):
            archive.write(path, path.relative_to(core))
    data = {"wheels/reliefsmith-0-py3-none-any.whl": wheel.getvalue()}
    assert tool("review").objections(zipped(tmp_path / "a.zip", **data)) == []
