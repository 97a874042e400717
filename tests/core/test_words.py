"""Command lines read straight: the same call as Typer's, and Typer for all that is not well-formed."""

from __future__ import annotations

import functools
import inspect
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.command import cli
from reliefsmith.command.explain import command_line
from reliefsmith.command.grammar import straight

_TEXTS = st.sampled_from(
    ["kite.png", "a b.png", "out", "x=y", "", "base.border_mm=2", "Ünder", "3", "0.5", "=", "@"]
)
_NUMBERS = st.sampled_from(
    ["60", "0.25", "007", "12345678", "6_0", "1e3", "nan", " 60", "+5", "60.", ".5", "٣"]
)
_OPTIONS = {
    "make": ["-o", "--output", "--recipe", "--preset", "--width", "--height", "--colors", "--set"],
    "areas": ["-o", "--output", "--recipe", "--width", "--colors", "--set", "--keep-stages"],
    "ways": ["-o", "--pick", "--recipe", "--height", "--set"],
    "check": ["--recipe", "--preset", "--set"],
    "coupon": ["-o", "--output", "--set"],
    "recipe": ["--preset"],
}
_FLAGS = st.sampled_from(["--json", "-q", "--quiet", "--verbose", "-v", "-qv", "--help", "--", "-", "--jso"])


@st.composite
def _lines(draw: st.DrawFn) -> list[str]:
    name = draw(st.sampled_from(sorted(_OPTIONS)))
    line = [name]
    for _ in range(draw(st.integers(0, 5))):
        kind = draw(st.sampled_from(["plain", "option", "option", "joined", "flag"]))
        if kind == "plain":
            line.append(draw(_TEXTS))
        elif kind == "flag":
            line.append(draw(_FLAGS))
        else:
            option, value = draw(st.sampled_from(_OPTIONS[name])), draw(st.one_of(_TEXTS, _NUMBERS))
            line += [option, value] if kind == "option" else [f"{option}={value}"]
    return line


def _recording(calls: list[tuple[str, dict[str, Any]]]) -> dict[str, Any]:
    """The commands of the program, which only note how they were called."""

    def recorder(name: str, command: Any) -> Any:
        @functools.wraps(command)
        def note(*args: Any, **values: Any) -> int:
            bound = inspect.signature(command).bind(*args, **values)
            bound.apply_defaults()
            calls.append((name, dict(bound.arguments)))
            return 0

        return note

    return {name: recorder(name, command) for name, command in cli.COMMANDS.items()}


@given(_lines())
def test_what_is_read_straight_is_read_as_typer_reads_it(line: list[str]) -> None:
    calls: list[tuple[str, dict[str, Any]]] = []
    commands = _recording(calls)
    found = straight(commands, line)
    if found is None:
        return
    command, values = found
    command(**values)
    assert command_line(commands, "reliefsmith", "")(line, standalone_mode=False) == 0
    own, others = calls
    assert own[0] == others[0]
    for key, value in own[1].items():
        other = others[1][key]
        assert (value or None) == (other or None), key
        assert type(value) is type(other) or not value


@pytest.mark.parametrize(
    "line",
    [
        ["make", "kite.png"],
        [
            "make",
            "kite.png",
            "-o",
            "out",
            "--width",
            "60.5",
            "--colors=3",
            "-q",
            "--set",
            "a.b=1",
            "--set",
            "c.d=2",
        ],
        ["areas", "-o", "kite.svg", "kite.png", "--json"],
        ["check", "a.stl", "b.stl"],
        ["recipe", "--preset", "coaster"],
    ],
    ids=" ".join,
)
def test_everyday_lines_are_read_straight(line: list[str]) -> None:
    assert straight(cli.COMMANDS, line) is not None


@pytest.mark.parametrize(
    "line",
    [
        [],
        ["--help"],
        ["make"],
        ["make", "--help"],
        ["make", "a.png", "b.png"],
        ["make", "a.png", "--width"],
        ["make", "a.png", "--width", "-3"],
        ["make", "a.png", "--width", "wide"],
        ["make", "a.png", "--colors", "2.5"],
        ["make", "a.png", "--colour", "3"],
        ["make", "a.png", "--quiet=yes"],
        ["make", "a.png", "-oout"],
        ["areas", "a.png"],
        ["mak", "a.png"],
    ],
    ids=" ".join,
)
def test_other_lines_are_left_to_typer(line: list[str]) -> None:
    assert straight(cli.COMMANDS, line) is None


def test_a_list_takes_every_word_and_a_repeated_option(tmp_path: Path) -> None:
    found = straight(cli.COMMANDS, ["check", "a.stl", "b.stl", "--set", "x.y=1", "--set=z.w=2"])
    assert found is not None
    assert found[1] == {"files": [Path("a.stl"), Path("b.stl")], "sets": ["x.y=1", "z.w=2"]}


def test_completion_and_an_empty_line_go_to_typer(monkeypatch, capsys) -> None:
    assert cli.run([]) == 2
    assert capsys.readouterr().err == "error: no command was given; try 'reliefsmith --help'\n"
    monkeypatch.setenv("_RELIEFSMITH_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", "reliefsmith ma")
    monkeypatch.setenv("COMP_CWORD", "1")
    with pytest.raises(SystemExit):
        cli.run(["recipe"])
    assert capsys.readouterr().out.split() == ["make"]
