"""What the core imports is what the zip brings: a new import shows up here, not on an artist's machine."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE_OF = {"PIL": "pillow"}  # where the import has another name than the package
OPTIONAL = {
    "pillow_heif",
    "resvg_py",
    "distributed",
    "skimage",
    "scipy",  # which scikit-image brings
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


def test_every_declared_dependency_has_a_version_in_the_lock_file() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    names = {re.split(r"[<>=!~\[; ]", item, maxsplit=1)[0].lower().replace("-", "_") for item in asked}
    lines = (ROOT / ".ci" / "requirements.lock").read_text(encoding="utf-8").splitlines()
    pinned = {line.partition("==")[0].lower().replace("-", "_") for line in lines if "==" in line}
    assert names - pinned == set()
