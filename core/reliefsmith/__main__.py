"""The command `reliefsmith`, also as `python -m reliefsmith`."""

from __future__ import annotations

import gc
import os
import sys

from . import __version__

__all__ = ["main"]

_OBJECTS = 100_000
"""New objects after which the search for unused cycles begins: a run makes few cycles and then ends, and at
Python's own 700 it is searched for hundreds of times while modules are imported."""


def main() -> None:
    """Run the command line; `--version` answers before anything heavy is imported."""
    if sys.argv[1:] == ["--version"]:
        sys.stdout.write(f"reliefsmith {__version__}\n")
        raise SystemExit(0)
    gc.set_threshold(_OBJECTS)
    # Nothing here multiplies large matrices; threads kept for it cost 50 ms of work in every run.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from .cli import run  # noqa: PLC0415 - see the docstring

        status = run()
        gc.freeze()  # the process ends: nothing needs to be searched for cycles once more
        raise SystemExit(status)
    except KeyboardInterrupt:  # while modules are imported, or while the status is told
        sys.stderr.write("interrupted\n")
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
