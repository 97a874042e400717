"""A line that the command line's library refuses, in our words: what is wrong, where, what to do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ..recipe.hints import nearest, shown
from .options import NO_NAME

__all__ = ["refusal"]

_EXTRA = re.compile(r"extra argument\S* \((\S*)")


def refusal(error: Any, words: Sequence[str], commands: Mapping[str, Any]) -> str:
    """Return one sentence on what is wrong with a line.

    Parameters
    ----------
    error : the library's error
        Its kind says what is wrong, its parameter which word.
    words : sequence of str
        The line.
    commands : mapping of str to the library's command
        All of them.
    """
    name, kind = words[0], type(error).__name__
    if name not in commands:
        return _no_command(name, list(commands))
    parameters = commands[name].params
    if kind == "NoSuchOption":
        known = [option for one in parameters for option in one.opts]
        return f"{name} has no option {error.option_name}{nearest(error.option_name, known) or _help(name)}"
    if kind == "BadOptionUsage":
        parameter = next(one for one in parameters if error.option_name in one.opts)
        return _value_or_none(error.option_name, parameter, words)
    if kind == "MissingParameter":
        return f"{name} needs {_needed(error.param, name)}"
    if kind == "BadParameter":
        return _bad_value(error.message, error.param, name)
    return _too_many(error, [one for one in parameters if one.param_type_name == "argument"], name)


def _no_command(name: str, known: Sequence[str]) -> str:
    if name.startswith("-"):
        return f"there is no option {name} before a command; try 'reliefsmith --help'"
    told = f"there is no command {shown(name)}"
    if close := nearest(name, known):
        return told + close
    if Path(name).suffix:
        return f"{told}; for a picture say 'reliefsmith make {name}'"
    return f"{told}; there are {', '.join(known)}"


def _value_or_none(option: str, parameter: Any, words: Sequence[str]) -> str:
    """Say that an option lacks its value, or has one that it does not take."""
    if not parameter.is_flag:
        return f"{option} needs a value after it, {parameter.metavar}: {_told(parameter)}"
    value = next(word.partition("=")[2] for word in words if word.startswith(f"{option}="))
    return f"{option} takes no value; leave {shown(value)} out"


def _needed(parameter: Any, name: str) -> str:
    if parameter.param_type_name == "argument":
        return f"a file after it, {parameter.metavar}{_help(name)}"
    option = parameter.opts[0]
    return f"{option} {parameter.metavar}: {_told(parameter)}; put {option} before a name to write to"


def _bad_value(message: str, parameter: Any, name: str) -> str:
    if parameter.param_type_name == "argument":
        return f"{name} {message}; give a file, {parameter.metavar}"
    option = parameter.opts[0]
    if message == NO_NAME:
        return f"{option} {message}; give {parameter.metavar}, or leave {option} out"
    return f"{option} {message}"


def _too_many(error: Any, taken: Sequence[Any], name: str) -> str:
    extra = _EXTRA.search(error.message)
    if extra is None:
        return f"{error.format_message().rstrip('.?')}{_help(name)}"
    word = shown(extra[1].rstrip(")"))
    if not taken:
        return f"{name} takes options only, got {word}{_help(name)}"
    return (
        f"{name} takes one {taken[0].metavar} and got {word} too; run it for each, quote names with"
        " spaces, and put -o before a name to write to"
    )


def _told(parameter: Any) -> str:
    """Return the help of an option as the end of a sentence."""
    return str(parameter.help[0].lower() + parameter.help[1:].rstrip("."))


def _help(name: str) -> str:
    return f"; try 'reliefsmith {name} --help'"
