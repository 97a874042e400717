"""What makes a release: zips settled to the byte, license texts gathered, inventories completed, sums."""

from __future__ import annotations

import hashlib
import importlib
import json
import os
import subprocess
import sys
import time
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

import reliefsmith

ROOT = Path(__file__).parents[2]
MOMENT = 1_600_000_000  # 2020-09-13 12:26:40 UTC
LIST = {
    "components": [
        {"type": "library", "name": "Thing-Lib", "version": "1.0"},
        {"type": "library", "name": "curves", "version": "3", "licenses": [{"expression": "MIT"}]},
        {"type": "library", "name": "helper", "version": "4", "scope": "excluded"},
    ]
}


@pytest.fixture(scope="module")
def tools() -> Iterator[dict[str, ModuleType]]:
    """The tools that build; they find each other by the path of their folder only."""
    names, folders = (
        ("build", "inventory", "release", "check", "review"),
        [str(ROOT / "addon"), str(ROOT / ".ci")],
    )
    before = list(sys.path)
    sys.path[:0] = folders
    yield {name: importlib.import_module(name) for name in names[:3]}
    sys.path[:] = before
    for name in names:
        sys.modules.pop(name, None)


def wheel(folder: Path, name: str = "thing_lib-1.0-py3-none-any.whl", **more: str) -> Path:
    """A wheel with a license text and, where told, other files of its metadata."""
    folder.mkdir(parents=True, exist_ok=True)
    info = "-".join(name.split("-")[:2]) + ".dist-info"
    with zipfile.ZipFile(folder / name, "w") as archive:
        for inner, text in {"licenses/LICENSE": "Do as you like.", **more}.items():
            archive.writestr(inner if inner.startswith("/") else f"{info}/{inner}", text)
    return folder / name


def _zip(path: Path, files: dict[str, bytes], rights: int, moment: tuple[int, ...]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            item = zipfile.ZipInfo(name, moment)
            item.external_attr = rights << 16
            archive.writestr(item, data)
    return path


def test_the_version_stands_in_one_place(tools: dict[str, ModuleType]) -> None:
    assert tools["build"].version() == reliefsmith.__version__
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert "version" not in project["project"]
    manifest = (ROOT / "addon" / "reliefsmith_addon" / "blender_manifest.toml").read_text(encoding="utf-8")
    assert "version" not in tomllib.loads(manifest)
    newest = next(
        line for line in (ROOT / "CHANGELOG.md").read_text("utf-8").splitlines() if line[:4] == "## 0"
    )
    assert newest == f"## {reliefsmith.__version__}"


def test_zips_of_the_same_files_become_the_same_bytes(tools: dict[str, ModuleType], tmp_path: Path) -> None:
    library = wheel(tmp_path / "wheels")
    files = {"b.py": b"1", "a.py": b"2" * 999, f"wheels/{library.name}": library.read_bytes()}
    one = _zip(tmp_path / "one.zip", files, 0o100600, (2024, 1, 1, 0, 0, 0))
    other = _zip(tmp_path / "other.zip", dict(reversed(files.items())), 0o100777, (2031, 5, 5, 5, 5, 5))
    assert one.read_bytes() != other.read_bytes()
    for path in (one, other):
        tools["build"].settle(path, tmp_path, MOMENT)
    assert one.read_bytes() == other.read_bytes()
    with zipfile.ZipFile(one) as archive:
        assert archive.namelist() == sorted([*files, "LICENSES-OF-WHEELS.txt"])
        assert {item.date_time for item in archive.infolist()} == {time.gmtime(MOMENT)[:6]}
        assert {item.external_attr >> 16 for item in archive.infolist()} == {0o100644}
        assert {name: archive.read(name) for name in files} == files
        assert b"Do as you like." in archive.read("LICENSES-OF-WHEELS.txt")


def test_the_time_of_files_is_that_of_the_commit_where_it_is_given(
    tools: dict[str, ModuleType], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(MOMENT))
    assert tools["build"].epoch() == MOMENT
    monkeypatch.delenv("SOURCE_DATE_EPOCH")
    assert tools["build"].epoch() == 1580601600  # 2020-02-02, the default of hatchling, from its source


def test_license_texts_stand_once_and_name_all_that_they_are_of(
    tools: dict[str, ModuleType], tmp_path: Path
) -> None:
    more = {"licenses/COPYING": "Ours.\r\nAll.", "sboms/x.json": json.dumps(LIST)}
    wheels = [wheel(tmp_path / "1", **more), wheel(tmp_path / "2", "other-2.0-py3-none-any.whl")]
    text = tools["inventory"].license_file(wheels)
    assert text.count("Do as you like.") == 1
    assert "thing_lib 1.0: LICENSE\nother 2.0: LICENSE\n" in text
    assert "Ours.\nAll." in text
    assert "thing_lib 1.0: curves 3 (MIT)\n" in text
    assert "helper" not in text
    assert text == tools["inventory"].license_file(wheels[::-1])


def test_a_wheel_without_a_license_text_is_refused(tools: dict[str, ModuleType], tmp_path: Path) -> None:
    bare = tmp_path / "bare-1.0-py3-none-any.whl"
    with zipfile.ZipFile(bare, "w") as archive:
        archive.writestr("bare-1.0.dist-info/METADATA", "License: MIT")
    with pytest.raises(ValueError, match=r"bare-1\.0.* no license text"):
        tools["inventory"].license_file([bare])


def test_an_inventory_tells_its_file_and_what_its_wheels_have_built_in(
    tools: dict[str, ModuleType], tmp_path: Path
) -> None:
    library = wheel(tmp_path, **{"sboms/x.json": json.dumps(LIST)})
    with zipfile.ZipFile(library, "a") as archive:
        archive.writestr("thing_lib.libs/libcurve.so.3", b"code")
    subject = tmp_path / "reliefsmith-9.8.7-linux_x64.zip"
    subject.write_bytes(b"zip")
    told = {
        "metadata": {"component": {"name": "reliefsmith", "bom-ref": "root-component"}},
        "components": [{"bom-ref": "thing-lib==1.0", "name": "Thing-Lib"}, {"bom-ref": "z", "name": "alone"}],
        "dependencies": [{"ref": "root-component", "dependsOn": ["thing-lib==1.0", "z"]}],
    }
    whole = tools["release"].completed(told, subject, [library, library])
    assert whole["metadata"]["component"]["version"] == "9.8.7"
    assert whole["metadata"]["component"]["hashes"][0]["content"] == hashlib.sha256(b"zip").hexdigest()
    core, first, second = whole["components"]
    assert (core["name"], core["version"]) == ("reliefsmith", "9.8.7")
    assert whole["metadata"]["component"]["bom-ref"] == "add-on"
    assert whole["dependencies"][1:] == [{"ref": "add-on", "dependsOn": ["root-component"]}]
    assert [(row["type"], row["name"]) for row in first["components"]] == [
        ("file", library.name),
        ("library", "curves"),
        ("file", "thing_lib.libs/libcurve.so.3"),
    ]
    assert len({row["bom-ref"] for row in first["components"]}) == 3
    assert second == told["components"][1]


def test_sums_are_what_the_usual_tool_reads(tools: dict[str, ModuleType], tmp_path: Path) -> None:
    paths = [tmp_path / "b.txt", tmp_path / "a.txt"]
    for path in paths:
        path.write_text(path.name, encoding="utf-8")
    (tmp_path / "SUMS").write_text(tools["release"].sums(paths), encoding="utf-8")
    # SHA-256 by another implementation: GNU coreutils
    if os.name == "posix":
        subprocess.run(
            ["sha256sum", "--check", "--strict", "SUMS"], cwd=tmp_path, check=True, capture_output=True
        )
    assert [line.split("  ")[1] for line in (tmp_path / "SUMS").read_text("utf-8").splitlines()] == [
        "a.txt",
        "b.txt",
    ]
