"""Command lines of the words that commands declare: each is a call, or one line of error."""

from __future__ import annotations

import contextlib
import functools
import inspect
import io
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import Any
from unittest import mock

from deep.changes import NUMBERS, STRANGE, mutated_text
from reliefsmith.command import cli
from reliefsmith.errors import ReliefsmithError
from reliefsmith.recipe.asked import asked_recipe

__all__ = ["line_seeds", "mutated_line", "read_line"]

_PLAIN = ("kite.png", "a b.png", "hung-1.npz", "kite.stl", "out", "x=y", "", "base.border_mm=2", "60", "0.5")
_PLAIN += ("size.width_mm=60", 'marks=[{kind="erase", at_mm=[1,2]}]', "7", "tag", "@", "=", "-", "--")
_ANYWHERE = ("--help", "--version", "-qv", "-h", "--jso", "--no-json", "-o=x", "--set=", "--width=-3")


def line_seeds() -> tuple[bytes, ...]:
    """Everyday lines, their words parted by NUL, which no word can hold."""
    lines = (
        ["make", "kite.png"],
        ["make", "kite.png", "-o", "out", "--width", "60.5", "--colors=3", "-q", "--set", "order.title=kite"],
        ["areas", "-o", "kite.svg", "kite.png", "--json", "--height=40"],
        ["check", "a.stl", "b.3mf", "--set", "audience=children"],
        ["coupon", "-o", "out", "--set=heights.layer_mm=0.12"],
        ["ways", "kite.png", "--pick", "2", "-o", "mine.toml"],
        ["batch", "day.csv", "-o", "out", "--jobs=2", "--proofs", "--set", "base.border_mm=2"],
        ["beds", "day", "kite-relief", "-o", "out", "--again", "3,7", "--set=beds.spacing_mm=6"],
        ["quote", "day", "-o", "out", "--recipe", "shop.toml", "--json"],
        ["contact", "day", "-o", "out", "--names"],
        ["class", "names.csv", "-o", "out"],
        ["collect", "photos", "--list=30", "-o", "out", "--json"],
        ["batch", "class.csv", "-o", "out", "--palette", "5", "--names"],
        ["forget", "3", "day", "out"],
        ["check", "day", "--approved", "0123Z-10ABC-0"],
        ["recipe", "--preset", "tag"],
    )
    return tuple("\0".join(words).encode() for words in lines)


def mutated_line(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Put together words of a command, or change the text of an everyday line."""
    roll = rng.random()
    if roll < 0.35:
        return mutated_text(rng, seeds)
    line = "\0".join(_line(rng)).encode("utf-8", "surrogatepass")
    return mutated_text(rng, [line]) if roll < 0.5 else line


def _line(rng: Random) -> list[str]:
    name = rng.choice(list(cli.COMMANDS))
    known = _options(name)
    words = [name] if rng.random() < 0.95 else []
    for _ in range(rng.randrange(6)):
        roll = rng.random()
        if roll < 0.3:
            words.append(rng.choice(_PLAIN))
        elif roll < 0.4:
            words.append(rng.choice((*_ANYWHERE, *STRANGE)))
        else:
            option = rng.choice(known)
            word = rng.choice(option.opts)
            value = rng.choice((*_PLAIN, *NUMBERS) if rng.random() < 0.3 else _PLAIN)
            if option.is_flag:
                words.append(word)
            else:
                words += [word, value] if rng.random() < 0.6 else [f"{word}={value}"]
    return words


@functools.cache
def _options(name: str) -> tuple[Any, ...]:
    """The options that a command declares, as the library knows them."""
    return tuple(
        one for one in cli.program(cli.COMMANDS).commands[name].params if one.param_type_name == "option"
    )


def read_line(data: bytes, _folder: Path) -> object:
    """Run a line with commands that only read their settings."""
    status, out, said, calls = _run(data.decode("utf-8", "surrogateescape").split("\0"))
    assert status in (0, 2), f"status {status}"
    assert len(calls) <= 1, "more than one command was called"
    if status == 0:
        assert said == "", "done, and something was said"
        return out
    assert out == "", "refused, and something stands on stdout"
    assert said.startswith("error: ")
    assert said.endswith("\n")
    raise ReliefsmithError(_one_line(said))


def _one_line(said: str) -> str:
    line = said.removeprefix("error: ").removesuffix("\n")
    assert line.isprintable(), "an error is not one printable line"
    return line


def _run(words: list[str]) -> tuple[int, str, str, list[Any]]:
    """Return status, stdout, stderr and the call that came of a line."""
    calls: list[Any] = []
    known = cli.program({name: _recorder(name, command, calls) for name, command in cli.COMMANDS.items()})
    out, said = io.StringIO(), io.StringIO()
    instead = mock.patch.object(cli, "_usual", return_value=known)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(said), instead:
        status = cli.run(list(words))
    return status, out.getvalue(), said.getvalue(), calls


def _recorder(name: str, command: Callable[..., int], calls: list[Any]) -> Callable[..., int]:
    """A command that notes how it was called and puts its recipe together, as the real one does first."""

    @functools.wraps(command)
    def note(*args: Any, **values: Any) -> int:
        bound = inspect.signature(command).bind(*args, **values)
        bound.apply_defaults()
        # By what they look like: a number that is none is not equal to itself.
        calls.append((name, {key: repr(value or None) for key, value in bound.arguments.items()}))
        taken = ("width", "height", "colors", "sets")
        flags = {key: bound.arguments[key] for key in taken if key in bound.arguments}
        asked_recipe(bound.arguments.get("recipe"), bound.arguments.get("preset"), **flags)
        return 0

    return note
