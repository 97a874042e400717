"""Build the installable zips of the Blender add-on: `python addon/build.py`, one zip for each platform.

Core and data go in as one pure wheel; the libraries they need in Blender go in as the wheels their makers
publish, for the Python of each supported Blender. Blender's own packaging tool builds and validates the
zips. numpy is Blender's own and is never bundled.

The same commit gives the same bytes: the builder of the core's wheel and the versions of the libraries come
from the lock file, and what differs between two runs or machines (the order in which a file system lists
files, times, rights) is settled in the zip that the tool wrote.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
import zipfile
from pathlib import Path

import inventory
import review

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "addon" / "reliefsmith_addon"
LOCK = ROOT / ".ci" / "requirements.lock"
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
# What requirements ask of a platform (PEP 508), by Blender's name for it.
MARKERS = {
    "linux-x64": {"sys_platform": "linux", "platform_machine": "x86_64"},
    "windows-x64": {"sys_platform": "win32", "platform_machine": "AMD64"},
    "windows-arm64": {"sys_platform": "win32", "platform_machine": "ARM64"},
    "macos-arm64": {"sys_platform": "darwin", "platform_machine": "arm64"},
    "macos-x64": {"sys_platform": "darwin", "platform_machine": "x86_64"},
}
# Needed by the core, but not in Blender, with the reason.
NOT_BUNDLED = {
    "numpy": "Blender brings its own, and another one would break other add-ons",
    "rich": "only for the command line",
    "typer": "only for the command line",
}
_UNIX, _PLAIN_FILE = 3, 0o100644 << 16
"""System and rights of a file in a zip (APPNOTE.TXT 4.4.2 and 4.4.15, from memory): all may read it."""


def bundled(platform: str) -> list[str]:
    """Return the requirements, at the versions of the lock file, that a platform's zip carries as wheels."""
    from packaging.requirements import Requirement  # noqa: PLC0415 - only to build; pytest and hatchling bring it
    from packaging.utils import canonicalize_name  # noqa: PLC0415 - as above

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [Requirement(line) for line in project["dependencies"]]
    lock = LOCK.read_text(encoding="utf-8").splitlines()
    pins = {canonicalize_name(line.partition("==")[0]): line for line in lock if "==" in line}
    fitting = [item for item in asked if item.marker is None or item.marker.evaluate(MARKERS[platform])]
    return [pins[canonicalize_name(item.name)] for item in fitting if item.name not in NOT_BUNDLED]


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
    """Build the pure wheel of core and data, with the builder of the lock file, which the wheel names."""
    constraints = dict.fromkeys(
        ("PIP_CONSTRAINT", "PIP_BUILD_CONSTRAINT"), str(LOCK)
    )  # before, since pip 25.3
    command = ("-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", folder, ROOT)
    _run(sys.executable, *command, environment=constraints)


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
    lines = [f'version = "{version()}"']
    lines += [f"platforms = [{', '.join(repr(name) for name in platforms)}]".replace("'", '"'), "wheels = ["]
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
            settle(item, source, epoch())
            _run(sys.executable, tool, "validate", item)
            zips.append(Path(shutil.copy(item, out / item.name)))
    return zips


def settle(path: Path, source: Path, moment: int) -> None:
    """Write a zip anew: with the licenses of its wheels, in order, all files of one time and plain rights.

    Parameters
    ----------
    path : Path
    source : Path
        The folder that it was built from.
    moment : int
        The files' time in seconds since 1970, UTC.
    """
    with zipfile.ZipFile(path) as archive:
        held = [(item, archive.read(item)) for item in archive.infolist()]
    wheels = [source / item.filename for item, _ in held if item.filename.endswith(".whl")]
    notice = zipfile.ZipInfo("LICENSES-OF-WHEELS.txt")
    notice.compress_type = zipfile.ZIP_DEFLATED
    held.append((notice, inventory.license_file(wheels).encode()))
    with zipfile.ZipFile(path, "w") as archive:
        for item, data in sorted(held, key=lambda entry: entry[0].filename):
            plain = zipfile.ZipInfo(item.filename, time.gmtime(moment)[:6])
            plain.compress_type = item.compress_type
            plain.create_system, plain.external_attr = _UNIX, _PLAIN_FILE
            archive.writestr(plain, data, compresslevel=9)


def epoch() -> int:
    """Return the time of all files, in seconds since 1970: SOURCE_DATE_EPOCH, else that of hatchling."""
    return int(os.environ.get("SOURCE_DATE_EPOCH", "1580601600"))


def version() -> str:
    """Return the version, which stands in the core only."""
    text = (ROOT / "core" / "reliefsmith" / "__init__.py").read_text(encoding="utf-8")
    return re.findall(r'^__version__ = "(.+)"$', text, re.MULTILINE)[0]


def _run(*command: object, environment: dict[str, str] | None = None) -> None:
    words = [str(word) for word in command]
    given = {**os.environ, **(environment or {})}
    done = subprocess.run(words, capture_output=True, text=True, check=False, env=given)
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
