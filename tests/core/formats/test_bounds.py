"""Every bound on what is read is really held; the bounds are lowered here, so that small files reach them."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

import pieces
from reliefsmith.errors import OutputError
from reliefsmith.formats import (
    bounds,
    package,
    read_parts,
    registry,
    roles,
    stl,
    stl_bytes,
    threemf_bytes,
    threemf_reader,
)

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


def test_bounds_let_makers_files_pass_and_no_bomb() -> None:
    """Deflate packs at most 1032 to 1 (zlib's technical details); text of meshes some 20 to 1."""
    model = next(
        one for one in zipfile.ZipFile(io.BytesIO(WHOLE)).infolist() if one.filename.endswith("model")
    )
    assert 4 * model.file_size / model.compress_size < bounds.MAX_RATIO < 1032
    assert 100 * len(zipfile.ZipFile(io.BytesIO(WHOLE)).namelist()) < bounds.MAX_ENTRIES
    bytes_of_a_triangle = len(WHOLE) / sum(len(part.triangles) for part in pieces.parts())
    assert 1_000_000 * bytes_of_a_triangle < bounds.MAX_FILE_BYTES
    assert min(bounds.MAX_TRIANGLES, bounds.MAX_VERTICES) > 1_000_000
    assert bounds.MAX_NAME_CHARS < 255  # bytes of a file name
    assert bounds.MAX_COORDINATE_MM == 1000 * 1000  # a kilometre


def test_a_bad_file_is_an_error_of_files_that_callers_know() -> None:
    assert issubclass(bounds.BadFileError, OutputError)
    assert issubclass(bounds.BadFileError, OSError)
