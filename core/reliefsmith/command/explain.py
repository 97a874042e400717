"""The command line as Typer sees it: help, completion, and a word on every line that is not well-formed."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import typer

from .. import __version__
from .grammar import Option

__all__ = ["command_line"]


def command_line(commands: Mapping[str, Callable[..., int]], name: str, about: str) -> typer.Typer:
    """Return Typer's application of these commands.

    Parameters
    ----------
    commands : mapping of str to function
        Each declares its words with `Option` and `Positional` and returns an exit status.
    name, about : str
        Of the program.
    """
    app = typer.Typer(
        name=name, help=about, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False
    )
    app.callback(invoke_without_command=True)(_common)
    for word, command in commands.items():
        app.command(name=word)(_declared(command))
    return app


def _common(version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False) -> None:
    if version:
        typer.echo(f"reliefsmith {__version__}")
        raise typer.Exit


def _declared(command: Callable[..., int]) -> Callable[..., None]:
    """Return a command whose words are declared in Typer's way."""

    def called(**values: Any) -> None:
        raise typer.Exit(command(**values))

    hints = get_type_hints(command, include_extras=True)
    parameters = [
        item.replace(annotation=_word(hints[name]))
        for name, item in inspect.signature(command).parameters.items()
    ]
    called.__name__, called.__doc__ = command.__name__, command.__doc__
    called.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    called.__annotations__ = {item.name: item.annotation for item in parameters}
    return called


def _word(hint: Any) -> Any:
    if get_origin(hint) is not Annotated:
        return hint
    kind, word = get_args(hint)[:2]
    if isinstance(word, Option):
        return Annotated[kind, typer.Option(*word.names, metavar=word.metavar, help=word.help)]
    return Annotated[kind, typer.Argument(metavar=word.metavar, help=word.help, show_default=False)]
