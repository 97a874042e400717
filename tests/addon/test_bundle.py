"""What the core imports is what the zip brings: a new import shows up here, not on an artist's machine."""

from __future__ import annotations

import ast
import importlib
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
PACKAGE_OF = {"PIL": "pillow"}  # where the import has another name than the package
OPTIONAL = {
    "pillow_heif",
    "resvg_py",
    "distributed",
    "skimage",
    "scipy",  # which scikit-image brings
    "trimesh",
}  # asked for by name, with a sentence where it is missing


def imported() -> dict[str, str]:
    """Return every package from outside that the core imports, with one module that does."""
    found: dict[str, str] = {}
    for path in sorted((ROOT / "core").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [item.name for item in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module or ""]
            for name in names:
                found.setdefault(name.split(".")[0], str(path.relative_to(ROOT)))
    ours = {*sys.stdlib_module_names, "reliefsmith", "reliefsmith_data"}
    return {PACKAGE_OF.get(name, name): where for name, where in found.items() if name not in ours}


def test_every_library_that_the_core_imports_is_a_declared_dependency() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=!~\[; ]", item, maxsplit=1)[0] for item in project["dependencies"]}
    missing = {name: where for name, where in imported().items() if name not in declared | OPTIONAL}
    assert missing == {}


def test_a_zip_carries_just_what_the_markers_of_the_project_ask_for_its_platform() -> None:
    """Nobody has built the shaping library for Windows on ARM: a zip that asked for it could not be built."""
    build = _build_tool()
    names = {name: {line.partition("==")[0] for line in build.bundled(name)} for name in build.PLATFORMS}
    with_letters = {name for name, own in names.items() if "uharfbuzz" in own}
    assert with_letters == set(build.PLATFORMS) - {"windows-arm64"}
    assert all(own - {"uharfbuzz"} == names["windows-arm64"] for own in names.values())


def _build_tool() -> Any:
    sys.path.insert(0, str(ROOT / "addon"))
    try:
        return importlib.import_module("build")
    finally:
        sys.path.remove(str(ROOT / "addon"))


def test_every_declared_dependency_has_a_version_in_the_lock_file() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    names = {re.split(r"[<>=!~\[; ]", item, maxsplit=1)[0].lower().replace("-", "_") for item in asked}
    lines = (ROOT / ".ci" / "requirements.lock").read_text(encoding="utf-8").splitlines()
    pinned = {line.partition("==")[0].lower().replace("-", "_") for line in lines if "==" in line}
    assert names - pinned == set()
