"""Read entries of a 3MF package: names, counts, sizes and ratios are checked before unpacking."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from typing import TypeAlias
from xml.parsers import expat

from .bounds import MAX_ENTRIES, MAX_RATIO, MAX_UNPACKED_BYTES, MAX_XML_DEPTH, RATIO_FREE_BYTES, BadFileError
from .stems import printable
from .threemf import MODEL_RELATION, MODEL_TYPE, RELATIONS, TYPES

__all__ = ["Attributes", "Package", "parsed", "xml_parser"]

Attributes: TypeAlias = dict[str, str]

_ENCRYPTED = 0x1
"""Bit 0 of a ZIP entry's general purpose flags."""
_BROKEN = (
    *(zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError, ValueError),
    *(LookupError, struct.error),
)
"""What the ZIP reader raises on broken data."""
_DAMAGED = "the package is damaged or cut off; export it again"


class Package:
    """A package in memory: its entries by name, and the name of the model that is its start.

    Raises
    ------
    BadFileError
        If the package is broken, over a limit, or breaks the rules of its container (Core 1.1, 2.1, 2.2).
    """

    def __init__(self, data: bytes) -> None:
        self._left = MAX_UNPACKED_BYTES
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except _BROKEN as error:
            raise BadFileError(_DAMAGED) from error
        self._entries = _checked_entries(self._zip)
        self.start = _start_part(self.entry("_rels/.rels"))
        _require_model_type(self.entry("[Content_Types].xml"), self.start)

    def entry(self, name: str) -> bytes:
        """Unpack one entry; all that are unpacked have one budget.

        Raises
        ------
        BadFileError
            If there is no such entry, it is damaged, or it is over a limit.
        """
        info = self._entries.get(name.lower())
        if info is None:
            raise BadFileError(f"the package has no {printable(name[:80])}; export it again")
        if info.file_size > self._left:
            raise BadFileError(f"the package unpacks to more than {MAX_UNPACKED_BYTES >> 20} MiB")
        if info.file_size > max(RATIO_FREE_BYTES, MAX_RATIO * info.compress_size):
            raise BadFileError(f"{printable(name[:80])} unpacks to more than {MAX_RATIO} times its size")
        self._left -= info.file_size
        try:
            with self._zip.open(info) as stream:
                data = stream.read(info.file_size + 1)  # the size in the directory may be a lie
        except _BROKEN as error:
            raise BadFileError(_DAMAGED) from error
        if len(data) != info.file_size:
            raise BadFileError(_DAMAGED)
        return data


def xml_parser() -> expat.XMLParserType:
    """Return a parser that refuses DTD, entities and encodings other than UTF-8 (Core 2.3.2).

    Element and attribute names come as "namespace name", joined by one blank.
    """
    parser = expat.ParserCreate("UTF-8", namespace_separator=" ")

    def refuse(*_: object) -> None:
        raise BadFileError("its XML has a DTD or entities, which 3MF does not allow; export it again")

    def declared(_version: str, encoding: str | None, _standalone: int) -> None:
        if encoding is not None and encoding.upper() != "UTF-8":
            raise BadFileError("its XML is not in UTF-8; export it again")

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    parser.XmlDeclHandler = declared
    return parser


def _checked_entries(package: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    infos = package.infolist()
    if len(infos) > MAX_ENTRIES:
        raise BadFileError(f"the package has more than {MAX_ENTRIES} entries; export only the parts")
    entries: dict[str, zipfile.ZipInfo] = {}
    for info in infos:
        if info.filename.endswith("/") and not info.file_size:  # a name may be empty
            continue
        _require_plain_name(info.filename)
        key = info.filename.lower()  # part names are equal when they differ in case only (OPC)
        if key in entries:
            raise BadFileError("the package has two entries of one name; export it again")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise BadFileError("the package is packed by a method that 3MF does not allow; export it again")
        if info.flag_bits & _ENCRYPTED:
            raise BadFileError("the package is encrypted; export it without a password")
        entries[key] = info
    return entries


def _require_plain_name(name: str) -> None:
    segments = name.split("/")
    dotted = any(part.startswith(".") and part != ".rels" for part in segments)
    if dotted or "" in segments or any(char in name for char in "\\:\0"):
        raise BadFileError(f"the package has an entry of the forbidden name {name[:80]!r}; export it again")


def _start_part(relations: bytes) -> str:
    targets = []
    for attributes in _elements(relations, f"{RELATIONS} Relationship"):
        if attributes.get("TargetMode") == "External":
            raise BadFileError("the package refers to a file outside itself; export it again")
        if attributes.get("Type") == MODEL_RELATION:
            targets.append(attributes.get("Target", ""))
    if len(targets) != 1:
        raise BadFileError(f"the package names {len(targets)} 3D models as its start instead of one")
    return targets[0].removeprefix("/")


def _require_model_type(content_types: bytes, target: str) -> None:
    suffix = target.rpartition(".")[2].lower()
    kinds = [
        row.get("ContentType")
        for row in _elements(content_types, f"{TYPES} Override")
        if row.get("PartName", "").lower() == f"/{target}".lower()
    ]
    kinds += [
        row.get("ContentType")
        for row in _elements(content_types, f"{TYPES} Default")
        if row.get("Extension", "").lower() == suffix
    ]
    if not kinds or kinds[0] != MODEL_TYPE:
        raise BadFileError("the package does not say that its start is a 3D model; export it again")


def _elements(data: bytes, wanted: str) -> list[Attributes]:
    """Return the attributes of every element of one name in a small XML document."""
    found: list[Attributes] = []
    parser = xml_parser()
    depth = 0

    def start(name: str, attributes: Attributes) -> None:
        nonlocal depth
        depth += 1
        if depth > MAX_XML_DEPTH:
            raise BadFileError("its XML is nested too deep; export it again")
        if name == wanted:
            found.append(attributes)

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parsed(parser, data)
    return found


def parsed(parser: expat.XMLParserType, data: bytes) -> None:
    """Run a parser over a whole document.

    Raises
    ------
    BadFileError
        If the XML is not well formed.
    """
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise BadFileError(f"its XML is broken at line {error.lineno}; export it again") from error
