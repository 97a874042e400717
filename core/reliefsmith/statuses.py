"""Exit statuses of the command: what a script may rely on."""

from __future__ import annotations

__all__ = ["DONE", "INTERRUPTED", "REFUSED", "ROWS_FAILED", "STOPPED"]

DONE = 0
STOPPED = 1
"""All files are written and valid, but a finding says not to print."""
REFUSED = 2
"""Bad input or usage, or a fault of ours: nothing new is written."""
ROWS_FAILED = 3
"""A batch with rows that failed."""
INTERRUPTED = 130
"""Ended by an interrupt, as shells have it."""
