"""What a reviewer of Blender's extension platform would object to, looked for in a built zip.

The rules are the platform's published ones and what its reviewers have written: no threads, no network, no
`eval` or `exec`, no change of the module search path, no byte code, no numpy, one platform in a zip. They say
nothing published of child processes, so only one module may start one, and only in the way said there.
"""

from __future__ import annotations

import ast
import io
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

__all__ = ["objections"]

_NETWORK = {
    "asyncio",
    "ftplib",
    "http",
    "requests",
    "smtplib",
    "socket",
    "socketserver",
    "ssl",
    "urllib",
    "webbrowser",
}
_THREADS = {"threading", "_thread"}
_CALLS = {"eval", "exec", "__import__"}
_ATTRIBUTES = {("sys", "path"), ("sys", "modules"), ("sys", "meta_path"), ("os", "system")}
# `batch` hands work to other processes on the command line and is never imported in Blender.
# The one child process: a drawing is rendered apart, so that one made to crash or hoard ends there and not in
# Blender. It is Blender's own Python with a fixed text, a list of words (no shell), a limit of time and
# memory, and nothing of it is in the add-on itself.
_PROCESSES = {"subprocess", "multiprocessing", "concurrent", "pty"}
_STARTS_ONE = "reliefsmith/artwork/renderer.py"
_NOT_IN_BLENDER = ("reliefsmith/batch/",)


def objections(path: Path) -> list[str]:
    """Return every objection to a built zip, in plain words."""
    with zipfile.ZipFile(path) as archive:
        names = archive.namelist()
        manifest = tomllib.loads(archive.read("blender_manifest.toml").decode())
        found = [*_about_manifest(manifest), *_about_files(names)]
        found += [
            line for name in names if name.endswith(".py") for line in _about_code(name, archive.read(name))
        ]
        for name in names:
            if "/reliefsmith-" in name and name.endswith(".whl"):
                found += _about_wheel(name, archive.read(name))
    return found


def _about_manifest(manifest: dict) -> Iterator[str]:
    if manifest["license"] != ["SPDX:GPL-3.0-or-later"]:
        yield "the add-on's license must be GPL-3.0-or-later"
    if set(manifest.get("permissions", {})) != {"files"}:
        yield "the only permission may be files"
    if "blender" in manifest["name"].lower():
        yield "the word Blender may not stand in the name"
    if len(manifest["build"]["generated"]["platforms"]) != 1:
        yield "one zip holds the wheels of more than one platform"


def _about_files(names: list[str]) -> Iterator[str]:
    for name in names:
        if name.endswith((".pyc", ".pyo", ".so", ".dll", ".dylib", ".exe")):
            yield f"{name}: compiled code outside a wheel"
        if "/numpy-" in name:
            yield f"{name}: numpy must not be bundled"
    if "LICENSE" not in names:
        yield "the text of the license is missing"


def _about_wheel(name: str, data: bytes) -> Iterator[str]:
    with zipfile.ZipFile(io.BytesIO(data)) as wheel:
        for inner in wheel.namelist():
            if inner.endswith(".py") and not inner.startswith(_NOT_IN_BLENDER):
                yield from _about_code(f"{name}: {inner}", wheel.read(inner))


def _about_code(name: str, source: bytes) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        for line in (*_about_node(node), *_about_process(node, name.endswith(f": {_STARTS_ONE}"))):
            yield f"{name}:{getattr(node, 'lineno', 1)}: {line}"


def _about_process(node: ast.AST, may_start_one: bool) -> Iterator[str]:
    """Object to other programs being started, but by the one module that may, without a shell."""
    modules = [item.name for item in node.names] if isinstance(node, ast.Import) else []
    if isinstance(node, ast.ImportFrom) and node.level == 0:
        modules = [node.module or ""]
    for module in modules:
        top = module.split(".", maxsplit=1)[0]
        if top in _PROCESSES and not (may_start_one and top == "subprocess"):
            yield f"imports {module}: no other program may be started"
    of_os = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "os"
    if of_os and node.attr.startswith(("spawn", "exec", "fork", "popen", "posix_spawn")):
        yield f"touches os.{node.attr}: no other program may be started"
    if isinstance(node, ast.keyword) and node.arg == "shell":
        yield "starts a shell"


def _about_node(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (line for item in node.names for line in _about_import(item.name))
    elif isinstance(node, ast.ImportFrom) and node.level == 0:
        yield from _about_import(node.module or "")
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _CALLS:
        yield f"calls {node.func.id}"
    elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        if (node.value.id, node.attr) in _ATTRIBUTES:
            yield f"touches {node.value.id}.{node.attr}"
    elif isinstance(node, ast.Name) and node.id == "bl_info":
        yield "has bl_info beside the manifest"


def _about_import(module: str) -> Iterator[str]:
    top = module.split(".", maxsplit=1)[0]
    if top in _THREADS:
        yield f"imports {module}: threads are refused"
    if top in _NETWORK and module != "urllib.parse":
        yield f"imports {module}: there is no permission for the network"
