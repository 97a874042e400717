"""What a user types lands escaped in every file, and a narrow console never stops a run."""

from __future__ import annotations

import io
import json
import re
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import pytest
from lxml import etree, html

import reliefsmith as rs
from deep import runs
from reliefsmith.settings import specs

MARKUP = "</title></style>--><script>alert(1)</script><img src=x onerror=alert(1)>&amp;\"'`]]>${x}%s{0}"
FIELDS = {
    f"{name}.{key}": int(spec.high or 80)
    for name, section in rs.Recipe().sections()
    for key, spec in specs(type(section)).items()
    if spec.kind == "text"
}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A set with markup in every text field and in the picture's name."""
    folder = tmp_path_factory.mktemp("text")
    picture = runs.draw(folder).rename(folder / "a<b>&c 'd' \"e\" é凧.png")
    values: dict[str, Any] = {key: MARKUP[:high] for key, high in FIELDS.items()}
    relief = rs.make(picture, rs.Recipe().with_values(values))
    relief.write(folder / "set")
    return {path.name: path.read_bytes() for path in (folder / "set").iterdir()}


def _one(files: dict[str, bytes], ending: str) -> bytes:
    return next(data for name, data in files.items() if name.endswith(ending))


def test_every_text_field_was_filled() -> None:
    assert {"order.title", "order.customer", "order.code"} <= set(FIELDS)


def test_names_of_files_are_plain(files: dict[str, bytes]) -> None:
    assert {name.split("-")[0].split(".")[0] for name in files} == {"a_b__c _d_ _e_ é凧"}


def test_the_sheet_holds_the_text_and_none_of_its_markup(files: dict[str, bytes]) -> None:
    page = html.fromstring(_one(files, ".html").decode())
    title = MARKUP[: FIELDS["order.title"]]
    assert title in page.text_content()
    assert not page.xpath("//img[@src='x'] | //*[@onerror]")
    assert all("alert(1)" not in (script.text or "") for script in page.iter("script"))
    assert title in page.find(".//head/title").text


def test_xml_files_stay_well_formed_and_hold_no_element_of_the_text(files: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(_one(files, ".3mf"))) as package:
        texts = [package.read(name) for name in package.namelist() if not name.endswith(".png")]
    for text in [*texts, _one(files, ".svg")]:
        tree = etree.fromstring(text)
        assert not {etree.QName(one).localname for one in tree.iter(etree.Element)} & {"script", "img"}
    assert any(
        MARKUP[: FIELDS["order.title"]] in "".join(etree.fromstring(text).itertext()) for text in texts
    )


def test_recipe_and_report_give_the_text_back(files: dict[str, bytes]) -> None:
    recipe = tomllib.loads(_one(files, ".toml").decode())
    for key, high in FIELDS.items():
        section, _, name = key.partition(".")
        assert recipe[section][name] == MARKUP[:high]
    json.loads(_one(files, ".json"))


def test_the_proof_holds_no_text_chunks_of_its_own(files: dict[str, bytes]) -> None:
    """Nothing of the picture's own notes or profile comes along, and no date either."""
    proof = _one(files, "-proof.png")
    kinds = set(re.findall(rb"(?<=.{4})(tEXt|zTXt|iTXt|eXIf|tIME|iCCP)", proof, re.DOTALL))
    assert not kinds


def test_notes_inside_the_picture_are_not_passed_on(tmp_path: Path) -> None:
    from PIL import Image, PngImagePlugin

    notes, exif = PngImagePlugin.PngInfo(), Image.Exif()
    notes.add_text("Comment", "hidden-canary")
    exif[0x010E] = "hidden-canary"
    picture = runs.draw(tmp_path)
    with Image.open(picture) as image:
        image.load()
        image.save(picture, pnginfo=notes, exif=exif)
    assert b"hidden-canary" in picture.read_bytes()
    rs.make(picture).write(tmp_path / "set")
    for path in (tmp_path / "set").iterdir():
        assert b"hidden-canary" not in path.read_bytes(), path.name


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "utf-8"])
def test_a_narrow_console_does_not_stop_a_run(encoding: str, tmp_path: Path) -> None:
    picture = runs.draw(tmp_path).rename(tmp_path / "凧 é.png")
    words = [
        "make",
        str(picture),
        "-o",
        str(tmp_path / "out 凧"),
        "--set",
        "order.title=凧 \u2028é",
        "--json",
    ]
    run = runs.started(words, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    out, said = run.communicate(timeout=120)
    assert run.returncode in (0, 1), said
    assert "Traceback" not in said
    assert json.loads(out)["schema"] == 1


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no names that are no text")
def test_a_name_that_is_no_text_is_told_and_used(tmp_path: Path) -> None:
    import os

    name = os.fsdecode(b"k\xff\xfe.png")
    picture = runs.draw(tmp_path).rename(tmp_path / name)
    status, said = runs.finished(["make", str(picture), "-o", str(tmp_path / os.fsdecode(b"out\xff"))])
    assert status in (0, 1), said
    assert "Traceback" not in said
