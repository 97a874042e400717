# SPDX-License-Identifier: GPL-3.0-or-later
"""What the user reads of an error. Needs no Blender."""

from __future__ import annotations

import logging

from reliefsmith.errors import ReliefsmithError, TakenError

_log = logging.getLogger(__name__)


def words(error: Exception) -> str:
    """Return one line for the user: the core's own words, or for a fault of ours what to do about it."""
    if isinstance(error, TakenError):
        return f"{error.why}; choose another folder, or move that file away first"
    if isinstance(error, ReliefsmithError):
        return str(error)
    _log.debug("unexpected", exc_info=error)
    said = " ".join(str(error).split())
    return f"this went wrong here and changed nothing: {type(error).__name__} {said}; please report it"
