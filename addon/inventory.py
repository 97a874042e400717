"""What the bundled wheels hold beside Python: license texts, parts compiled in, shared libraries, fonts.

Makers put the texts of their package, and of what is built into it, into `*.dist-info`; what is compiled in
they list in inventories of their own (`*.dist-info/sboms`, as PEP 770 has it; CycloneDX); tools that repair
wheels put shared libraries into `NAME.libs` or `NAME/.dylibs`.
"""

from __future__ import annotations

import hashlib
import json
import re
import zipfile
from pathlib import Path
from typing import Any

__all__ = ["built_in", "license_file", "texts", "title"]

_TEXT = re.compile(
    r"[^/]+\.dist-info/(licenses/.*[^/]|(LICEN[CS]E|COPYING|NOTICE|AUTHORS)[^/]*)", re.IGNORECASE
)
_LIST = re.compile(r"[^/]+\.dist-info/sboms/[^/]+\.json")
_FILE = re.compile(r"([^/]+\.libs|.*/\.dylibs)/[^/]+|.*\.ttf")
_KEPT = ("type", "name", "version", "purl", "licenses")
_RULE = "=" * 100


def title(wheel: Path) -> str:
    """Return name and version, such as "shapely 2.2.0"."""
    return " ".join(wheel.name.split("-")[:2])


def texts(wheel: Path) -> dict[str, str]:
    """Return the license texts by their name in the wheel, lines ended alike on every platform.

    Raises
    ------
    ValueError
        If it has none: then it may not be passed on.
    """
    with zipfile.ZipFile(wheel) as archive:
        names = sorted(name for name in archive.namelist() if _TEXT.fullmatch(name))
        found = {name: "\n".join(archive.read(name).decode("utf-8").splitlines()) for name in names}
    if not found:
        raise ValueError(f"{wheel.name} holds no license text, so it cannot be bundled")
    return {name.partition("/")[2].removeprefix("licenses/"): text for name, text in found.items()}


def built_in(wheel: Path) -> list[dict[str, Any]]:
    """Return what a wheel has built in, as components of CycloneDX without references.

    They come from its maker's inventories, without what only the build used (scope "excluded"); a shared
    library, or a font, is a file with its SHA-256.
    """
    with zipfile.ZipFile(wheel) as archive:
        rows = [row for name in sorted(archive.namelist()) for row in _rows(archive, name, wheel)]
    return list({(row["type"], row["name"], row.get("version")): row for row in rows}.values())


def _rows(archive: zipfile.ZipFile, name: str, wheel: Path) -> list[dict[str, Any]]:
    """Return what a file of a wheel is, or lists; nothing for all but libraries, fonts and inventories."""
    if _FILE.fullmatch(name):
        digest = hashlib.sha256(archive.read(name)).hexdigest()
        return [{"type": "file", "name": name, "hashes": [{"alg": "SHA-256", "content": digest}]}]
    if not _LIST.fullmatch(name):
        return []
    listed = json.loads(archive.read(name)).get("components", [])
    return [{key: item[key] for key in _KEPT if key in item} for item in listed if _is_in(item, wheel)]


def _is_in(item: dict[str, Any], wheel: Path) -> bool:
    own = item["name"].lower().replace("-", "_") == wheel.name.split("-")[0].lower()
    return item.get("scope") != "excluded" and not own


def license_file(wheels: list[Path]) -> str:
    """Return all license texts of some wheels, each once, and the parts that are compiled in."""
    told: dict[str, dict[str, None]] = {}
    for wheel in sorted(wheels):
        for name, text in texts(wheel).items():
            told.setdefault(text, {})[f"{title(wheel)}: {name}"] = None
    blocks = ["\n".join([_RULE, *holders, _RULE, "", text]) for text, holders in told.items()]
    rows = {
        (title(wheel), _row(item)) for wheel in wheels for item in built_in(wheel) if item["type"] != "file"
    }
    if rows:
        head = "What is compiled into these libraries, with its license, as their makers list it"
        blocks.append("\n".join([_RULE, head, _RULE, "", *(f"{own}: {row}" for own, row in sorted(rows))]))
    return "\n\n".join(blocks) + "\n"


def _row(item: dict[str, Any]) -> str:
    given = [
        entry.get("expression") or entry["license"].get("id") or entry["license"].get("name", "")
        for entry in item.get("licenses", [])
    ]
    return " ".join(
        filter(None, [item["name"], item.get("version", ""), f"({' AND '.join(given) or 'not said'})"])
    )
