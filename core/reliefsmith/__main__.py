"""The command `reliefsmith`, also as `python -m reliefsmith`."""

from __future__ import annotations

import gc
import os
import sys

from . import __version__
from .command.streams import guarded
from .errors import OutputError
from .statuses import DONE, INTERRUPTED, REFUSED

__all__ = ["main"]

_OBJECTS = 100_000
"""New objects after which the search for unused cycles begins: a run makes few cycles and then ends, and at
Python's own 700 it is searched for hundreds of times while modules are imported."""


def main() -> None:
    """Run the command line and end the process with its status."""
    raise SystemExit(guarded(_status))


def _status() -> int:
    """Run the command line; `--version` answers before anything heavy is imported."""
    if sys.argv[1:] == ["--version"]:
        try:
            sys.stdout.write(f"reliefsmith {__version__}\n")
        except OutputError as error:
            sys.stderr.write(f"error: {error}\n")
            return REFUSED
        return DONE
    gc.set_threshold(_OBJECTS)
    # Nothing here multiplies large matrices; threads kept for it cost 50 ms of work in every run.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from .command.cli import run  # noqa: PLC0415 - see the docstring

        status = run()
        gc.freeze()  # the process ends: nothing needs to be searched for cycles once more
        return status
    except KeyboardInterrupt:  # while modules are imported, or while the status is told
        sys.stderr.write("interrupted\n")
        return INTERRUPTED


if __name__ == "__main__":
    main()
