"""Every bound on what is read is really held; the bounds are lowered here, so that small files reach them."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
import shapely

import pieces
from reliefsmith.errors import OutputError
from reliefsmith.formats import (
    areas_geojson,
    areas_svg,
    package,
    read_parts,
    registry,
    roles,
    setreading,
    stl,
    stl_bytes,
    threemf_bytes,
    threemf_reader,
)
from reliefsmith.formats.setwriting import read_set, write_set
from reliefsmith.model import FlatAreas

WHOLE = threemf_bytes(pieces.parts(), title="heron")
TEXT_STL = (
    "solid a\n"
    + "facet normal 0 0 1 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 0 endloop endfacet\n" * 3
    + "endsolid a\n"
).encode()


def _changed(changes: dict[str, str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """Return our package with pieces of its model text replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(WHOLE)) as source, zipfile.ZipFile(out, "w", method) as target:
        for name in source.namelist():
            text = source.read(name).decode()
            for old, new in changes.items():
                text = text.replace(old, new)
            target.writestr(name, text)
    return out.getvalue()


FILES = {"heron.3mf": WHOLE, "heron.stl": stl_bytes(pieces.parts()[0]), "text.stl": TEXT_STL}


@pytest.mark.parametrize(
    ("file", "bound", "word"),
    [
        ("heron.3mf", (registry, "MAX_FILE_BYTES", 100), "larger than"),
        ("heron.3mf", (package, "MAX_ENTRIES", 2), "more than 2 entries"),
        ("heron.3mf", (package, "MAX_UNPACKED_BYTES", 5000), "unpacks to more than"),
        ("heron.3mf", (package, "MAX_XML_DEPTH", 1), "nested too deep"),
        ("heron.3mf", (threemf_reader, "MAX_VERTICES", 200), "more than .* vertices"),
        ("heron.3mf", (threemf_reader, "MAX_TRIANGLES", 500), "more than 500 triangles"),
        ("heron.3mf", (threemf_reader, "MAX_RESOURCES", 3), "more than 3 of object"),
        ("heron.3mf", (threemf_reader, "MAX_INSTANCES", 2), "too many components"),
        ("heron.stl", (roles, "MAX_TRIANGLES", 100), "more than 100 triangles"),
        ("text.stl", (stl, "MAX_TRIANGLES", 2), "more than 2 triangles"),
    ],
)
def test_a_bound_that_is_passed_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, file: str, bound: tuple[object, str, int], word: str
) -> None:
    path = tmp_path / file
    path.write_bytes(FILES[file])
    assert read_parts(path)
    monkeypatch.setattr(*bound)
    with pytest.raises(OutputError, match=word) as caught:
        read_parts(path)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (_changed({}, zipfile.ZIP_BZIP2), "packed by a method"),
        (_changed({'type="model"': 'type="support"'}), "no solid to build"),
        (_changed({'transform="1 0 0': 'transform="1e6 0 0'}), "out of reach"),
    ],
    ids=["bzip2", "only support", "moved away"],
)
def test_what_cannot_be_used_is_told(tmp_path: Path, data: bytes, word: str) -> None:
    path = tmp_path / "heron.3mf"
    path.write_bytes(data)
    with pytest.raises(OutputError, match=word):
        read_parts(path)


def test_a_folder_entry_of_a_package_is_no_hindrance(tmp_path: Path) -> None:
    out = io.BytesIO(WHOLE)
    with zipfile.ZipFile(out, "a") as target:
        target.mkdir("3D/Other")
    (tmp_path / "heron.3mf").write_bytes(out.getvalue())
    assert len(read_parts(tmp_path / "heron.3mf")) == 3


def test_a_texture_gives_no_color_but_may_be_referred_to(tmp_path: Path) -> None:
    """Materials and Properties Extension 1.2.1, chapter 3: a texture group has an id like any other group."""
    texture = '<m:texture2dgroup id="90" texid="91"><m:tex2coord u="0" v="0"/></m:texture2dgroup>'
    text = {
        "<m:colorgroup": f"{texture}<m:colorgroup",
        'name="red" pid="1" pindex="1"': 'name="red" pid="90" pindex="0"',
    }
    (tmp_path / "heron.3mf").write_bytes(_changed(text))
    colors = {part.name: part.color for part in read_parts(tmp_path / "heron.3mf")}
    assert colors == {"base": pieces.DARK, "red": (128, 128, 128), "teal": pieces.TEAL}


def test_a_color_without_area_is_written_empty() -> None:
    """The areas are exactly what was found; a color may have lost all of its own."""
    shapes = (pieces.motif_shapes()[0], shapely.MultiPolygon())
    areas = FlatAreas(shapes, np.array([pieces.RED, pieces.TEAL], np.uint8), pieces.frame(), (18, 18))
    assert b'{"coordinates":[],"type":"MultiPolygon"}' in areas_geojson(areas)
    assert b'<title>teal</title><path fill-rule="evenodd" d=""/></g>' in areas_svg(areas)


def test_a_file_of_a_set_that_cannot_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_set(tmp_path, {"heron.svg": b"svg"}, "heron-report.json", {})

    class Refusing:
        @staticmethod
        def sha256() -> object:
            raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(setreading, "hashlib", Refusing)
    assert read_set(tmp_path).problems == ("heron.svg cannot be read: permission denied",)
