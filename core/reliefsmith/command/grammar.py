"""The words of a command line: how a command declares them, and a straight reading of well-formed ones.

Typer explains, completes and refuses; to load it and to build what it checks with takes longer than to find
the areas of a small picture. So a line that holds nothing but a command's own words is read here, in the same
way, and every other line is left to Typer.
"""

from __future__ import annotations

import inspect
import os
import re
import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

__all__ = ["Option", "Positional", "declared", "required", "straight"]

_WHOLE = re.compile(r"[0-9]{1,9}")
_NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
_EXPANDED = frozenset("*?[~$%")  # on Windows Typer expands words with these


@dataclass(frozen=True)
class Option:
    """A word with a name.

    Parameters
    ----------
    names : tuple of str
        Such as ("-o", "--output").
    help : str
    metavar : str or None
        How its value is called; None for a flag.
    """

    names: tuple[str, ...]
    help: str
    metavar: str | None = None


@dataclass(frozen=True)
class Positional:
    """A word without a name: the first of a command; of a list, all of them."""

    metavar: str
    help: str | None = None


def straight(
    commands: Mapping[str, Callable[..., int]], words: Sequence[str]
) -> tuple[Callable[..., int], dict[str, Any]] | None:
    """Read a well-formed line as a command and its arguments; None for whatever Typer has to look at.

    Read are a command's name, its options as `--name value`, `--name=value` or `-n value`, plain numbers, and
    words without a dash.

    Examples
    --------
    >>> def draw(picture: Annotated[Path, Positional("PICTURE")], *, wide: Wide = None) -> int: ...
    >>> Wide = Annotated[float | None, Option(("--wide",), "Width.", "MM")]
    >>> draw.__annotations__["wide"] = Wide
    >>> straight({"draw": draw}, ["draw", "kite.png", "--wide", "60"])[1]["wide"]
    60.0
    >>> straight({"draw": draw}, ["draw", "--help"]) is None
    True
    """
    command = commands.get(words[0]) if words else None
    if command is None or (os.name == "nt" and _EXPANDED & set("".join(words))):
        return None
    named, positional = declared(command)
    taken: dict[str, Any] = {}
    plain: list[str] = []
    rest = list(words[1:])
    while rest:
        word = rest.pop(0)
        if not word.startswith("-"):
            plain.append(word)
            continue
        name, equals, text = word.partition("=")
        key, kind, option = named.get(name, ("", None, None))
        if option is None or (equals and (option.metavar is None or not name.startswith("--"))):
            return None
        if option.metavar is None:
            taken[key] = True
            continue
        if not equals:
            if not rest or rest[0].startswith("-"):
                return None
            text = rest.pop(0)
        value = _value(kind, text)
        if value is None:
            return None
        taken[key] = [*taken.get(key, ()), value] if get_origin(kind) is list else value
    return _complete(command, taken, plain, positional)


def _complete(
    command: Callable[..., int],
    taken: dict[str, Any],
    plain: list[str],
    positional: tuple[str, Any, Positional] | None,
) -> tuple[Callable[..., int], dict[str, Any]] | None:
    """Add the words without a name; None if a word is missing or left over."""
    if positional is not None:
        key, kind, _ = positional
        many = get_origin(kind) is list
        values = [_value(kind, word) for word in plain]
        if not values or None in values or (len(values) > 1 and not many):
            return None
        taken[key] = values if many else values[0]
    elif plain:
        return None
    return None if any(name not in taken for name in required(command)) else (command, taken)


def required(command: Callable[..., int]) -> list[str]:
    """Return the keys of the words that a command cannot do without."""
    parameters = inspect.signature(command).parameters
    return [name for name, item in parameters.items() if item.default is inspect.Parameter.empty]


def declared(
    command: Callable[..., int],
) -> tuple[dict[str, tuple[str, Any, Option]], tuple[str, Any, Positional] | None]:
    """Return the options of a command by each of their names, and the parameter without one.

    Each with its key, its kind and how it is declared.
    """
    named: dict[str, tuple[str, Any, Option]] = {}
    positional = None
    for key, hint in get_type_hints(command, include_extras=True).items():
        if get_origin(hint) is not Annotated:
            continue
        kind, word = get_args(hint)[:2]
        if get_origin(kind) in (Union, types.UnionType):
            kind = next(item for item in get_args(kind) if item is not type(None))
        if isinstance(word, Positional):
            positional = (key, kind, word)
        else:
            named |= dict.fromkeys(word.names, (key, kind, word))
    return named, positional


def _value(kind: Any, text: str) -> Any:
    """Read one value; None where it is not plainly of its kind."""
    if get_origin(kind) is list:
        kind = get_args(kind)[0]
    if kind is int:
        return int(text) if _WHOLE.fullmatch(text) else None
    if kind is float:
        return float(text) if _NUMBER.fullmatch(text) else None
    if kind is Path:
        return Path(text) if text else None
    return text if kind is str else None
