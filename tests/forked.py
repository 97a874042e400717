"""The command in a process of its own, forked from the tests: real streams, a real status.

What each line is spared is half a second for Python and the modules of the core. The few tests that need a
process from its first moment start one (`started`), and all do where a system cannot fork.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import IO

import reliefsmith.__main__
import reliefsmith.command.cli

__all__ = ["Stream", "run", "started"]

_UNFLUSHED = 120
"""The status of a Python whose streams cannot be flushed when it ends."""

Stream = int | IO[bytes] | None
"""Where a stream goes: a descriptor or a file; None closes it."""


def _environment(env: Mapping[str, str]) -> dict[str, str]:
    """Return this process's environment, without colors, with some values of its own."""
    return {**os.environ, "NO_COLOR": "1", "TERM": "dumb", **env}


def run(
    *words: str, cwd: Path, stdout: Stream = subprocess.PIPE, stderr: Stream = subprocess.PIPE, **env: str
) -> subprocess.CompletedProcess[str]:
    """Run a line of the command in a folder; what is not led elsewhere is kept."""
    if not hasattr(os, "fork"):
        return started(*words, cwd=cwd, stdout=stdout, stderr=stderr, **env)
    with tempfile.TemporaryFile() as kept_out, tempfile.TemporaryFile() as kept_err:
        streams = [
            kept if wanted == subprocess.PIPE else wanted
            for wanted, kept in ((stdout, kept_out), (stderr, kept_err))
        ]
        with warnings.catch_warnings():  # from Python 3.12 on of threads, of which the child uses none
            warnings.simplefilter("ignore", DeprecationWarning)
            child = os.fork()
        if child == 0:
            os._exit(_status(words, cwd, streams, env))
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        said = []
        for kept in (kept_out, kept_err):
            kept.seek(0)
            said.append(kept.read().decode())
    return subprocess.CompletedProcess(words, status, *said)


def started(
    *words: str, cwd: Path, stdout: Stream = subprocess.PIPE, stderr: Stream = subprocess.PIPE, **env: str
) -> subprocess.CompletedProcess[str]:
    """Run a line of the command in a new Python."""
    line = [sys.executable, "-m", "reliefsmith", *words]
    if stdout is None or stderr is None:
        shut = " ".join(word for word, stream in ((">&-", stdout), ("2>&-", stderr)) if stream is None)
        line = ["sh", "-c", f'exec "$@" {shut}', "sh", *line]
    return subprocess.run(
        line, cwd=cwd, stdout=stdout, stderr=stderr, text=True, check=False, env=_environment(env)
    )


def _status(words: tuple[str, ...], cwd: Path, streams: list[Stream], env: Mapping[str, str]) -> int:
    """Run the command as a new Python would, and return the status that it would end with."""
    try:
        os.chdir(cwd)
        os.environ.update(_environment(env))
        for number, stream in enumerate(streams, 1):
            if stream is None:
                os.close(number)
            else:
                os.dup2(stream if isinstance(stream, int) else stream.fileno(), number)
        sys.argv = [reliefsmith.__main__.__file__, *words]
        sys.stdout, sys.stderr = (_opened(number, stream) for number, stream in enumerate(streams, 1))
        status = 1
        try:
            reliefsmith.__main__.main()
        except SystemExit as end:
            status = int(end.code or 0)
        for stream in filter(None, (sys.stdout, sys.stderr)):
            try:
                stream.flush()
            except OSError:
                status = _UNFLUSHED
    except BaseException as error:  # noqa: BLE001 - nothing of a child may come back into the tests
        with contextlib.suppress(Exception):
            os.write(2, repr(error).encode())
        return 70
    return status


def _opened(number: int, stream: Stream) -> IO[str] | None:
    """Open a stream of a process as Python does when it begins: None where it is closed."""
    return None if stream is None else open(number, "w", encoding="utf-8", closefd=False)
