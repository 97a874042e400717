"""The add-on stays thin: no geometry, short commands, one place that makes meshes."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ADDON = Path(__file__).parents[2] / "addon" / "reliefsmith_addon"
MODULES = sorted(ADDON.glob("*.py"))
_MOST_LINES = 25


def imports(tree: ast.AST) -> set[str]:
    """Return the top names of every absolute import."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {item.name.split(".")[0] for item in node.names}
        if isinstance(node, ast.ImportFrom) and node.level == 0:
            found.add((node.module or "").split(".")[0])
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_no_module_computes_geometry(path: Path) -> None:
    tree = ast.parse(path.read_text())
    allowed = {"shapely"} if path.name == "health.py" else set()  # known answers only
    assert imports(tree) & {"shapely", "scipy", "trimesh", "skimage"} <= allowed
    assert not imports(tree) & {"reliefsmith_addon", "bmesh"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_commands_are_short(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef) and node.name in ("execute", "invoke", "modal", "draw"):
            assert node.end_lineno is not None
            assert node.end_lineno - node.lineno < _MOST_LINES, f"{node.name} at line {node.lineno}"


def test_only_the_bridge_makes_meshes_and_it_never_reads_the_context() -> None:
    for path in MODULES:
        text = path.read_text()
        assert ("foreach_set" in text) == (path.name == "bridge.py"), path.name
    for name in ("bridge.py", "standing.py"):
        assert "bpy.context" not in (ADDON / name).read_text()


def test_panels_write_nothing() -> None:
    panels, contents = (ast.parse((ADDON / name).read_text()) for name in ("panels.py", "contents.py"))
    draws = [node for node in ast.walk(panels) if isinstance(node, ast.FunctionDef) and node.name == "draw"]
    draws += [node for node in ast.walk(contents) if isinstance(node, ast.FunctionDef)]
    assert len(draws) >= 10
    for draw in draws:
        for node in ast.walk(draw):
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    assert not ast.unparse(target).startswith(("context.", "state.", "group.", "bpy.")), (
                        ast.unparse(node)
                    )


def test_what_says_that_the_core_is_missing_needs_nothing_of_it() -> None:
    first = ast.parse((ADDON / "__init__.py").read_text()).body
    waiting = [a.name for n in first if isinstance(n, ast.ImportFrom) and n.level for a in n.names]
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        seen.add(name)
        for node in ast.parse((ADDON / f"{name}.py").read_text()).body:
            assert "reliefsmith" not in imports(ast.Module([node], [])) or isinstance(node, ast.FunctionDef)
            if isinstance(node, ast.ImportFrom) and node.level and node.module:
                waiting.append(node.module)
    assert seen == {"health", "trouble", "wrapping"}
