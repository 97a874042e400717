"""The rules of the house: who imports whom, how long things are, what is registered."""

from __future__ import annotations

import ast
import functools
import graphlib
import subprocess
import sys
from pathlib import Path

import pytest

import reliefsmith
from reliefsmith.findings import CODES
from reliefsmith.walk.stages import STAGES as ORDER

CORE = Path(reliefsmith.__file__).parent
MODULES = sorted(CORE.rglob("*.py"))
STAGES = {"artwork", "color", "areas", "plan", "solid", "checks", "documents"}
KERNELS = {"polygons", "mesh", "formats", "colorimetry", "typeset"}
GROUND = {"model", "errors", "findings", "progress", "recipe"}
ABOVE = {"walk", "jobs", "orders", "classes", "batch", "command"}
KNOW_STAGES = {"walk", "jobs", "orders", "classes"}
SHOW = {"command/commands.py", "command/console.py"}  # they show what documents write
MIRRORED = {
    "areas",
    "artwork",
    "checks",
    "classes",
    "color",
    "colorimetry",
    "documents",
    "formats",
    "jobs",
    "mesh",
    "orders",
    "plan",
    "polygons",
    "recipe",
    "solid",
    "typeset",
    "walk",
}  # rooms whose modules all have a file of tests of their own
MAX_MODULE_LINES = 300
MAX_BODY_LINES = 60


@functools.cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _name(path: Path) -> str:
    return str(path.relative_to(CORE))


def _room(path: Path) -> str:
    first = path.relative_to(CORE).parts[0]
    return first.removesuffix(".py")


@functools.cache
def _imported(path: Path) -> frozenset[str]:
    """Return the whole names that a module imports, also within functions."""
    found: set[str] = set()
    package = ["reliefsmith", *path.relative_to(CORE).parts[:-1]]
    for node in ast.walk(_tree(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            stem = package[: len(package) - node.level + 1] if node.level else []
            whole = [*stem, *(node.module or "").split(".")] if node.module else stem
            found |= {".".join([*whole, alias.name]) for alias in node.names}
    return frozenset(found)


def _imports(path: Path) -> frozenset[str]:
    """Return the rooms of the core and the packages outside that a module imports, not itself."""
    rooms = set()
    for name in _imported(path):
        words = name.split(".")
        rooms.add(words[1] if words[0] == "reliefsmith" and len(words) > 1 else words[0])
    return frozenset(rooms - {_room(path)})


def _too_high(path: Path) -> set[str]:
    """Return what a module imports of rooms that it may not know."""
    room, inside = _room(path), _imports(path) & (STAGES | KERNELS | GROUND | ABOVE)
    if room in STAGES | KERNELS:
        return set(inside - KERNELS - GROUND)
    if room in GROUND:
        return set(inside - GROUND)
    if room in KNOW_STAGES:
        return set(inside & {"batch", "command", "jobs"})
    known = {"documents"} if _name(path) in SHOW else set()
    return set(inside & STAGES - known) | (inside & {"command"} if room == "batch" else set())


def test_imports_point_one_way() -> None:
    assert {_name(path): found for path in MODULES if (found := _too_high(path))} == {}


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Packages' faces, which only hand names on, aside."""
    modules = {
        ".".join(["reliefsmith", *path.relative_to(CORE).with_suffix("").parts]): path
        for path in MODULES
        if path.name != "__init__.py"
    }
    graph = {
        module: {
            part for name in _imported(path) for part in (name, name.rpartition(".")[0]) if part in modules
        }
        for module, path in modules.items()
    }
    graphlib.TopologicalSorter(graph).prepare()  # raises a CycleError that names the circle


def test_a_name_of_a_module_stands_for_one_idea() -> None:
    places: dict[str, list[str]] = {}
    for path in MODULES:
        if path.stem not in {"__init__", "__main__"} and _name(path) != "pipeline.py":  # an old import path
            places.setdefault(path.stem, []).append(_name(path))
    assert {stem: found for stem, found in places.items() if len(found) > 1} == {}


def test_nothing_imports_blender() -> None:
    assert [_name(path) for path in MODULES if _imports(path) & {"bpy", "bmesh", "mathutils"}] == []


def test_every_module_imports_with_blender_blocked() -> None:
    names = [".".join(["reliefsmith", *path.relative_to(CORE).with_suffix("").parts]) for path in MODULES]
    names = sorted({name.removesuffix(".__init__") for name in names if not name.endswith("__main__")})
    code = (
        "import sys, importlib\n"
        "for name in ('bpy', 'bmesh', 'mathutils'): sys.modules[name] = None\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_modules_stay_short() -> None:
    lines = {_name(path): len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {name: count for name, count in lines.items() if count > MAX_MODULE_LINES} == {}


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return how many lines a function has without its docstring."""
    first = node.body[1] if ast.get_docstring(node) and len(node.body) > 1 else node.body[0]
    return (node.end_lineno or 0) - first.lineno + 1


def test_bodies_stay_short() -> None:
    functions = [
        (_name(path), node)
        for path in MODULES
        for node in ast.walk(_tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    assert [(name, node.name) for name, node in functions if _body_lines(node) > MAX_BODY_LINES] == []


def _unlisted(path: Path) -> set[str]:
    """Return what a module defines without an underscore and does not list."""
    listed: set[str] = set()
    for node in _tree(path).body:
        if isinstance(node, ast.Assign | ast.AugAssign) and "__all__" in ast.unparse(node).partition("=")[0]:
            listed |= set(ast.literal_eval(node.value))
    defined = {node.name for node in _tree(path).body if isinstance(node, ast.FunctionDef | ast.ClassDef)}
    return {name for name in defined if not name.startswith("_")} - listed


def test_a_module_lists_the_functions_and_classes_that_are_public() -> None:
    """What has no underscore stands in `__all__`, but for the command line, whose functions are commands."""
    told = [path for path in MODULES if path.name != "__init__.py" and _room(path) != "command"]
    assert {_name(path): found for path in told if (found := _unlisted(path))} == {}


def test_a_module_has_a_file_of_tests_in_the_mirroring_place() -> None:
    own = [
        path.relative_to(CORE) for path in MODULES if _room(path) in MIRRORED and path.name != "__init__.py"
    ]
    places = {str(path): Path(__file__).parent / path.parent / f"test_{path.name}" for path in own}
    assert [name for name, place in places.items() if not place.exists()] == []


def test_every_code_that_is_used_is_registered_and_every_registered_code_is_used() -> None:
    used: set[str] = set()
    addon = Path(__file__).parents[2] / "addon" / "reliefsmith_addon"
    for path in [*MODULES, *addon.glob("*.py")]:
        if path.name == "findings.py":
            continue
        tree = _tree(path)
        words = {
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
        used |= words & set(CODES)
    assert used == set(CODES)


def test_the_public_face_is_light() -> None:
    code = "import sys, reliefsmith; print([m for m in ('numpy', 'shapely', 'scipy') if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    assert out.strip() == "[]"


@pytest.mark.parametrize("stage", ORDER, ids=lambda stage: stage.name)
def test_a_stage_uses_all_that_it_takes(stage) -> None:
    """What it does not use would still be in its memo key: a change of it would run the stage for nothing."""
    module, _, name = stage.function.partition(":")
    tree = _tree(CORE / f"{module.replace('.', '/')}.py")
    body = next(node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node.name == name)
    loads = (node for node in ast.walk(body) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load))
    used = {node.id for node in loads}
    assert {argument.arg for argument in (*body.args.args, *body.args.kwonlyargs)} <= used


def test_a_limit_that_others_may_import_stands_once() -> None:
    """Of numbers with a public name, no two have the same name and value: those could drift apart."""
    places: dict[tuple[str, float], list[str]] = {}
    for path in sorted(CORE.rglob("*.py")):
        for item in _tree(path).body:
            if not isinstance(item, ast.Assign) or not isinstance(item.value, ast.Constant):
                continue
            value = item.value.value
            for name in (target.id for target in item.targets if isinstance(target, ast.Name)):
                if isinstance(value, int | float) and not name.startswith("_"):
                    places.setdefault((name, value), []).append(path.name)
    assert len(places) > 20
    assert {key: found for key, found in places.items() if len(found) > 1} == {}
