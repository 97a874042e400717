"""What a command tells in the end: its report on stdout, or one line of error."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from typing import Any

from .errors import InputTakenError, OutputError, ReliefsmithError, TakenError

__all__ = ["error_line", "print_json"]


def error_line(error: Exception) -> str:
    """Return the one line that an error is told by; a fault of our own is named as that."""
    if isinstance(error, InputTakenError):
        return f"{error.why}; choose another place with -o"
    if isinstance(error, TakenError):
        return f"{error.why}; choose another place with -o, or allow it with --replace"
    if isinstance(error, ReliefsmithError):
        return str(error)
    if isinstance(error, MemoryError):
        return "out of memory; use a smaller picture or a larger machine"
    kind = type(error).__name__
    return f"a fault in reliefsmith itself ({kind}: {error}); report it with what --verbose prints"


def print_json(value: Mapping[str, Any], written: str = "") -> None:
    """Print a report; where it cannot be, say also what was written all the same."""
    narrow = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"  # then escapes say the same
    try:
        sys.stdout.write(json.dumps(value, indent=2, sort_keys=True, ensure_ascii=narrow) + "\n")
    except OutputError as error:
        raise OutputError(f"{written}, but the report was not: {error}" if written else str(error)) from error
