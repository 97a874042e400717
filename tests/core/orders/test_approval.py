"""Approval: the digest by its own rule, codes that show a slip, files on disk against what was approved."""

from __future__ import annotations

import hashlib
import json
import random
import re
from pathlib import Path
from typing import Any

import pytest

from core.orders.days import NAMES, make_day
from lamps import draw_lamp
from reliefsmith.command.cli import run
from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.errors import RecipeError
from reliefsmith.formats.setreading import read_set
from reliefsmith.model import Approval
from reliefsmith.recipe import Recipe
from reliefsmith.walk.approval import code_of, read_code, text_as_read
from reliefsmith.walk.pipeline import make

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set with proof and sheet."""
    folder = tmp_path_factory.mktemp("one")
    picture = draw_lamp(folder / "lamp.png")
    words = ["--set", "order.spelling=LARKWATER 26", "--set", "order.customer=Tobin", "--quiet"]
    assert run(["make", str(picture), "-o", str(folder / "set"), *words]) == 0
    return folder / "set"


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_day(tmp_path_factory.mktemp("kite-day"))


def copied(folder: Path, to: Path) -> Path:
    for path in folder.rglob("*.*"):
        (to / path.relative_to(folder)).parent.mkdir(parents=True, exist_ok=True)
        (to / path.relative_to(folder)).write_bytes(path.read_bytes())
    return to


def approval(folder: Path) -> dict[str, str]:
    (path,) = folder.glob("*-report.json")
    found: dict[str, str] = json.loads(path.read_text())["approval"]
    return found


def test_the_digest_is_that_of_geometry_recipe_and_text(made: Path) -> None:
    """Taken by hand, as the rule says: sorted lines "role, SHA-256", without proof, sheet, SVG and GLB."""
    text = "customer: Tobin\nspelling: LARKWATER 26"
    lines = [f"text, {hashlib.sha256(text.encode()).hexdigest()}"]
    for path in made.iterdir():
        if path.suffix in (".3mf", ".stl") or path.name.endswith("-recipe.toml"):
            role = path.name.removeprefix("lamp").lstrip("-.")
            lines.append(f"{role}, {hashlib.sha256(path.read_bytes()).hexdigest()}")
    assert [line.partition(",")[0] for line in sorted(lines)] == [
        "3mf", "base.stl", "recipe.toml", "text", "yellow.stl",
    ]  # fmt: skip
    digest = hashlib.sha256("".join(f"{line}\n" for line in sorted(lines)).encode()).hexdigest()
    assert approval(made) == {"digest": digest, "code": code_of(digest)}
    assert approval(made)["code"] in (made / "lamp-sheet.html").read_text()


def test_the_proof_shows_the_code_and_is_no_part_of_it(tmp_path: Path) -> None:
    from dataclasses import replace

    result = make(draw_lamp(tmp_path / "lamp.png")).result
    one, other = (replace(result, approval=Approval("", code)) for code in ("AAAAA-AAAAA-A", "BBBBB-BBBBB-B"))
    assert proof_png(one) == proof_png(one)
    assert proof_png(one) != proof_png(other)


def test_a_code_is_letters_and_digits_only_with_its_value_modulo_37() -> None:
    rng = random.Random(1)
    for _ in range(300):
        digest = f"{rng.getrandbits(256):064x}"
        code = code_of(digest)
        assert re.fullmatch(f"[{SYMBOLS}]{{5}}-[{SYMBOLS}]{{5}}-[{SYMBOLS}]", code)
        value = 0
        for symbol in code[:11].replace("-", ""):
            value = value * 32 + SYMBOLS.index(symbol)
        assert SYMBOLS.index(code[-1]) == value % 37
        bits = f"{int(digest, 16):0256b}"
        assert f"{value:050b}" in {bits[start : start + 50] for start in range(0, 207, 5)}


def test_any_one_wrong_symbol_and_any_exchanged_neighbors_are_noticed() -> None:
    rng = random.Random(2)
    for _ in range(20):
        code = code_of(f"{rng.getrandbits(256):064x}").replace("-", "")
        wrong = {code[:at] + symbol + code[at + 1 :] for at in range(11) for symbol in SYMBOLS}
        wrong |= {code[:at] + code[at + 1] + code[at] + code[at + 2 :] for at in range(9)}
        for one in wrong - {code}:
            with pytest.raises(RecipeError, match="was misread"):
                read_code(one)


def test_codes_are_read_as_people_write_them() -> None:
    code = "0123Z-10ABC-"
    value = 0
    for symbol in code.replace("-", ""):
        value = value * 32 + SYMBOLS.index(symbol)
    code += SYMBOLS[value % 37] if value % 37 < 32 else pytest.skip("another example is needed")
    for said in (code.lower(), code.replace("-", " "), code.replace("0", "O").replace("1", "l"), f" {code} "):
        assert read_code(said) == code
    for said in ("", "0123Z", "0123Z-10ABC", "0123Z-10AB!-0", "ÄÖÜ"):
        with pytest.raises(RecipeError, match="is no approval code"):
            read_code(said)


def test_check_tells_whether_the_files_are_those_approved(made: Path, tmp_path: Path, capsys: Any) -> None:
    code = approval(made)["code"]
    assert run(["check", str(made)]) == 0
    assert run(["check", str(made), "--approved", code.lower()]) == 0
    assert f"are those of code {code}" in capsys.readouterr().err
    assert run(["check", str(made), "--approved", code[:-1] + ("0" if code[-1] != "0" else "1")]) == 2
    assert "was misread" in capsys.readouterr().err
    other = code_of("12" * 32)
    assert run(["check", str(made), "--approved", other]) == 1
    assert f"not the files of code {other}, their code is {code}" in capsys.readouterr().err


@pytest.mark.parametrize("end", ["-yellow.stl", ".3mf", "-recipe.toml"])
def test_a_changed_file_is_not_what_was_approved(made: Path, tmp_path: Path, end: str, capsys: Any) -> None:
    folder = copied(made, tmp_path / "set")
    path = folder / f"lamp{end}"
    path.write_bytes(path.read_bytes() + b"\n")
    assert run(["check", str(folder)]) == 1
    assert f"Changed since: lamp{end}." in capsys.readouterr().err
    assert run(["check", str(folder), "--approved", approval(made)["code"]]) == 1
    path.unlink()
    assert run(["check", str(folder), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert [item["code"] for item in told["findings"]] == ["not-approved"]
    assert told["sets"][0]["approved"] is False


def test_another_proof_or_preview_is_no_change_of_what_was_approved(made: Path, tmp_path: Path) -> None:
    folder = copied(made, tmp_path / "set")
    (folder / "lamp-proof.png").write_bytes(b"drawn anew")
    assert run(["check", str(folder), "--approved", approval(made)["code"], "--quiet"]) == 0


@pytest.mark.parametrize("words", [["--approved", "0"], ["--approved", ""], []])
def test_codes_and_folders_go_together(made: Path, words: list[str], capsys: Any) -> None:
    file = str(made / "lamp.3mf")
    assert run(["check", file, *([] if words else [str(made)]), *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_text_is_composed_and_holds_what_is_read_back() -> None:
    said = {"order.title": "Ce\u0301rf", "order.spelling": "A 1", "order.deadline": "soon"}
    assert text_as_read(Recipe().with_values(said)) == "title: C\u00e9rf\nspelling: A 1"
    assert text_as_read(Recipe()) == ""
    texts = [{"text": "MIRABEL", "at_mm": [0, -20]}]
    words = {"kind": "replace", "polygon_mm": [[0, 0], [9, 0], [9, 9]], "words": "TOBIN"}
    set_anew = Recipe().with_values({"lettering": texts, "marks": [words]})
    assert text_as_read(set_anew) == "lettering: MIRABEL\nlettering set anew: TOBIN"


def test_the_contact_page_has_every_row_one_code_for_all_and_names_only_when_asked(
    day: Path, tmp_path: Path, capsys: Any
) -> None:
    out = tmp_path / "contact"
    assert run(["contact", str(day), "-o", str(out)]) == 0
    page, code = (out / "contact.html").read_text(), approval(out)["code"]
    assert code in page
    assert all(approval(day / f"{row:04d}")["code"] in page for row in (1, 2, 3))
    assert page.count("<article") == 3
    assert not any(name in page for name in NAMES)
    assert "swallowed" in page
    assert read_set(out).is_set
    assert run(["check", str(day), "--approved", code]) == 0
    assert "all 3 sets" in capsys.readouterr().err
    assert run(["contact", str(day), "-o", str(out), "--names", "--quiet"]) == 0
    assert all(name in (out / "contact.html").read_text() for name in NAMES)
    assert approval(out)["code"] == code


def test_a_contact_page_of_other_files_is_not_drawn(day: Path, tmp_path: Path, capsys: Any) -> None:
    folder = copied(day, tmp_path / "day")
    (folder / "0002" / "0002-base.stl").write_bytes(b"torn")
    assert run(["contact", str(folder), "-o", str(tmp_path / "contact")]) == 2
    assert "is no whole set" in capsys.readouterr().err
    assert not (tmp_path / "contact").exists()
