"""Build the installable zips of the Blender add-on: `python addon/build.py`, one zip for each platform.

Core and data go in as one pure wheel; the libraries they need in Blender go in as the wheels their makers
publish, for the Python of each supported Blender. Blender's own packaging tool builds and validates the
zips. numpy is Blender's own and is never bundled.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from packaging.requirements import Requirement

import review

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "addon" / "reliefsmith_addon"
# Blender 4.5 LTS and 5.0 run Python 3.11, 5.1 and later run 3.13.
PYTHONS = ("3.11", "3.13")
# Blender's platform -> the wheel tags that fit it; pip does not widen the tags itself.
PLATFORMS = {
    "linux-x64": ("manylinux_2_28_x86_64", "manylinux_2_17_x86_64", "manylinux2014_x86_64"),
    "windows-x64": ("win_amd64",),
    "windows-arm64": ("win_arm64",),
    "macos-arm64": ("macosx_12_0_arm64", "macosx_11_0_arm64"),
    "macos-x64": ("macosx_10_15_x86_64", "macosx_10_13_x86_64", "macosx_10_10_x86_64", "macosx_10_9_x86_64"),
}
_SYSTEMS = {"linux": "linux", "windows": "win32", "macos": "darwin"}
_MACHINES = {"x64": "AMD64", "arm64": "ARM64"}
# Needed by the core, but not in Blender, with the reason.
NOT_BUNDLED = {
    "numpy": "Blender brings its own, and another one would break other add-ons",
    "rich": "only for the command line",
    "typer": "only for the command line",
}


def bundled(platform: str = "linux-x64") -> list[str]:
    """Return the requirements, at the versions of the lock file, that a zip carries as wheels.

    What the markers of the project leave out of a platform is left out of its zip.
    """
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    system, _, machine = platform.partition("-")
    about = {"sys_platform": _SYSTEMS[system], "platform_machine": _MACHINES[machine]}
    asked = [Requirement(item) for item in project["dependencies"]]
    names = [item.name for item in asked if item.marker is None or item.marker.evaluate(about)]
    lock = (ROOT / ".ci" / "requirements.lock").read_text(encoding="utf-8").splitlines()
    pins = {line.partition("==")[0].lower().replace("-", "_"): line for line in lock if "==" in line}
    return [pins[name.lower().replace("-", "_")] for name in names if name not in NOT_BUNDLED]


def packaging_tool() -> Path:
    """Return Blender's packaging tool, from an environment made by `addon/check.py` or from this Python."""
    roots = [*sorted((ROOT / ".blender").glob("*"), reverse=True), Path(sys.prefix)]
    for root in roots:
        found = sorted(
            root.glob("lib/python*/site-packages/bpy/*/scripts/addons_core/bl_pkg/cli/blender_ext.py")
        )
        if found:
            return found[-1]
    raise SystemExit("Blender's packaging tool is not here; run `python addon/check.py --prepare` first")


def core_wheel(folder: Path) -> None:
    """Build the pure wheel of core and data."""
    _run(sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", folder, ROOT)


def library_wheels(folder: Path, platforms: list[str], pythons: list[str]) -> None:
    """Download the wheels of the bundled libraries for every platform and Python."""
    for name in platforms:
        for python in pythons:
            tags = [word for tag in PLATFORMS[name] for word in ("--platform", tag)]
            abi = f"cp{python.replace('.', '')}"
            fits = ["--python-version", python, "--implementation", "cp"]
            fits += [word for tag in (abi, "abi3", "none") for word in ("--abi", tag)]
            options = ["--quiet", "--no-deps", "--only-binary=:all:", "--dest", folder]
            _run(sys.executable, "-m", "pip", "download", *options, *fits, *tags, *bundled(name))


def staged(folder: Path, platforms: list[str], pythons: list[str]) -> Path:
    """Return a copy of the add-on with its wheels and the full manifest, ready to be built."""
    source = folder / SOURCE.name
    shutil.copytree(SOURCE, source, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "addon" / "LICENSE", source / "LICENSE")
    wheels = source / "wheels"
    wheels.mkdir()
    core_wheel(wheels)
    library_wheels(wheels, platforms, pythons)
    manifest = source / "blender_manifest.toml"
    text = manifest.read_text(encoding="utf-8")
    lines = [f"platforms = [{', '.join(repr(name) for name in platforms)}]".replace("'", '"'), "wheels = ["]
    lines += [f'    "./wheels/{item.name}",' for item in sorted(wheels.iterdir())]
    if pythons == ["3.11"]:
        lines.insert(0, 'blender_version_max = "5.1.0"')
    manifest.write_text(
        text.replace("[permissions]", "\n".join([*lines, "]", "", "[permissions]"])), encoding="utf-8"
    )
    return source


def build(out: Path, platforms: list[str], pythons: list[str]) -> list[Path]:
    """Build, validate and review the zips; returns their paths, one for each platform."""
    tool = packaging_tool()
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        source = staged(Path(place), platforms, pythons)
        _run(sys.executable, tool, "validate", source)
        built = Path(place) / "built"
        built.mkdir()
        _run(
            sys.executable, tool, "build", "--source-dir", source, "--output-dir", built, "--split-platforms"
        )
        zips = []
        for item in sorted(built.glob("*.zip")):
            _run(sys.executable, tool, "validate", item)
            zips.append(Path(shutil.copy(item, out / item.name)))
    return zips


def _run(*command: object) -> None:
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{' '.join(map(str, command[:5]))} failed:\n{done.stdout}{done.stderr}")


def main() -> None:
    """Build from the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("-o", "--out", type=Path, default=ROOT / "dist")
    parser.add_argument(
        "--platform", action="append", choices=list(PLATFORMS), help="only this one; repeatable"
    )
    parser.add_argument("--python", action="append", choices=PYTHONS, help="only for this Python; repeatable")
    given = parser.parse_args()
    objections = 0
    for item in build(given.out, given.platform or list(PLATFORMS), given.python or list(PYTHONS)):
        print(f"{item.stat().st_size / 1e6:6.1f} MB  {item}")
        for objection in review.objections(item):
            objections += 1
            print(f"  {objection}")
    raise SystemExit(1 if objections else 0)


if __name__ == "__main__":
    main()
