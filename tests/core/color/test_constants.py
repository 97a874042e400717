"""How many numbers the room of colors judges by: each is a price or a limit that somebody has to know."""

from __future__ import annotations

import ast
from pathlib import Path

import reliefsmith.color

FREE = {0, 1, 2, -1, 0.5, 255}
"""Nothing, a unit, a half, the last and the largest byte."""

PLACES = {"Progress", "reshape", "zeros", "empty"}
"""Calls whose numbers say how far a stage is, or how many channels there are."""

MOST = 64


def constants(tree: ast.Module) -> list[float]:
    """Return the numbers of a module, but those that are free, indices, or of calls that place something."""
    places: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript):
            places |= {id(inner) for inner in ast.walk(node.slice)}
        elif isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name in PLACES:
                places |= {id(inner) for inner in ast.walk(node)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and type(node.value) in (int, float)
        and node.value not in FREE
        and id(node) not in places
    ]


def test_the_room_of_colors_judges_by_few_numbers() -> None:
    counts = {
        path.stem: len(constants(ast.parse(path.read_text(encoding="utf-8"))))
        for path in Path(reliefsmith.color.__file__).parent.glob("*.py")
    }
    assert sum(counts.values()) <= MOST, counts


def test_indices_units_and_places_are_no_constants() -> None:
    tree = ast.parse("a[3] + 2 * b.reshape(-1, 4) + 7.5 * Progress('x', 0.3) - 0.5 + max(c, 9)")
    assert sorted(constants(tree)) == [7.5, 9]
