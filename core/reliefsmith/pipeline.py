"""Where `Job`, `Relief` and `make` stood before: better imported from `reliefsmith`."""

from __future__ import annotations

from .walk.pipeline import Job, Relief, make

__all__ = ["Job", "Relief", "make"]
