"""Faults that a mutant of the source has: which there are, where they are put, and which are drawn by lot."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

__all__ = ["CORE", "KINDS", "TREE", "Mutant", "drawn", "mutants_of"]

TREE = Path(__file__).parents[2]

CORE = TREE / "core/reliefsmith"

ROUNDING = 1e-5
"""Smaller numbers keep rounding apart from rules; nothing but rounding could tell of another one."""

COMMUTE = {"max", "min", "maximum", "minimum", "isclose", "union", "intersection", "distance", "hypot"}
"""Functions for which the order of two arguments means nothing."""

LIMITING = {"clip", "max", "maximum", "min", "minimum", "where"}

TOLD = {"Progress", "note", "finding", "GeometryError", "RecipeError", "MarkError", "TypeVar", "dataclass"}
"""What is said to the user, or to Python, is no rule of geometry."""

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """A module with one fault in it."""

    path: str
    """Below the core's folder, as in `mesh/prism.py`."""
    line: int
    kind: str
    before: str
    after: str
    source: str

    @property
    def room(self) -> str:
        """The folder at the top that holds the module."""
        return self.path.split("/")[0]

    def __str__(self) -> str:
        return f"{self.path}:{self.line} {self.kind}: {self.before} -> {self.after}"


def mutants_of(path: Path) -> list[Mutant]:
    """Return every mutant of a module, in the order of its lines."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = []
    for node, field, index in list(_places(tree, deciding=False)):
        held = getattr(node, field)
        old = held if index is None else held[index]
        for kind, new in _changes(old, node):
            _put(node, field, index, new)
            words = (" ".join(ast.unparse(item).split("\n")[0].split())[:70] for item in (old, new))
            place = path.relative_to(CORE).as_posix()
            found.append(Mutant(place, old.lineno, kind, *words, ast.unparse(tree)))
        _put(node, field, index, old)
    return sorted(found, key=lambda item: (item.line, item.kind, item.before, item.after))


def _put(node: ast.AST, field: str, index: int | None, value: ast.AST) -> None:
    ast.fix_missing_locations(value)
    if index is None:
        setattr(node, field, value)
    else:
        getattr(node, field)[index] = value


def _places(node: ast.AST, *, deciding: bool) -> Iterator[tuple[ast.AST, str, int | None]]:
    """Yield what decides by its parent, the field it stands in, and its index there."""
    for field, value in ast.iter_fields(node):
        if field in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        items = list(enumerate(value)) if isinstance(value, list) else [(None, value)]
        for index, item in items:
            if not isinstance(item, ast.AST) or _is_passed_over(item):
                continue
            decides = deciding or _decides(item, node, field)
            if decides and isinstance(item, (ast.stmt, ast.expr)):
                yield node, field, index
            yield from _places(item, deciding=decides)


def _decides(node: ast.AST, parent: ast.AST, field: str) -> bool:
    """Tell whether a node is a guard, a condition, a limit, a mask, or a named constant."""
    if isinstance(node, ast.If):
        return not node.orelse
    if isinstance(node, ast.Call):
        return _name(node) in LIMITING
    named = isinstance(parent, ast.Module) and isinstance(node, (ast.Assign, ast.AnnAssign))
    masking = isinstance(node, ast.BinOp) and isinstance(node.op, (ast.BitAnd, ast.BitOr))
    return named or masking or field in {"test", "ifs"} or isinstance(node, (ast.BoolOp, ast.Compare))


def _is_passed_over(node: ast.AST) -> bool:
    """Tell whether a node holds words, types or names only."""
    if isinstance(node, (ast.Import, ast.ImportFrom, ast.JoinedStr)):
        return True
    if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__":
        return True
    called = node.exc if isinstance(node, ast.Raise) else node
    return isinstance(called, ast.Call) and _name(called) in TOLD


def _name(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _changes(node: ast.AST, parent: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Yield the faults that one node can have."""
    for kind, change in KINDS.items():
        for new in change(node, parent):
            yield kind, new


def _comparison(node: ast.AST, _: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for other in COMPARED[type(node.ops[0])]:
            yield ast.Compare(node.left, [other()], node.comparators)


def _constant(node: ast.AST, parent: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(node, ast.Constant) or isinstance(parent, (ast.Slice, ast.Subscript)):
        return
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield from (ast.Constant(value + 1), ast.Constant(value - 1))
    elif isinstance(value, float) and (value == 0 or abs(value) >= ROUNDING):
        yield from (ast.Constant(value * 1.5), ast.Constant(value * 0.6)) if value else (ast.Constant(1.0),)


def _arithmetic(node: ast.AST, _: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp) and type(node.op) in COMPUTED:
        yield ast.BinOp(node.left, COMPUTED[type(node.op)](), node.right)


def _negation(node: ast.AST, parent: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    elif isinstance(node, ast.BinOp) and isinstance(node.op, (ast.BitAnd, ast.BitOr)):
        yield ast.BinOp(
            node.left, ast.BitOr() if isinstance(node.op, ast.BitAnd) else ast.BitAnd(), node.right
        )
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.Invert)):
        yield node.operand
    elif node is getattr(parent, "test", None) and not isinstance(node, (ast.Compare, ast.Constant)):
        yield ast.UnaryOp(ast.Not(), node)


def _dropped_guard(node: ast.AST, _: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.If) and not node.orelse:
        yield ast.copy_location(ast.Pass(), node)


def _swapped(node: ast.AST, _: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(node, ast.Call) or len(node.args) < 2 or _name(node) in COMMUTE:
        return
    one, other, *rest = node.args
    starred = isinstance(one, ast.Starred) or isinstance(other, ast.Starred)
    if not starred and ast.dump(one) != ast.dump(other):
        yield ast.Call(node.func, [other, one, *rest], node.keywords)


def _returned(node: ast.AST, _: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Return) and node.value is not None:
        nothing = {ast.Tuple: ast.Tuple([], ast.Load()), ast.List: ast.List([], ast.Load())}
        value = nothing.get(type(node.value), ast.Constant(None))
        if ast.dump(value) != ast.dump(node.value):
            yield ast.Return(value)


KINDS: dict[str, Callable[[ast.AST, ast.AST], Iterator[ast.AST]]] = {
    "comparison": _comparison,
    "constant": _constant,
    "arithmetic": _arithmetic,
    "negation": _negation,
    "guard dropped": _dropped_guard,
    "arguments swapped": _swapped,
    "nothing returned": _returned,
}


def drawn(room: str, seed: int, count: int) -> list[Mutant]:
    """Return mutants of a room by lot, no two of one line."""
    pool = [
        mutant
        for path in sorted((CORE / room).rglob("*.py"))
        if path.stem != "__init__"
        for mutant in mutants_of(path)
    ]
    rng = Random(f"{room} {seed}")
    chosen: list[Mutant] = []
    while len(chosen) < count and pool:
        kind = rng.choice(sorted({mutant.kind for mutant in pool}))
        one = rng.choice([mutant for mutant in pool if mutant.kind == kind])
        chosen.append(one)
        pool = [item for item in pool if (item.path, item.line) != (one.path, one.line)]
    return chosen
