"""Why a command line is not read, in our words: what is wrong, where, what to do.

Typer decides what is refused; its own words stand where nothing here explains it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, get_origin

from ..recipe.hints import nearest, number_hint, shown
from .grammar import Option, declared, required

__all__ = ["unread"]

_UNITS = {"MM": "mm"}


def unread(commands: Mapping[str, Callable[..., int]], words: Sequence[str]) -> str:
    """Return one sentence on what is wrong with a line, or an empty string where that is not known.

    Examples
    --------
    >>> from reliefsmith.command.cli import COMMANDS
    >>> unread(COMMANDS, ["mak", "kite.png"])
    "there is no command 'mak', did you mean make?"
    >>> unread(COMMANDS, ["make", "kite.png", "--width", "6,5"])
    "--width must be a number, got '6,5'; write 6.5"
    """
    if not words:
        return "no command was given; try 'reliefsmith --help'"
    name, *rest = words
    if name.startswith("-"):
        return ""
    if name not in commands:
        return _no_command(name, list(commands))
    line = _Line(name, commands[name])
    return line.fault(rest)


def _no_command(name: str, known: list[str]) -> str:
    told = f"there is no command {shown(name)}"
    if close := nearest(name, known):
        return told + close
    if Path(name).suffix:
        return f"{told}; for a picture say 'reliefsmith make {name}'"
    return f"{told}; there are {', '.join(known)}"


@dataclass(slots=True)
class _Line:
    """The words of one command as far as they are read."""

    name: str
    command: Callable[..., int]
    plain: list[str] = field(default_factory=list)
    taken: set[str] = field(default_factory=set)

    def fault(self, words: Sequence[str]) -> str:
        rest = list(words)
        while rest:
            word = rest.pop(0)
            if word == "--":
                self.plain += rest
                break
            if not word.startswith("-") or word == "-":
                self.plain.append(word)
            elif told := self._option(word, rest):
                return told
        return self._left()

    def _option(self, word: str, rest: list[str]) -> str:
        """Read an option and its value, which it takes from the rest."""
        named, _ = declared(self.command)
        name, equals, text = word.partition("=")
        short = not word.startswith("--") and word[:2] in named
        if name not in named and short:  # -oout, -qv
            name, equals, text = word[:2], "joined", word[2:]
            if named[name][2].metavar is None:
                rest.insert(0, f"-{text}")
                equals = ""
        if name not in named:
            return f"{self.name} has no option {name}{nearest(name, named) or self._help()}"
        key, kind, option = named[name]
        self.taken.add(key)
        if option.metavar is None:
            return f"{name} takes no value; leave {shown(text)} out" if equals else ""
        if not equals:
            if not rest:
                return f"{name} needs a value after it, {option.metavar}: {_told(option)}"
            text = rest.pop(0)
        return _value_fault(name, kind, option, text)

    def _left(self) -> str:
        """Say which words are missing or too many."""
        named, positional = declared(self.command)
        if positional is None:
            if self.plain:
                return f"{self.name} takes options only, got {shown(self.plain[0])}{self._help()}"
        else:
            key, kind, word = positional
            if not self.plain:
                return f"{self.name} needs a file after it, {word.metavar}{self._help()}"
            if "" in self.plain:
                return f"{self.name} got an empty name; give a file, {word.metavar}"
            if len(self.plain) > 1 and get_origin(kind) is not list:
                return (
                    f"{self.name} takes one {word.metavar} and got {shown(self.plain[1])} too; run it for"
                    " each, quote names with spaces, and put -o before a name to write to"
                )
            self.taken.add(key)
        for key in required(self.command):
            if key not in self.taken:
                option = next(item for own, _, item in named.values() if own == key)
                return f"{self.name} needs {option.names[0]} {option.metavar}: {_told(option)}"
        return ""

    def _help(self) -> str:
        return f"; try 'reliefsmith {self.name} --help'"


def _told(option: Option) -> str:
    """Return the help of an option as the end of a sentence."""
    return option.help[0].lower() + option.help[1:].rstrip(".")


def _value_fault(name: str, kind: Any, option: Option, text: str) -> str:
    """Say why a value is not of its kind, or nothing."""
    if kind is Path and not text:
        return f"{name} got an empty name; give {option.metavar}, or leave {name} out"
    if kind not in (int, float):
        return ""
    try:
        kind(text)
    except ValueError:
        hint = number_hint(text, _UNITS.get(option.metavar or "", ""), whole=kind is int)
        return f"{name} must be a {'whole ' if kind is int else ''}number, got {shown(text)}{hint}"
    return ""
