"""Keep a C library from printing where Python's own output goes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["silent"]

_STDERR = 2


@contextmanager
def silent(kind: str | None) -> Iterator[None]:
    """Keep libtiff from printing on the standard error stream; what matters is raised as well.

    Pillow offers no way to set libtiff's error handler, so the stream is led away for this one call.

    Parameters
    ----------
    kind : str or None
        Format of the picture that is decoded; nothing is led away for any but "TIFF".
    """
    try:
        kept = os.dup(_STDERR) if kind == "TIFF" else -1
    except OSError:  # a program without a console has no such stream
        kept = -1
    if kept < 0:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDERR)
        yield
    finally:
        os.dup2(kept, _STDERR)
        os.close(nowhere)
        os.close(kept)
