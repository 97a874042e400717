"""Make a release of the last commit: `python .ci/release.py`.

Builds the wheel, the sdist and a zip of the add-on for each platform; writes an inventory beside each
(CycloneDX, checked against its schema), the license texts of all that the zips bundle, and SHA256SUMS; tries
each in an empty environment, the zip for this machine in every prepared Blender. Only what passed is put into
the folder.

The same commit gives the same bytes: it is exported first, so nothing uncommitted and no right or time of the
clone gets in; the commit's own time is that of all files; builder and libraries come from the two lock files.
What remains is the deflate of this Python's zlib, and that makers may add wheels to a version they released.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.append(str(ROOT / "addon"))
import check  # noqa: E402 - found only now
import inventory  # noqa: E402 - as above

LOCKS = (ROOT / ".ci" / "requirements.lock", ROOT / ".ci" / "release.lock")
HERE = "linux-x64"
"""The platform whose zip is tried in Blender: bpy is prepared for it only."""
_IN_BLENDER = "what_is_imported or health_finds or operator_equals or print_files"
_VALID = (
    "import sys; from cyclonedx.schema import SchemaVersion; from cyclonedx.validation.json import"
    " JsonStrictValidator as V; sys.exit(V(SchemaVersion.V1_6).validate_str(sys.stdin.read()))"
)


class Place:
    """A folder to work in: the exported commit, the tools, and what was made so far."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.source, self.made = folder, folder / "source", folder / "made"
        self.python = folder / "tools" / "bin" / "python"
        self.made.mkdir()
        moment = _run("git", "-C", ROOT, "log", "-1", "--format=%ct").strip()
        lines = {"PIP_CONSTRAINT": str(LOCKS[0]), "PIP_BUILD_CONSTRAINT": str(LOCKS[0])}
        kept = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
        self.environment = {**kept, **lines, "SOURCE_DATE_EPOCH": moment}

    def run(self, *command: object, **more: Any) -> str:
        """Run a program with the environment of a release; returns what it prints."""
        return _run(*command, env=self.environment, **more)

    def export(self) -> None:
        """Lay out the files of the commit, and reach the prepared Blenders from there."""
        archive = self.folder / "source.zip"
        _run("git", "-C", ROOT, "archive", "-o", archive, "HEAD")
        shutil.unpack_archive(archive, self.source)
        (self.source / ".blender").symlink_to(ROOT / ".blender", target_is_directory=True)

    def get_tools(self) -> None:
        """Make the environment of the builder and of the inventory's writer, at locked versions."""
        self.run(sys.executable, "-m", "venv", self.folder / "tools")
        lines = [word for lock in LOCKS for word in ("-c", lock)]
        self.run(self.python, "-m", "pip", "install", "-q", *lines, "pip", "hatchling", "cyclonedx-bom")

    def empty(self, name: str, *asked: object) -> Path:
        """Make an environment with nothing in it but what is asked for; returns its Python."""
        self.run(sys.executable, "-m", "venv", "--without-pip", self.folder / name)
        python = self.folder / name / "bin" / "python"
        for words in filter(None, (asked, ("reliefsmith",) if "--no-deps" in asked else ())):
            self.run(self.python, "-m", "pip", "--python", python, "install", "-q", *words)
        return python


def package(place: Place) -> tuple[Path, Path]:
    """Build wheel and sdist, and the wheel once more from the sdist: it is the same."""
    place.run(place.python, "-m", "hatchling", "build", "-d", place.made, cwd=place.source)
    (wheel,), (sdist,) = place.made.glob("*.whl"), place.made.glob("*.tar.gz")
    again = place.folder / "again"
    place.run(place.python, "-m", "pip", "wheel", "-q", "--no-deps", "-w", again, sdist)
    _same(wheel.read_bytes(), (again / wheel.name).read_bytes(), "the wheel and the one built from the sdist")
    return wheel, sdist


def zips(place: Place, wheel: Path) -> dict[str, Path]:
    """Build the add-on's zips by platform; each holds the very wheel of this release."""
    place.run(place.python, place.source / "addon" / "build.py", "-o", place.made)
    found = {}
    for path in sorted(place.made.glob("*.zip")):
        with zipfile.ZipFile(path) as archive:
            _same(
                wheel.read_bytes(), archive.read(f"wheels/{wheel.name}"), f"the wheel and that in {path.name}"
            )
        found[path.stem.rpartition("-")[2].replace("_", "-")] = path
    return found


def bom(place: Place, python: Path, subject: Path, wheels: Sequence[Path] = ()) -> None:
    """Write the inventory of an environment beside what it is of, valid by its schema."""
    words = ("--output-reproducible", "--gather-license-texts", "--mc-type", "application")
    command = (place.python, "-m", "cyclonedx_py", "environment", *words)
    told = json.loads(place.run(*command, "--pyproject", place.source / "pyproject.toml", python))
    text = json.dumps(completed(told, subject, wheels), indent=1, sort_keys=True) + "\n"
    place.run(place.python, "-c", _VALID, input=text)
    subject.with_name(stem(subject) + ".cdx.json").write_text(text, encoding="utf-8")


def completed(told: dict[str, Any], subject: Path, wheels: Sequence[Path]) -> dict[str, Any]:
    """Return an inventory with its subject's file, and in each component its wheels and what is built in.

    What was told is of the core. Of a zip the subject is the add-on, and the core is one of its components.
    """
    core = {**told["metadata"]["component"], "version": subject.name.split("-")[1].removesuffix(".tar.gz")}
    whole, parts, links = core, list(told["components"]), list(told["dependencies"])
    if subject.suffix == ".zip":
        whole = {"type": "application", "name": "reliefsmith add-on", "version": core["version"]}
        whole |= {"bom-ref": "add-on", "licenses": [{"license": {"id": "GPL-3.0-or-later"}}]}
        links.append({"ref": "add-on", "dependsOn": [core["bom-ref"]]})
        parts = [_filled(item, wheels) for item in (core, *parts)]
    else:
        whole = _filled(core, [subject])
    digest = hashlib.sha256(subject.read_bytes()).hexdigest()
    whole = {**whole, "hashes": [{"alg": "SHA-256", "content": digest}]}
    return {
        **told,
        "metadata": {**told["metadata"], "component": whole},
        "components": parts,
        "dependencies": links,
    }


def _filled(item: dict[str, Any], wheels: Sequence[Path]) -> dict[str, Any]:
    own = [path for path in wheels if _key(path.name.split("-")[0]) == _key(item["name"])]
    rows = [row for path in own for row in (_file(path), *inventory.built_in(path))]
    inner = {json.dumps(row, sort_keys=True): row for row in rows}.values()  # two Pythons share most of it
    held = [{**row, "bom-ref": f"{item['bom-ref']}/{number}"} for number, row in enumerate(inner, 1)]
    return {**item, "components": held} if held else item


def _file(path: Path) -> dict[str, Any]:
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return {"type": "file", "name": path.name, "hashes": [{"alg": "SHA-256", "content": digest}]}


def _key(name: str) -> str:
    return name.lower().replace("-", "_")


def stem(path: Path) -> str:
    """Return a file's name without what says its kind."""
    return path.name.removesuffix(".zip").removesuffix(".tar.gz").removesuffix(".whl")


def tried(place: Place, python: Path) -> dict[str, str]:
    """Make and check the kite sample in an environment, away from the sources; returns its files' digests."""
    folder = python.parents[1] / "tried"
    folder.mkdir()
    program = python.with_name("reliefsmith")
    words = (place.source / "samples" / "kite.png", "--recipe", place.source / "samples" / "kite.toml")
    place.run(program, "make", *words, "-o", "set", "--quiet", cwd=folder)
    place.run(program, "check", "set/kite.3mf", cwd=folder)
    files: dict[str, str] = json.loads((folder / "set" / "kite-report.json").read_text(encoding="utf-8"))[
        "files"
    ]
    return files


def tried_in_blender(place: Place, path: Path) -> list[str]:
    """Install a zip in every prepared Blender and make a relief there; returns the versions."""
    ready = [version for version in check.BLENDERS if check.is_ready(version)]
    asked = [word for version in ready for word in ("--blender", version)]
    place.run(place.python, place.source / "addon" / "check.py", "--zip", path, *asked, "-k", _IN_BLENDER)
    return ready


def sums(paths: Sequence[Path]) -> str:
    """Return the lines of SHA256SUMS, as `sha256sum --check` reads them."""
    return "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n" for path in sorted(paths)
    )


def make(place: Place) -> None:
    """Make everything of a release in `place.made`, and say what was tried."""
    place.export()
    place.get_tools()
    wheel, sdist = package(place)
    print(f"{wheel.name} and {sdist.name}: the sdist builds the same wheel", flush=True)
    python = place.empty("wheel", "--no-deps", "--no-index", "--find-links", place.made, "reliefsmith")
    bom(place, python, wheel)
    _same(tried(place, python), tried(place, place.empty("sdist", sdist)), "the sets of wheel and sdist")
    print("kite made and checked with each, the same set", flush=True)
    for platform, path in zips(place, wheel).items():
        wheels = place.folder / platform
        shutil.unpack_archive(path, wheels)
        python, listed = place.empty(f"{platform}-libraries"), sorted((wheels / "wheels").iterdir())
        (site,) = python.parents[1].glob("lib/python*/site-packages")
        for item in listed:
            shutil.unpack_archive(item, site, "zip")
        bom(place, python, path, listed)
        texts = place.made / f"{stem(path)}-LICENSES.txt"
        texts.write_bytes((wheels / "LICENSES-OF-WHEELS.txt").read_bytes())
        if platform == HERE:
            versions = ", ".join(tried_in_blender(place, path))
            print(f"{path.name}: relief made in Blender {versions}", flush=True)
        else:
            print(f"{path.name}: valid and reviewed; not tried, for want of such a machine", flush=True)
    (place.made / "SHA256SUMS").write_text(sums(list(place.made.iterdir())), encoding="utf-8")


def _same(one: object, other: object, what: str) -> None:
    if one != other:
        raise SystemExit(f"{what} differ")


def _run(*command: object, **more: Any) -> str:
    done = subprocess.run(
        [str(word) for word in command], capture_output=True, text=True, check=False, **more
    )
    if done.returncode:
        raise SystemExit(f"{' '.join(map(str, command[:6]))} failed:\n{done.stdout}{done.stderr}")
    return done.stdout


def main() -> None:
    """Make a release from the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("-o", "--out", type=Path, default=ROOT / "dist" / "release")
    out = parser.parse_args().out
    if out.exists() and any(out.iterdir()):
        raise SystemExit(f"{out} holds files; name a new folder with -o, or empty it")
    if _run("git", "-C", ROOT, "status", "--porcelain"):
        print("what is not committed is left out", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        place = Place(Path(folder))
        make(place)
        shutil.copytree(place.made, out, dirs_exist_ok=True)
    print((out / "SHA256SUMS").read_text(encoding="utf-8"), end="")


if __name__ == "__main__":
    main()
