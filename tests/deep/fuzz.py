"""Feed mutated files to every reader, one call in process a case; a value or one line is right.

    cd tests && python -m deep.fuzz --cases 1000000        # all readers, by their shares
    cd tests && python -m deep.fuzz --reader png --first 4711 --cases 1   # one case again

A case is made from the reader's name and its number alone. Each reader runs in a process of its own, so that
a crash of a native decoder is a finding too.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import mmap
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
import warnings
import zlib
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from random import Random

from deep.readers import READERS
from reliefsmith.errors import ReliefsmithError

__all__ = ["Outcome", "case_bytes", "run", "told"]

CASE_CPU_S = 10.0
CASE_MEMORY_KB = 1 << 20
STALLED_S = 120.0  # nothing at all happened, on a busy machine
MAX_MESSAGE = 500
TESTS = Path(__file__).parents[1]


@dataclass
class Outcome:
    """What came of the cases of one reader; findings are told apart by kind and place."""

    reader: str
    cases: int = 0
    values: int = 0
    refused: int = 0
    findings: dict[str, int] = field(default_factory=dict)
    first: dict[str, int] = field(default_factory=dict)
    seconds: float = 0.0

    def add(self, finding: str, case: int) -> None:
        self.findings[finding] = self.findings.get(finding, 0) + 1
        self.first.setdefault(finding, case)

    def take(self, other: Outcome) -> None:
        self.cases += other.cases
        self.values += other.values
        self.refused += other.refused
        self.seconds += other.seconds
        for name, count in other.findings.items():
            self.findings[name] = self.findings.get(name, 0) + count
            self.first.setdefault(name, other.first[name])


def case_bytes(reader: str, number: int) -> bytes:
    """Return the bytes of one case."""
    rng = Random((zlib.crc32(reader.encode()) << 32) + number)
    one = READERS[reader]
    return one.mutate(rng, one.seeds())


def told(error: ReliefsmithError) -> str:
    """Return what is wrong with the message of an error; nothing if it is one plain line."""
    message = str(error)
    if not message or not all(char.isprintable() for char in message):
        return f"message is not one printable line: {message[:80]!r}"
    return "" if len(message) <= MAX_MESSAGE else f"message is too long: {message[:60]!r}"


class _TooSlowError(BaseException):
    pass


def _too_slow(*_: object) -> None:
    raise _TooSlowError


def _one(reader: str, data: bytes, folder: Path, outcome: Outcome) -> str:
    """Run one case; the value says what is wrong with it."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    signal.setitimer(signal.ITIMER_PROF, CASE_CPU_S)
    try:
        READERS[reader].read(data, folder)
        outcome.values += 1
    except ReliefsmithError as error:
        outcome.refused += 1
        return told(error)
    except _TooSlowError:
        return f"slower than {CASE_CPU_S:g} s"
    except Exception as error:  # noqa: BLE001 - any other is a finding
        at = traceback.extract_tb(error.__traceback__)[-1]
        own = [f for f in traceback.extract_tb(error.__traceback__) if "reliefsmith" in f.filename]
        seat = f"{Path(own[-1].filename).name}:{own[-1].lineno} < " if own else ""
        return f"{type(error).__name__} {seat}{Path(at.filename).name}:{at.lineno} {str(error)[:80]!r}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    return f"more than {CASE_MEMORY_KB >> 10} MiB of memory" if grown > CASE_MEMORY_KB else ""


@contextlib.contextmanager
def _watched_stderr() -> Iterator[int]:
    """Lead the process's stderr into a file, whose growth is a finding: libraries print there."""
    with tempfile.TemporaryFile() as file:
        kept = os.dup(2)
        os.dup2(file.fileno(), 2)
        try:
            yield file.fileno()
        finally:
            os.dup2(kept, 2)
            os.close(kept)


def _work(reader: str, first: int, count: int, counter: Path) -> Outcome:
    """Run the cases of one reader in this process; the counter file tells which one is at work."""
    warnings.simplefilter("error")
    signal.signal(signal.SIGPROF, _too_slow)
    outcome, began, printed = Outcome(reader), time.process_time(), 0
    with (
        counter.open("r+b") as file,
        mmap.mmap(file.fileno(), 8) as seen,
        tempfile.TemporaryDirectory() as folder,
        _watched_stderr() as stderr,
    ):
        for number in range(first, first + count):
            seen[:8] = number.to_bytes(8, "little")
            data = case_bytes(reader, number)
            wrong = _one(reader, data, Path(folder), outcome)
            outcome.cases += 1
            size = os.fstat(stderr).st_size
            if size != printed:
                words = os.pread(stderr, 80, printed).decode("utf-8", "replace").split() or [""]
                wrong = wrong or f"a library printed: {words[0]}"
                printed = size
            if wrong:
                outcome.add(wrong, number)
    outcome.seconds = time.process_time() - began
    return outcome


def run(reader: str, first: int, count: int) -> Outcome:
    """Run the cases of one reader in processes of their own, going on behind a case that kills one."""
    total, last = Outcome(reader), first + count
    while first < last:
        with tempfile.NamedTemporaryFile() as counter:
            counter.write(b"\0" * 8)
            counter.flush()
            words = [
                "--work",
                counter.name,
                "--reader",
                reader,
                "--first",
                str(first),
                "--cases",
                str(last - first),
            ]
            got, why = _watched([sys.executable, "-m", "deep.fuzz", *words], Path(counter.name))
            if got is not None:
                total.take(got)
                break
            died = int.from_bytes(Path(counter.name).read_bytes(), "little")
        total.cases += died + 1 - first
        total.add(why, died)
        first = died + 1
    return total


def _watched(command: list[str], counter: Path) -> tuple[Outcome | None, str]:
    """Run a worker; without an outcome, say why it died."""
    with tempfile.TemporaryFile("w+") as out, subprocess.Popen(command, cwd=TESTS, stdout=out) as worker:
        at, since = b"", time.monotonic()
        while worker.poll() is None:
            with contextlib.suppress(subprocess.TimeoutExpired):
                worker.wait(1.0)
            now = counter.read_bytes()
            if now != at:
                at, since = now, time.monotonic()
            elif time.monotonic() - since > STALLED_S:
                worker.kill()
                return None, f"stalled for {STALLED_S:g} s"
        out.seek(0)
        text = out.read()
    if worker.returncode == 0:
        return Outcome(**json.loads(text)), ""
    return None, f"process died with status {worker.returncode}"


def main() -> int:
    """Run a campaign and print one line for each reader and each finding."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--cases", type=int, default=10_000)
    words.add_argument("--reader", choices=list(READERS))
    words.add_argument("--first", type=int, default=0)
    words.add_argument("--work", type=Path, help=argparse.SUPPRESS)
    given = words.parse_args()
    if given.work is not None:
        print(json.dumps(asdict(_work(given.reader, given.first, given.cases, given.work))))
        return 0
    total = sum(READERS[name].share for name in READERS)
    names = [given.reader] if given.reader else list(READERS)
    bad = cases = 0
    for name in names:
        count = given.cases if given.reader else max(1, given.cases * READERS[name].share // total)
        got = run(name, given.first, count)
        cases += got.cases
        bad += len(got.findings)
        print(
            f"{name:>10} {got.cases:>8} cases {got.values:>8} read {got.refused:>8} refused "
            f"{got.seconds:8.1f} s CPU {len(got.findings):>3} findings",
            flush=True,
        )
        for finding, number in sorted(got.findings.items(), key=lambda item: -item[1]):
            print(f"           case {got.first[finding]} and {number - 1} more: {finding}", flush=True)
    print(f"{cases} cases, {bad} findings")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
