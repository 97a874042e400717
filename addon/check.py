"""Run the add-on's tests inside every supported Blender: `python addon/check.py`.

Makes an environment with bpy from the package index for each version under `.blender/`, builds the zip for
this machine, and runs `tests/addon/blender` in each; the zip's libraries are the only ones there.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import build

BLENDERS = ("4.5.15", "5.0.1")
_OUTCOMES = ("failed", "passed", "skipped", "error", "errors")
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


def prepare_window() -> None:
    """Put the libraries for the windowed Blender of the distribution beside the environments."""
    place = build.ROOT / ".blender" / "window-libraries"
    if not place.exists():
        libraries = ["numpy<2", *build.bundled()]
        command = [sys.executable, "-m", "pip", "install", "--quiet", "--python-version", "3.11"]
        command += ["--only-binary=:all:", "--target", str(place), *libraries]
        subprocess.run(command, check=True)


def run(command: list, environment: dict[str, str]) -> tuple[int, dict[str, int]]:
    """Run pytest and pass its lines on; returns its code and the counts of its closing line."""
    with subprocess.Popen(
        command, cwd=build.ROOT, env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        closing = ""
        for line in process.stdout:
            print(line, end="", flush=True)
            closing = line if re.search(r" in [0-9.]+s", line) else closing
        code = process.wait(timeout=_LIMIT_S)
    return code, {word: int(number) for number, word in re.findall(r"(\d+) ([a-z]+)", closing)}


def main() -> None:
    """Prepare, build, test; exit 1 if any version fails."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--prepare", action="store_true", help="only make the environments")
    parser.add_argument("--zip", type=Path, help="test this zip instead of building one for this machine")
    parser.add_argument("--window", action="store_true", help="also click through a real window")
    given, rest = parser.parse_known_args()
    pythons = {version: prepared(version) for version in BLENDERS}
    if given.prepare:
        return
    path = given.zip or build.build(build.ROOT / "dist", ["linux-x64"], ["3.11"])[0]
    failed, counts, begin = [], Counter(), time.monotonic()
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
        code, said = run(command, environment)
        counts.update(said)
        failed += [version] if code else []
    if given.window:
        prepare_window()
        command = [sys.executable, "-m", "pytest", "-m", "blender", "-q", "tests/addon/window"]
        code, said = run(command, dict(os.environ))
        counts.update(said)
        failed += ["window"] if code else []
    words = ", ".join(f"{counts[word]} {word}" for word in _OUTCOMES if counts[word]) or "no tests ran"
    where = f" (failed in {', '.join(failed)})" if failed else ""
    print(f"{words} in {time.monotonic() - begin:.2f}s{where}")
    raise SystemExit(1 if failed else 0)


if __name__ == "__main__":
    main()
