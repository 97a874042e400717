"""The contact page: every set with its own code, one code for all, names only when they are asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from core.documents.pages import Page
from core.orders.days import NAMES
from reliefsmith.command.cli import run
from reliefsmith.errors import OutputError
from reliefsmith.formats.setreading import read_set
from reliefsmith.orders.contact import write_contact
from reliefsmith.walk.approval import approval_of_sets

from .days import approval, copied
from .madesets import finding, made_set


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


def test_its_report_holds_the_codes_of_the_sets_and_that_of_all(tmp_path: Path) -> None:
    sets = [made_set(tmp_path, "0001"), made_set(tmp_path, "0007", 30.0)]
    report = write_contact(sets, str(tmp_path / "contact"), named=False, replace=False)
    own = {one.name: one.report["approval"] for one in sets}
    assert report["sets"] == own
    assert set(own) == {"1", "7"}
    whole = approval_of_sets({name: said["digest"] for name, said in own.items()})
    assert report["approval"] == {"digest": whole.digest, "code": whole.code}


@pytest.mark.parametrize("named", [False, True])
def test_a_card_says_how_many_how_large_and_for_whom_only_when_asked(named: bool, tmp_path: Path) -> None:
    said = {"order__quantity": 3, "order__customer": "Tobin", "order__spelling": "TOBIN 7"}
    warned = [finding("sharp-tip", "A tip is sharp.")]
    one = made_set(tmp_path, "0004", 20.0, audience="children", findings=warned, **said)
    write_contact([one], str(tmp_path / "contact"), named=named, replace=False)
    text = Page((tmp_path / "contact" / "contact.html").read_bytes()).text()
    assert "3 pieces, 20.0 × 12.0 × 2.6 mm" in text
    assert "Row 4: A tip is sharp." in text
    assert ("Tobin" in text) == ("TOBIN 7" in text) == named


@pytest.mark.parametrize("said", [None, {}, {"digest": "1"}, {"code": "1"}, "AAAAA"])
def test_a_set_without_a_code_is_refused_and_nothing_is_written(said: Any, tmp_path: Path) -> None:
    sets = [made_set(tmp_path, "0001"), made_set(tmp_path, "0002", approval=said)]
    with pytest.raises(OutputError, match="0002 has no code of approval"):
        write_contact(sets, str(tmp_path / "contact"), named=False, replace=False)
    assert not (tmp_path / "contact").exists()


def test_files_of_others_stay_unless_they_may_be_replaced(tmp_path: Path) -> None:
    (tmp_path / "contact").mkdir()
    page = tmp_path / "contact" / "contact.html"
    page.write_text("mine")
    sets = [made_set(tmp_path, "0001")]
    with pytest.raises(OutputError):
        write_contact(sets, str(page.parent), named=False, replace=False)
    write_contact(sets, str(page.parent), named=False, replace=True)
    assert page.read_text() != "mine"
