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
from collections.abc import Mapping, Sequence
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from deep.sourcefaults import TREE, Mutant, drawn

__all__ = ["main", "tried"]

HANG_S = 150
"""A loop that a mutant made endless ends here; it then counts as found, since the tests would not end."""

MOST_S = 60.0
"""Tests that take no longer than this together are tried; a mutant that they do not find survives."""

LIBRARIES = ("numpy", "PIL.Image", "scipy.ndimage", "scipy.optimize", "shapely")
"""Loaded once, before each run of tests is forked off."""

ALSO = ("tests/core/test_examples.py",)
"""Examples in docstrings are tests of their modules too."""


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
