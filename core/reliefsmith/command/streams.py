"""Standard output and standard error of a process, which may be full, closed, or read by nobody.

A reader that went away wanted no more, and what goes to standard error only accompanies the work: both are
passed over in silence. What was asked for on standard output and cannot be printed is an error in one line.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TextIO

from ..errors import OutputError

__all__ = ["guarded", "print_json"]


def guarded(work: Callable[[], int]) -> int:
    """Run the work of a process while its two streams stand guarded, and return the work's status."""
    _fill_closed()
    real = sys.stdout, sys.stderr
    guards: Any = _Guard(sys.stdout, told=True), _Guard(sys.stderr, told=False)
    sys.stdout, sys.stderr = guards
    try:
        return work()
    finally:
        sys.stdout, sys.stderr = real


class _Guard:
    """A text stream that writes at once; once it cannot, all that follows is led to nowhere.

    It has no `buffer`, so that no library writes past it.

    Parameters
    ----------
    stream : text stream or None
        None where the process was started without it.
    told : bool
        Whether a failure is raised as an `OutputError`, except that nobody reads any more.
    """

    def __init__(self, stream: TextIO | None, *, told: bool) -> None:
        self._stream, self._told = stream, told
        self._fault = "" if stream is not None else "it is closed"
        self.encoding: str = getattr(stream, "encoding", "utf-8")
        self.errors: str | None = getattr(stream, "errors", "strict")

    def write(self, text: str) -> int:
        if self._stream is not None and not self._fault:
            try:
                self._stream.write(text)
                self._stream.flush()
            except OSError as error:
                _lead_to_nowhere(self._stream)
                self._fault = (error.strerror or "it cannot be written").lower()
                self._told &= not isinstance(error, BrokenPipeError)
        if self._fault and self._told:
            raise OutputError(f"cannot print to standard output: {self._fault}; lead it elsewhere")
        return len(text)

    def flush(self) -> None:
        """Do nothing: every text is written at once."""

    def isatty(self) -> bool:
        return self._stream is not None and self._stream.isatty()

    def fileno(self) -> int:
        if self._stream is None:
            raise io.UnsupportedOperation("the stream is closed")
        return self._stream.fileno()


def _lead_to_nowhere(stream: TextIO) -> None:
    """Point a stream's descriptor to the null device, so that closing it at exit raises nothing."""
    with contextlib.suppress(OSError), Path(os.devnull).open("wb") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


def _fill_closed() -> None:
    """Open the null device for each of the first three descriptors that is closed.

    Otherwise the next file that is opened gets that number, and what is meant for the stream lands in it.
    """
    for descriptor in (0, 1, 2):
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number


def print_json(value: Mapping[str, Any], written: str = "") -> None:
    """Print a report; where it cannot be, say also what was written all the same."""
    narrow = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"  # then escapes say the same
    try:
        sys.stdout.write(json.dumps(value, indent=2, sort_keys=True, ensure_ascii=narrow) + "\n")
    except OutputError as error:
        raise OutputError(f"{written}, but the report was not: {error}" if written else str(error)) from error
