"""Run the add-on's tests inside every supported Blender: `python addon/check.py`.

Makes an environment with bpy from the package index for each version under `.blender/`, builds the zip for
this machine, and runs `tests/addon/blender` in each; the zip's libraries are the only ones there.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

import build

BLENDERS = ("4.5.15", "5.0.1")
_LIMIT_S = 900  # the bpy module may hang at exit after a failure


def prepared(version: str) -> Path:
    """Return the Python of an environment with this bpy and a test runner; it is made where it is missing."""
    place = build.ROOT / ".blender" / version
    python = place / "bin" / "python"
    if not python.exists():
        subprocess.run([sys.executable, "-m", "venv", place], check=True)
        subprocess.run(
            [python, "-m", "pip", "install", "--quiet", f"bpy=={version}", "pytest>=8"], check=True
        )
    return python


def main() -> None:
    """Prepare, build, test; exit 1 if any version fails."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--prepare", action="store_true", help="only make the environments")
    parser.add_argument("--zip", type=Path, help="test this zip instead of building one for this machine")
    given, rest = parser.parse_known_args()
    pythons = {version: prepared(version) for version in BLENDERS}
    if given.prepare:
        return
    path = given.zip or build.build(build.ROOT / "dist", ["linux-x64"], ["3.11"])[0]
    failed = []
    for version, python in pythons.items():
        print(f"Blender {version}, {path.name}, {path.stat().st_size / 1e6:.1f} MB", flush=True)
        command = [
            python,
            "-I",
            "-m",
            "pytest",
            "-m",
            "blender",
            "-q",
            "-p",
            "no:cacheprovider",
            "tests/addon/blender",
            *rest,
        ]
        environment = {**os.environ, "RELIEFSMITH_ZIP": str(path.resolve())}
        done = subprocess.run(command, cwd=build.ROOT, env=environment, timeout=_LIMIT_S, check=False)
        failed += [version] if done.returncode else []
    raise SystemExit(f"failed in Blender {', '.join(failed)}" if failed else 0)


if __name__ == "__main__":
    main()
