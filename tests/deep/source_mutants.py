"""Mutants of the source: one small fault at a time, put into a module of a room, and whether a test finds it.

    cd tests && python -m deep.source_mutants plan solid areas mesh --seed 1 --count 15

Faults are put where a rule is decided, not where the main work is done, which any test would notice: into
conditions and what they guard, into limits (`min`, `max`, `clip`, `where`), masks, and named constants. They
are drawn by lot: first the kind, then the place. The tests of a room, the published facts on it and the
examples run once as they are, to see which functions each of them enters (`deep/reached.py`). Then each
mutant is tried in a copy of the tree by the tests that enter its function, the quick first; a constant by
those of all functions that name it. One that none of them finds in some time has survived. A person reads
the survivors: each is equal to the original, by a reason, or asks for a test.
"""

from __future__ import annotations

import argparse
import ast
import functools
import importlib
import json
import multiprocessing
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

import pytest

__all__ = ["KINDS", "Mutant", "drawn", "mutants_of"]

TREE = Path(__file__).parents[2]

CORE = TREE / "core/reliefsmith"

HANG_S = 150
"""A loop that a mutant made endless ends here; it then counts as found, since the tests would not end."""

MOST_S = 60.0
"""Tests that take no longer than this together are tried; a mutant that they do not find survives."""

LIBRARIES = ("numpy", "PIL.Image", "scipy.ndimage", "scipy.optimize", "shapely")
"""Loaded once, before each run of tests is forked off."""

ALSO = ("tests/core/test_examples.py",)
"""Examples in docstrings are tests of their modules too."""

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


def _homes(mutant: Mutant, core: Path) -> set[str]:
    """Return where the functions begin that a mutant changes: its own, or all that name its constant."""
    own = _functions(core / mutant.path)
    around = [first for first, last, _ in own if first <= mutant.line <= last]
    if around:
        return {f"{mutant.path}:{max(around)}"}
    tree = ast.parse((core / mutant.path).read_text(encoding="utf-8"))
    here = [node for node in tree.body if node.lineno <= mutant.line <= (node.end_lineno or 0)]
    names = {part.id for node in here for part in ast.walk(node) if isinstance(part, ast.Name)}
    naming = {
        f"{path.relative_to(core).as_posix()}:{first}"
        for path in core.rglob("*.py")
        for first, _, named in _functions(path)
        if named & names
    }
    return naming or {f"{mutant.path}:{first}" for first, _, _ in own}


@functools.cache
def _functions(path: Path) -> list[tuple[int, int, set[str]]]:
    """Return the first line of each function, as Python counts it, its last line, and the names in it."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            first = min([node.lineno, *(item.lineno for item in node.decorator_list)])
            names = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
            found.append((first, node.end_lineno or first, names))
    return found


Reached = Mapping[str, tuple[list[str], float]]
"""The functions that each test enters, and the seconds that it takes."""


def _reached(room: str, copy: Path, kept: Path) -> Reached:
    """Run the tests of a room on the code as it is, unless that is kept; return what each of them enters."""
    kept.mkdir(parents=True, exist_ok=True)
    out = kept.resolve() / f"{room}.json"
    facts = sorted(str(path.relative_to(TREE)) for path in TREE.glob(f"tests/outside/test_{room}_*.py"))
    asked = [*ALSO, f"tests/core/{room}", *facts]
    os.environ["RELIEFSMITH_REACHED"] = str(out)
    plain = ["--collect-only", *asked] if out.exists() else ["-p", "deep.reached", *asked]
    failed = _failed(plain, copy, most_s=10 * HANG_S, is_plain=True)
    if failed:
        raise SystemExit(f"{room} fails as it is: {failed}")
    rows = json.loads(out.read_text(encoding="utf-8"))
    return {name: (row["entered"], row["s"]) for name, row in rows.items()}


def _tests(mutant: Mutant, reached: Reached, copy: Path) -> tuple[list[str], int]:
    """Return the tests to try: those of the mirroring module, then the others, the quick ones first."""
    homes, mirror = _homes(mutant, copy / "core/reliefsmith"), f"test_{Path(mutant.path).stem}.py"
    rows = [
        (f"/{mirror}::" not in name, s, name) for name, (entered, s) in reached.items() if homes & {*entered}
    ]
    chosen, spent = [], 0.0
    for _, seconds, name in sorted(rows):
        spent += seconds
        if spent > MOST_S:
            break
        chosen.append(name)
    return chosen, len(rows)


def _killer(mutant: Mutant, tests: Sequence[str], copy: Path) -> str:
    """Try a mutant in a copy of the tree; return the test that fails, if any."""
    place = copy / "core/reliefsmith" / mutant.path
    original = place.read_text(encoding="utf-8")
    place.write_text(mutant.source, encoding="utf-8")
    try:
        failed = _failed(tests, copy) if tests else ""
        if failed == _USAGE:  # cases got other names
            failed = _failed(sorted({name.split("::")[0] for name in tests}), copy)
        return failed
    finally:
        place.write_text(original, encoding="utf-8")


_USAGE = f"pytest ended with {pytest.ExitCode.USAGE_ERROR.value}"


def _failed(asked: Sequence[str], copy: Path, *, most_s: float = HANG_S, is_plain: bool = False) -> str:
    """Run tests in a copy until one fails; return its name, or nothing."""
    fork = multiprocessing.get_context("fork")
    told, tell = fork.Pipe(duplex=False)
    child = fork.Process(target=_run, args=(asked, copy, tell, is_plain))
    child.start()
    child.join(most_s)
    if child.is_alive():
        child.kill()
        child.join()
        return "no end"
    return str(told.recv()) if told.poll() else f"the process ended with {child.exitcode}"


class _First:
    """A plugin of pytest that keeps the name of what fails first."""

    name = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep a test that fails, or its setup."""
        if report.failed:
            self.name = self.name or report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Keep a module that cannot be read."""
        if report.failed:
            self.name = self.name or report.nodeid


def _run(asked: Sequence[str], copy: Path, tell: Connection, is_plain: bool) -> None:
    """Run tests in this process, and tell which failed."""
    os.chdir(copy)
    sys.path[:0] = [str(copy / part) for part in ("core", "shared", "tests")]
    os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:3])
    # Bytecode is told by time and size of a source, which two mutants can share: that of mutants is not kept.
    sys.dont_write_bytecode = not is_plain
    if not is_plain:
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    first = _First()
    code = pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--tb=no", *asked], plugins=[first])
    tell.send("" if code == pytest.ExitCode.OK else first.name or f"pytest ended with {int(code)}")


def tried(mutants: Sequence[Mutant], kept: Path | None = None) -> list[tuple[Mutant, str]]:
    """Try mutants one after the other in a copy of the tree; return each with its killer."""
    for name in LIBRARIES:
        importlib.import_module(name)
    outcome = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        shutil.copytree(TREE, copy, ignore=shutil.ignore_patterns(".*", "__pycache__"), symlinks=True)
        reached: dict[str, Reached] = {}
        for mutant in mutants:
            if mutant.room not in reached:
                reached[mutant.room] = _reached(mutant.room, copy, kept or Path(folder))
            tests, count = _tests(mutant, reached[mutant.room], copy)
            killer = _killer(mutant, tests, copy)
            said = killer or f"{len(tests)} of {count} tests"
            print(f"{'killed  ' if killer else 'SURVIVED'} {mutant}", said, sep="  ", flush=True)
            outcome.append((mutant, killer))
    return outcome


def _told(outcome: Sequence[tuple[Mutant, str]], rooms: Sequence[str]) -> None:
    print("\n| room | mutants | killed | survivors |\n|---|---|---|---|")
    for room in rooms:
        own = [(mutant, killer) for mutant, killer in outcome if mutant.room == room]
        left = [mutant for mutant, killer in own if not killer]
        print(f"| {room} | {len(own)} | {len(own) - len(left)} | {len(left)} |")
    for mutant, killer in outcome:
        if not killer:
            print(f"survived: {mutant}")


def main(words: Sequence[str] | None = None) -> None:
    """Draw mutants, try them, and print a table by room with the survivors."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("rooms", nargs="+", help="folders of core/reliefsmith")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=15, help="mutants of each room")
    parser.add_argument("--first", type=int, default=0, help="so many of each room are passed over")
    parser.add_argument(
        "--reached", type=Path, help="folder that keeps what tests enter, while the source stays"
    )
    parser.add_argument("--line", default="", help="only those whose line in the list holds these words")
    parser.add_argument("--list", action="store_true", help="name the mutants and try none")
    asked = parser.parse_args(words)
    mutants = [
        mutant for room in asked.rooms for mutant in drawn(room, asked.seed, asked.count)[asked.first :]
    ]
    mutants = [mutant for mutant in mutants if asked.line in str(mutant)]
    if asked.list:
        print(*mutants, sep="\n")
        return
    _told(tried(mutants, asked.reached), asked.rooms)


if __name__ == "__main__":
    main()
