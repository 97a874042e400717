"""Files on disk against what was approved: of one set, of all together, and what was changed since."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lamps import draw_lamp
from reliefsmith.command.cli import run
from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.errors import OutputError, RecipeError
from reliefsmith.model import Approval
from reliefsmith.orders.signed import all_of, signed_mapping, signed_sets, told
from reliefsmith.walk.approval import approval_of_sets, code_of
from reliefsmith.walk.pipeline import make

from .days import approval, copied
from .madesets import made_set


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set with proof and sheet."""
    folder = tmp_path_factory.mktemp("one")
    picture = draw_lamp(folder / "lamp.png")
    words = ["--set", "order.spelling=LARKWATER 26", "--set", "order.customer=Tobin", "--quiet"]
    assert run(["make", str(picture), "-o", str(folder / "set"), *words]) == 0
    return folder / "set"


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
    result = make(draw_lamp(tmp_path / "lamp.png")).result
    one, other = (replace(result, approval=Approval("", code)) for code in ("AAAAA-AAAAA-A", "BBBBB-BBBBB-B"))
    assert proof_png(one) == proof_png(one)
    assert proof_png(one) != proof_png(other)


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


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """A folder of two small sets, named as rows of a batch."""
    for row, width in ((1, 20.0), (2, 30.0)):
        made_set(tmp_path, f"{row:04d}", width)
    return tmp_path


def test_sets_hold_by_their_own_codes_and_all_by_that_of_all(two: Path) -> None:
    sets = signed_sets([two])
    codes = [one.now.code for one in sets if one.now]
    assert [one.name for one in sets] == ["1", "2"]
    assert [one.holds for one in sets] == [True, True]
    findings, lines = told(sets, None)
    assert findings == []
    assert [line.rpartition(" ")[2] for line in lines] == codes
    assert told(sets, codes[1].lower()) == ([], lines[1:])
    whole = all_of(sets)
    assert whole == approval_of_sets({one.name: one.drawn for one in sets})
    assert told(sets, whole.code) == ([], [f"the files of all 2 sets are those of code {whole.code}"])
    assert "the one set" in told(sets[:1], all_of(sets[:1]).code)[1][0]
    rows = signed_mapping(sets, findings)["sets"]
    assert rows == [{"name": n, "code": c, "approved": True} for n, c in zip("12", codes, strict=True)]


def test_of_changed_sets_those_that_hold_are_told_too_and_all_have_no_code_of_before(two: Path) -> None:
    before = all_of(signed_sets([two]))
    path = two / "0002" / "0002-base.stl"
    path.write_bytes(path.read_bytes()[:-1] + b"x")
    sets = signed_sets([two])
    ((one,), lines) = told(sets, None)
    assert one.message.endswith("are not those of its proof. Changed since: 0002-base.stl.")
    assert len(lines) == 1
    ((other,), lines) = told(sets, before.code)
    assert other.code == "not-approved"
    assert f"their code is {all_of(sets).code}. Changed since: 0002-base.stl." in other.message
    assert lines == []
    path.unlink()
    assert all_of(signed_sets([two])) != before


def test_a_set_whose_recipe_is_gone_has_no_code_and_neither_have_all(two: Path) -> None:
    (two / "0001" / "0001-recipe.toml").write_text("[[")
    sets = signed_sets([two])
    assert sets[0].now is None
    assert not sets[0].holds
    assert all_of(sets) is None
    ((one,), _) = told(sets, code_of("12" * 32))
    assert ", their code" not in one.message
    assert signed_mapping(sets, [one])["sets"][0] == {"name": "1", "code": None, "approved": False}


@pytest.mark.parametrize("approval", [None, "x", {"digest": 3}])
def test_a_report_without_a_code_says_so(approval: Any, tmp_path: Path) -> None:
    made_set(tmp_path, "kite", approval=approval)
    (one,) = signed_sets([tmp_path / "kite"])
    assert one.drawn == ""
    assert "has no code of approval" in told([one], None)[0][0].message


def test_what_is_no_code_or_no_report_is_refused(tmp_path: Path) -> None:
    made_set(tmp_path, "kite")
    with pytest.raises(RecipeError, match="is no approval code"):
        told(signed_sets([tmp_path / "kite"]), "kite")
    (tmp_path / "kite" / "kite-report.json").write_text('{"frame": {}, "files": {"../x": ""}}')
    with pytest.raises(OutputError, match="is no report"):
        signed_sets([tmp_path / "kite"])
