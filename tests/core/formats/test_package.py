"""Packages: only plain entries are unpacked, within one budget, and one of them is the start."""

from __future__ import annotations

import io
import struct
import zipfile

import pytest

from reliefsmith.formats import package as module
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.package import Package, parsed, xml_parser

from .models import KIND, PACKAGES, RELATIONS, START, TYPES, packed

TEXT = b"<kite/>"


def refused(data: bytes, word: str) -> None:
    with pytest.raises(BadFileError, match=word):
        Package(data)


def test_entries_are_found_by_name_in_any_case_and_the_start_is_named() -> None:
    package = Package(packed(TEXT, ("Metadata/heron.png", b"png")))
    assert package.start == "3D/a.model"
    assert package.entry(package.start) == package.entry("3d/A.Model") == TEXT
    assert package.entry("Metadata/heron.png") == b"png"
    with pytest.raises(BadFileError, match=r"the package has no kite\?\.model"):
        package.entry("kite\n.model")


@pytest.mark.parametrize("name", ["3D/Other/", "other/deep/"])
def test_a_folder_is_no_entry(name: str) -> None:
    package = Package(packed(TEXT, (name, b"")))
    with pytest.raises(BadFileError, match="has no"):
        package.entry(name)


@pytest.mark.parametrize(
    "name", ["/a", "a//b", "../a", "a/./b", ".hidden", "a/.hidden", "C:/a", "a\\b", "a/b/..", "x.rels/"]
)
def test_names_that_are_not_plain_are_refused(name: str) -> None:
    """ECMA-376 part 2, 6.2.2: no empty segment, none of dots only; the rest is what unpackers trip over."""
    refused(packed(TEXT, (name, b"x")), "forbidden name")


def test_relations_of_folders_may_be_hidden() -> None:
    assert Package(packed(TEXT, ("3D/_rels/.rels", b""), ("a.b/c..d", b""))).entry("a.b/c..d") == b""


def test_two_entries_of_one_name_are_refused_whatever_their_case() -> None:
    refused(packed(TEXT, ("3d/A.MODEL", b"")), "two entries of one name")


def test_only_plain_and_deflated_entries_without_a_password_are_read() -> None:
    out = io.BytesIO(packed(TEXT))
    with zipfile.ZipFile(out, "a") as target:
        target.writestr("a.png", b"png", zipfile.ZIP_STORED)
    assert Package(out.getvalue()).entry("a.png") == b"png"
    with zipfile.ZipFile(out, "a") as target:
        target.writestr("b.png", b"png", zipfile.ZIP_LZMA)
    refused(out.getvalue(), "packed by a method")
    locked = bytearray(packed(TEXT))
    at = locked.rindex(b"PK\1\2") + 8  # general purpose flags of the last entry (APPNOTE 4.3.12)
    locked[at] |= 1
    refused(bytes(locked), "encrypted")


def test_the_budget_of_all_entries_together_is_held(monkeypatch: pytest.MonkeyPatch) -> None:
    data = packed(TEXT, ("a", b"x" * 300), ("b", b"x" * 300))
    used = len(RELATIONS) + len(TYPES)
    monkeypatch.setattr(module, "MAX_UNPACKED_BYTES", used + 600)
    package = Package(data)
    assert len(package.entry("a") + package.entry("b")) == 600
    with pytest.raises(BadFileError, match="unpacks to more than 0 MiB"):
        package.entry("3D/a.model")


@pytest.mark.parametrize("free", [False, True])
def test_what_unpacks_to_far_more_than_its_size_is_refused_unless_it_is_small(
    monkeypatch: pytest.MonkeyPatch, free: bool
) -> None:
    """10,000 equal bytes are deflated to some 30: 333 to 1."""
    monkeypatch.setattr(module, "RATIO_FREE_BYTES", 10_000 if free else 9_999)
    package = Package(packed(TEXT, ("a", b"x" * 10_000)))
    if free:
        assert len(package.entry("a")) == 10_000
    else:
        with pytest.raises(BadFileError, match="more than 200 times its size"):
            package.entry("a")


def test_a_size_that_is_a_lie_is_found_out() -> None:
    """The directory says one byte more or less than there is (APPNOTE 4.3.12: size at 24)."""
    for wrong in (-1, 1):
        data = bytearray(packed(TEXT))
        at = data.rindex(b"PK\1\2") + 24
        struct.pack_into("<I", data, at, len(TEXT) + wrong)
        package = Package(bytes(data))
        with pytest.raises(BadFileError, match="damaged or cut off"):
            package.entry("3D/a.model")


def test_as_many_entries_as_the_bound_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MAX_ENTRIES", 3)
    assert Package(packed(TEXT)).start
    refused(packed(TEXT, ("a", b"")), "more than 3 entries")


def test_damaged_bytes_are_told() -> None:
    data = bytearray(packed(TEXT * 30))
    at = data.index(b"3D/a.model") + len("3D/a.model")
    data[at : at + 4] = b"\xff" * 4
    with pytest.raises(BadFileError, match="damaged"):
        Package(bytes(data)).entry("3D/a.model")
    refused(b"PK", "damaged or cut off")


@pytest.mark.parametrize(
    ("relations", "word"),
    [
        (RELATIONS.replace(START, "http://b.example/"), "names 0 3D models"),
        (RELATIONS.replace("</R", f'<Relationship Target="/b" Type="{START}"/></R'), "names 2 3D models"),
        (RELATIONS.replace("Id=", 'TargetMode="External" Id='), "outside itself"),
        ("<!DOCTYPE a>" + RELATIONS, "DTD"),
        (RELATIONS[:-1], "broken at line 1"),
    ],
)  # fmt: skip
def test_there_is_one_start_inside(relations: str, word: str) -> None:
    refused(packed(TEXT, relations=relations), word)


DEFAULT, OTHER = (f'<Default Extension="model" ContentType="{kind}"/>' for kind in (KIND, "text/xml"))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (f'<Default Extension="MODEL" ContentType="{KIND}"/>', True),
        (f'<Default Extension="stl" ContentType="{KIND}"/>', False),
        (OTHER, False),
        (f'{OTHER}<Override PartName="/3d/A.model" ContentType="{KIND}"/>', True),
        (f'{DEFAULT}<Override PartName="/3D/a.model" ContentType="text/xml"/>', False),
        (f'{DEFAULT}<Override PartName="/b" ContentType="text/xml"/>', True),
        ("", False),
    ],
)  # fmt: skip
def test_the_start_has_the_type_of_a_model_and_an_override_goes_before_a_default(
    rows: str, said: bool
) -> None:
    """ECMA-376 part 2, 7.3: an override for the part's own name, else the default of its extension."""
    types = f'<Types xmlns="{PACKAGES}/content-types">{rows}</Types>'
    if said:
        assert Package(packed(TEXT, types=types)).start
    else:
        refused(packed(TEXT, types=types), "does not say that its start is a 3D model")


@pytest.mark.parametrize("depth", [32, 33])
def test_nesting_has_its_bound(depth: int) -> None:
    relations = RELATIONS.replace("</R", "<a>" * (depth - 1) + "</a>" * (depth - 1) + "</R")
    if depth == 32:
        assert Package(packed(TEXT, relations=relations)).start
    else:
        refused(packed(TEXT, relations=relations), "nested too deep")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('<?xml version="1.0" encoding="latin-1"?><a/>', "not in UTF-8"),
        ('<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>', "DTD or entities"),
        ("<a>\n<b></a>", "broken at line 2"),
        ("<a/><b/>", "broken"),
    ],
)
def test_xml_that_3mf_does_not_allow_is_told(text: str, word: str) -> None:
    with pytest.raises(BadFileError, match=word):
        parsed(xml_parser(), text.encode())
    parsed(xml_parser(), b'<?xml version="1.0" encoding="utf-8"?><a/>')
