"""The command line: a line's words are read, the command runs, and every error is told in one line."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from functools import cache, wraps
from typing import Annotated, Any

import typer

from .. import __version__
from ..errors import ReliefsmithError, error_line
from ..statuses import DONE, INTERRUPTED, REFUSED
from .commands import COMMANDS
from .options import spread
from .refused import refusal

__all__ = ["COMMANDS", "program", "run"]

ABOUT = "From a flat picture to checked, watertight, colored parts of a printed keyring."
_INTERRUPTED = "interrupted, nothing was written\n"
_EXPECTED = (ReliefsmithError, MemoryError)


def run(args: list[str] | None = None) -> int:
    """Run the command line and return its exit status; every error is one line on stderr."""
    words = sys.argv[1:] if args is None else args
    try:
        return _run(words)
    except (KeyboardInterrupt, _Stopped):
        sys.stderr.write(_INTERRUPTED)
        return INTERRUPTED
    except Exception as error:
        if not isinstance(error, _EXPECTED) and {"--verbose", "-v"} & set(words):
            raise
        sys.stderr.write("error: " + " ".join(error_line(error).split()) + "\n")
        return REFUSED


def _run(words: list[str]) -> int:
    known = _usual()
    try:
        status = known(words, prog_name="reliefsmith", standalone_mode=False)
    except typer.TyperException as error:
        raise ReliefsmithError(refusal(error, words, known.commands)) from error
    return status if isinstance(status, int) else DONE


@cache
def _usual() -> Any:
    return program(COMMANDS)


def program(commands: Mapping[str, Callable[..., int]]) -> Any:
    """Return the program of these commands as the library reads, explains and completes it."""
    app = typer.Typer(help=ABOUT, rich_markup_mode=None, pretty_exceptions_enable=False)
    app.callback(invoke_without_command=True)(_common)
    for word, command in commands.items():
        app.command(name=word)(spread(_stoppable(command)))
    return typer.main.get_command(app)


class _Stopped(BaseException):
    """An interrupt of a command, as it passes the library, which would say nothing of it."""


def _stoppable(command: Callable[..., int]) -> Callable[..., int]:
    @wraps(command)
    def called(**values: Any) -> int:
        try:
            return command(**values)
        except KeyboardInterrupt as error:
            raise _Stopped from error

    return called


def _common(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    if version:
        typer.echo(f"reliefsmith {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        raise ReliefsmithError("no command was given; try 'reliefsmith --help'")
