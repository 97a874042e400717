"""Run the add-on's tests inside every supported Blender: `python addon/check.py`.

Makes an environment with bpy from the package index for each version under `.blender/`, builds the zip for
this machine, and runs `tests/addon/blender` in each; the zip's libraries are the only ones there. A version
whose Python is not on this machine is left out, and the closing line says so.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import build

# The oldest and newest long-term release, and what lies between; each runs one Python.
BLENDERS = {"4.5.15": "3.11", "5.0.1": "3.11", "5.1.2": "3.13", "5.2.3": "3.13"}
PLACE = build.ROOT / ".blender"
_OUTCOMES = ("failed", "passed", "skipped", "error", "errors")
_LIMIT_S = 900
_RUN = """
import os, sys, pytest
status = int(pytest.main(sys.argv[1:]))
sys.stdout.flush()
sys.stderr.flush()
os._exit(status)
"""
"""Run pytest and end at once: at exit the bpy module may wait for ever for threads of its own."""
_COUNTS = re.compile(r" in [0-9.]+s")


def python_of(version: str) -> str | None:
    """Return a Python of this version, such as "3.13", or None; a name that does not answer is no Python."""
    if version == f"{sys.version_info.major}.{sys.version_info.minor}":
        return sys.executable
    known = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    named = [shutil.which(f"python{version}"), *sorted(known.glob(f"{version}.*/bin/python"), reverse=True)]
    for name in (item for item in named if item):
        if subprocess.run([name, "-c", ""], capture_output=True, check=False).returncode == 0:
            return str(name)
    return None


def python_in(version: str) -> Path:
    """Return where the Python of the environment of this Blender is, or will be."""
    return PLACE / version / "bin" / "python"


def is_ready(version: str) -> bool:
    """Return whether the environment of this Blender was made to its end."""
    return any((PLACE / version).glob("lib/python*/site-packages/pytest/__init__.py"))


def prepare(version: str) -> bool:
    """Make the environment with this bpy and a test runner; returns False where its Python is missing."""
    if is_ready(version):
        return True
    python = python_of(BLENDERS[version])
    if python is None:
        print(f"Blender {version} is left out: there is no Python {BLENDERS[version]} here", flush=True)
        return False
    subprocess.run([python, "-m", "venv", PLACE / version], check=True)
    # bpy brings the numpy of its Blender: versions that hold for the core's own tests do not hold here.
    environment = {key: value for key, value in os.environ.items() if key != "PIP_CONSTRAINT"}
    install = [python_in(version), "-m", "pip", "install", "--quiet"]
    subprocess.run([*install, f"bpy=={version}"], check=True, env=environment)
    subprocess.run([*install, "pytest>=8"], check=True, env=environment)
    return True


def prepare_window() -> None:
    """Put the libraries for the windowed Blender of the distribution beside the environments."""
    place = PLACE / "window-libraries"
    if not place.exists():
        libraries = ["numpy<2", *build.bundled("linux-x64")]
        command = [sys.executable, "-m", "pip", "install", "--quiet", "--python-version", "3.11"]
        command += ["--only-binary=:all:", "--target", str(place), *libraries]
        subprocess.run(command, check=True)


def built(folder: Path, versions: list[str]) -> Path:
    """Build the zip for this machine, with the libraries for the Pythons of these Blenders."""
    return build.build(folder, ["linux-x64"], sorted({BLENDERS[version] for version in versions}))[0]


def inside(version: str, path: Path, *more: str) -> tuple[list[str], dict[str, str]]:
    """Return the command and the environment that run the tests of a zip inside this Blender."""
    command = [str(python_in(version)), "-I", "-c", _RUN, "-q", "-p", "no:cacheprovider"]
    command += ["-m", "blender and not deep"]  # a later -m stands in its place
    environment = {**os.environ, "RELIEFSMITH_ZIP": str(path.resolve())}
    return [*command, "tests/addon/blender", *more], environment


def run(command: list[str], environment: dict[str, str]) -> tuple[int, dict[str, int]]:
    """Run pytest and pass its lines on; returns its code and the counts of its closing line."""
    with subprocess.Popen(
        command, cwd=build.ROOT, env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        closing = ""
        for line in process.stdout:
            print(line, end="", flush=True)
            closing = line if _COUNTS.search(line) else closing
        code = process.wait(timeout=_LIMIT_S)
    return code, counted(closing)


def counted(closing: str) -> dict[str, int]:
    """Return the counts of pytest's closing line by their words."""
    return {word: int(number) for number, word in re.findall(r"(\d+) ([a-z]+)", closing)}


def main() -> None:
    """Prepare, build, test; exit 1 if any version fails."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--prepare", action="store_true", help="only make the environments")
    parser.add_argument(
        "--blender", action="append", choices=list(BLENDERS), help="only this version; repeatable"
    )
    parser.add_argument("--zip", type=Path, help="test this zip instead of building one for this machine")
    parser.add_argument("--window", action="store_true", help="also click through a real window")
    given, rest = parser.parse_known_args()
    asked = given.blender or list(BLENDERS)
    versions = [version for version in asked if prepare(version)]
    if given.prepare:
        return
    path = given.zip or built(build.ROOT / "dist", versions)
    failed, counts, begin = [], Counter(), time.monotonic()
    for version in versions:
        print(f"Blender {version}, {path.name}, {path.stat().st_size / 1e6:.1f} MB", flush=True)
        code, said = run(*inside(version, path, *rest))
        counts.update(said)
        failed += [version] if code else []
    if given.window:
        prepare_window()
        command = [sys.executable, "-m", "pytest", "-m", "blender", "-q", "tests/addon/window"]
        code, said = run(command, dict(os.environ))
        counts.update(said)
        failed += ["window"] if code else []
    words = ", ".join(f"{counts[word]} {word}" for word in _OUTCOMES if counts[word]) or "no tests ran"
    left = [f"Blender {version} left out" for version in asked if version not in versions]
    left += [f"failed in {', '.join(failed)}"] if failed else []
    where = f" ({'; '.join(left)})" if left else ""
    print(f"{words} in {time.monotonic() - begin:.2f}s{where}")
    raise SystemExit(1 if failed else 0)


if __name__ == "__main__":
    main()
