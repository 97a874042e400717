"""The command line: a line's words are read, the command runs, and every error is told in one line."""

from __future__ import annotations

import os
import sys

from ..errors import ReliefsmithError, error_line
from .commands import COMMANDS, INTERRUPTED
from .grammar import straight

__all__ = ["COMMANDS", "run"]

ABOUT = "From a flat picture to checked, watertight, colored parts of a printed keyring."
HELP = "try 'reliefsmith --help'"
_INTERRUPTED = "interrupted, nothing was written\n"
_COMPLETION = "_RELIEFSMITH_COMPLETE"
_EXPECTED = (ReliefsmithError, MemoryError)


def run(args: list[str] | None = None) -> int:
    """Run the command line and return its exit status; every error is one line on stderr."""
    words = sys.argv[1:] if args is None else args
    try:
        asked = None if _COMPLETION in os.environ else straight(COMMANDS, words)
        status = _explained(args, words) if asked is None else asked[0](**asked[1])
    except KeyboardInterrupt:
        sys.stderr.write(_INTERRUPTED)
        return INTERRUPTED
    except Exception as error:
        if not isinstance(error, _EXPECTED) and {"--verbose", "-v"} & set(words):
            raise
        sys.stderr.write("error: " + " ".join(error_line(error).split()) + "\n")
        return 2
    return status


def _explained(args: list[str] | None, words: list[str]) -> int:
    """Let Typer read the line, explain it or refuse it, and return the exit status."""
    import typer

    from .explain import command_line
    from .unread import unread

    empty = any(not word or word.endswith("=") for word in words)  # Typer takes "" for the current folder
    if empty and (fault := unread(COMMANDS, words)):
        raise ReliefsmithError(fault)
    try:
        status = command_line(COMMANDS, "reliefsmith", ABOUT)(
            args, prog_name="reliefsmith", standalone_mode=False
        )
    except typer.Abort as error:  # what typer turns an interrupt inside a command into
        raise KeyboardInterrupt from error
    except typer.TyperException as error:
        told = unread(COMMANDS, words) or f"{error.format_message().rstrip('.?')}; {HELP}"
        raise ReliefsmithError(" ".join(told.split())) from error
    return status if isinstance(status, int) else 0
