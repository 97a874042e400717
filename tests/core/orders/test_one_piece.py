"""An order of one piece is spoken of as one, on every page and in every line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lamps import draw_lamp
from reliefsmith.command.cli import run

THINGS = "pieces|beds|proofs|sets|rows|parts|colors|changes|color changes|findings|areas|layers|corrections"
ONE_OF_MANY = re.compile(rf"(?<![\d.,/–-])\b1 (?:{THINGS})\b|each of 1\b")


def words_of(path: Path) -> str:
    shown = re.sub(r"<(script|style).*?</\1>", " ", path.read_text(), flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", shown))


def test_one_is_never_told_as_many(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture, made = draw_lamp(tmp_path / "lamp.png"), str(tmp_path / "set")
    assert run(["make", str(picture), "-o", made, "--set", "colors.count=1"]) == 0
    assert "before layer 11 " in capsys.readouterr().err
    coarse = ("--set", "beds.cell_mm=1")  # which is quicker
    for command, words in (("beds", coarse), ("quote", coarse), ("contact", ())):
        assert run([command, made, "-o", str(tmp_path / command), *words]) == 0
    said = capsys.readouterr().err
    code = re.search(r"code (\S+) for all", said)
    assert code
    assert run(["check", made, "--approved", code[1]]) == 0
    said += capsys.readouterr().err
    assert "1 piece on 1 bed, " in said
    assert "no work is counted" in said
    assert " failed when last made" not in said
    assert "1 proof, code" in said
    assert "the files of the one set" in said
    pages = sorted(path for ending in ("html", "csv") for path in tmp_path.rglob(f"*.{ending}"))
    assert len(pages) == 7
    for text in (said, *map(words_of, pages)):
        assert not (found := ONE_OF_MANY.search(text)), text[max(found.start() - 40, 0) : found.end() + 20]
