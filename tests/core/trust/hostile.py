"""Hostile files by name, each made here: bombs, lies, loops, references that lead outside."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Mapping

from PIL import Image

import pieces
from reliefsmith.formats import stl_bytes, threemf_bytes

__all__ = ["DRAWINGS", "PICTURES", "RECIPES", "SOLIDS"]

_SIDE = 100_000
_SPACE = "xmlns='http://www.w3.org/2000/svg'"
_SVG = f'<svg {_SPACE} xmlns:xlink="http://www.w3.org/1999/xlink" width="60" height="40">'
_RECT = '<rect x="5" y="5" width="40" height="30" fill="#1b2a49"/>'


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def _png(width: int, height: int, *extra: bytes, pixels: bytes = b"") -> bytes:
    head = _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    body = _chunk(b"IDAT", pixels or zlib.compress(b"\0" * 100))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(extra) + body + _chunk(b"IEND", b"")


def _tiff(width: int, height: int, *, following: int = 0) -> bytes:
    tags = [
        (256, 4, width),
        (257, 4, height),
        (258, 3, 8),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, 8),
        (277, 3, 1),
    ]
    tags += [(278, 4, height), (279, 4, 2**31)]
    rows = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in tags)
    return (
        b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(tags)) + rows + struct.pack("<I", following)
    )


def _saved(form: str, **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (24, 20), "navy").save(out, form, **options)
    return out.getvalue()


def _jpeg_of(width: int, height: int) -> bytes:
    data = bytearray(_saved("JPEG"))
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = struct.pack(">HH", height, width)
    return bytes(data)


def _zip(entries: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, body in entries.items():
            archive.writestr(name, body)
    return out.getvalue()


def _many_frames() -> bytes:
    """A GIF whose frames go on and on; only the first one is wanted."""
    head = _saved("GIF")
    return head[:-1] + b"!\xf9\x04\0\0\0\0\0,\0\0\0\0\1\0\1\0\0\2\2D\1\0" * 20_000 + b";"


PICTURES: dict[str, Callable[[], bytes]] = {
    "PNG of 100,000 x 100,000": lambda: _png(_SIDE, _SIDE),
    "PNG of 2**31 - 1 squared": lambda: _png(2**31 - 1, 2**31 - 1),
    "PNG of no width": lambda: _png(0, 100),
    "PNG of 16 x 3,000,000": lambda: _png(16, 3_000_000),
    "PNG of 51 megapixels": lambda: _png(7_142, 7_142),
    "PNG cut off under the limit": lambda: _png(7_000, 7_000),
    "JPEG of 65,535 x 65,535": lambda: _jpeg_of(65_535, 65_535),
    "GIF of 65,535 x 65,535": lambda: b"GIF89a" + struct.pack("<HH", 65_535, 65_535) + _saved("GIF")[10:],
    "BMP of 100,000 x 100,000": lambda: (
        _saved("BMP")[:18] + struct.pack("<ii", _SIDE, _SIDE) + _saved("BMP")[26:]
    ),
    "BMP of a negative size": lambda: (
        _saved("BMP")[:18] + struct.pack("<ii", -24, -(2**31)) + _saved("BMP")[26:]
    ),
    "TIFF of 100,000 x 100,000": lambda: _tiff(_SIDE, _SIDE),
    "TIFF whose pages form a loop": lambda: _tiff(24, 20, following=8),
    "TIFF whose strip is missing": lambda: _tiff(24, 20),
    "WebP of 16,384 x 16,384": lambda: (
        b"RIFF"
        + struct.pack("<I", 22)
        + b"WEBPVP8X"
        + struct.pack("<I", 10)
        + b"\0\0\0\0"
        + b"\xff\x3f\0" * 2
    ),
    "PNG with a text of 200 MB": lambda: _png(
        24, 20, _chunk(b"zTXt", b"a\0\0" + zlib.compress(bytes(200 << 20), 9))
    ),
    "PNG with a profile of 200 MB": lambda: _png(
        24, 20, _chunk(b"iCCP", b"a\0\0" + zlib.compress(bytes(200 << 20), 9))
    ),
    "PNG with 2**32 - 1 frames": lambda: _png(24, 20, _chunk(b"acTL", b"\xff" * 8)),
    "PNG whose pixels go on": lambda: _png(24, 20, pixels=zlib.compress(bytes(50 << 20), 9))[:-30],
    "GIF with 20,000 frames, cut off": lambda: _many_frames()[:90],
    "ZIP with a ZIP in a ZIP": lambda: _zip({"a.zip": _zip({"b.zip": _zip({"c.png": bytes(9999)})})}),
    "PostScript": lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 99 99\n(/etc/passwd) run\n",
    "PDF": lambda: b"%PDF-1.7\n1 0 obj << /JS (app.alert(1)) >> endobj\n",
    "FITS": lambda: b"SIMPLE  =                    T".ljust(2880),
    "icon": lambda: _saved("ICO") if Image.new("RGB", (9, 9)) else b"",
    "PSD": lambda: b"8BPS\0\1" + bytes(6) + struct.pack(">HIIHH", 3, 300, 300, 8, 3) + bytes(99),
    "nothing but zeros": lambda: bytes(1000),
    "text": lambda: b"this is no picture\n",
    "nothing": lambda: b"",
}


def _svg(body: str, head: str = _SVG) -> bytes:
    return f"{head}{body}</svg>".encode()


def _laughs(kind: str = "") -> bytes:
    lines = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
    return f'<!DOCTYPE svg [<!ENTITY a0 "ha">{lines}{kind}]>'.encode() + _svg(f"<text>&a9;</text>{_RECT}")


def _uses(levels: int) -> str:
    groups = "".join(f'<g id="u{i}">' + f'<use href="#u{i - 1}"/>' * 10 + "</g>" for i in range(1, levels))
    return f'<defs><g id="u0">{_RECT}</g>{groups}</defs><use href="#u{levels - 1}"/>'


DRAWINGS: dict[str, Callable[[], bytes]] = {
    "billion laughs": _laughs,
    "entity that names a file": lambda: (
        b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + _svg(f"<text>&x;</text>{_RECT}")
    ),
    "entity of parameters": lambda: (
        b'<!DOCTYPE svg [<!ENTITY % x SYSTEM "http://larkwater.invalid/x"> %x;]>' + _svg(_RECT)
    ),
    "DTD elsewhere": lambda: b'<!DOCTYPE svg SYSTEM "http://larkwater.invalid/svg.dtd">' + _svg(_RECT),
    "quadratic entity": lambda: (
        f'<!DOCTYPE svg [<!ENTITY x "{"x" * 50_000}">]>'.encode() + _svg("&x;" * 5_000)
    ),
    "100,001 elements": lambda: _svg("<g/>" * 100_001),
    "depth of 10,000": lambda: _svg("<g>" * 10_000 + "</g>" * 10_000),
    "depth of 65": lambda: _svg("<g>" * 65 + _RECT + "</g>" * 65),
    "references that multiply": lambda: _svg(_uses(9)),
    "reference to itself": lambda: _svg(f'<g id="a">{_RECT}<use href="#a"/></g>'),
    "references in a ring": lambda: _svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
    "pattern in itself": lambda: _svg(
        '<pattern id="p" width="9" height="9"><rect width="9" height="9" fill="url(#p)"/></pattern>'
        '<rect width="60" height="40" fill="url(#p)"/>'
    ),
    "17 MiB": lambda: _svg(" " * (17 << 20)),
    "no size": lambda: _svg(_RECT, f"<svg {_SPACE}>"),
    "size of nothing": lambda: _svg(_RECT, f"<svg {_SPACE} width='0' height='0'>"),
    "size that is no number": lambda: _svg(_RECT, f"<svg {_SPACE} viewBox='0 0 nan inf'>"),
    "size beyond numbers": lambda: _svg(_RECT, f"<svg {_SPACE} width='1e999' height='1e999'>"),
    "name space without a name": lambda: _svg('<g sodipodi:kite="3"/>' + _RECT),
    "cut off": lambda: _svg(_RECT)[:-9],
    "not SVG": lambda: b"<?xml version='1.0'?><html/>",
    "encoding that is not known": lambda: b"<?xml version='1.0' encoding='larkwater'?>" + _svg(_RECT),
    "NUL": lambda: _svg("<g>\0</g>" + _RECT),
}


def _model(entries: Mapping[str, bytes] | None = None, **changes: str) -> bytes:
    """Our own package, with pieces of its model's text replaced and entries added."""
    with zipfile.ZipFile(io.BytesIO(threemf_bytes(pieces.parts(), title="kite"))) as archive:
        own = {name: archive.read(name) for name in archive.namelist()}
    for name, body in own.items():
        if name.endswith(".model"):
            text = body.decode()
            for old, new in changes.items():
                text = text.replace(_OLD[old], new, 1)
            own[name] = text.encode()
    return _zip({**own, **(entries or {})})


_OLD = {
    "dtd": "<model",
    "vertex": "<vertex ",
    "triangle": "<triangle ",
    "object": '<object id="',
    "unit": "millimeter",
}


_MODEL_NAME = next(
    name for name in zipfile.ZipFile(io.BytesIO(_model())).namelist() if name.endswith(".model")
)


def _named(name: str, twice: bool = False) -> bytes:
    """A package with one more entry, whose name was not checked by the writer."""
    data = _model()
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as archive:
        info = zipfile.ZipInfo("x")
        info.filename = name
        archive.NameToInfo.clear()  # it would warn of a name that is there twice
        archive.writestr(info, b"x")
        if twice:
            archive.NameToInfo.clear()
            archive.writestr(info.filename.upper(), b"y")
    return out.getvalue()


def _lying_size() -> bytes:
    """A package whose directory says that its model is small."""
    data = bytearray(_zip({"3D/3dmodel.model": bytes(300 << 20)}))
    at = data.rindex(b"PK\1\2")
    data[at + 24 : at + 28] = struct.pack("<I", 100)
    return bytes(data)


def _nested_components(levels: int) -> bytes:
    core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    mesh = (
        '<object id="1"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/>'
        '<vertex x="0" y="9" z="0"/><vertex x="0" y="0" z="9"/></vertices><triangles>'
        '<triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/>'
        '<triangle v1="1" v2="2" v3="3"/><triangle v1="0" v2="3" v3="2"/></triangles>'
        "</mesh></object>"
    )
    rest = ""
    for key in range(2, levels):
        parts = f'<component objectid="{key - 1}"/>' * 10
        rest += f'<object id="{key}"><components>{parts}</components></object>'
    build = f'<build><item objectid="{levels - 1}"/></build>'
    text = f'<model unit="millimeter" xmlns="{core}"><resources>{mesh}{rest}</resources>{build}</model>'
    with zipfile.ZipFile(io.BytesIO(threemf_bytes(pieces.parts(), title="kite"))) as archive:
        own = {name: archive.read(name) for name in archive.namelist()}
    return _zip({name: text.encode() if name.endswith(".model") else body for name, body in own.items()})


def _stl(**changes: float) -> bytes:
    data = bytearray(stl_bytes(pieces.parts()[0]))
    for place, value in changes.items():
        struct.pack_into("<f", data, 84 + int(place[1:]), value)
    return bytes(data)


def _ply(form: str = "ascii", vertices: int = 3, rest: bytes = b"0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n") -> bytes:
    head = (
        f"ply\nformat {form} 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\n"
        "property float z\nelement face 1\nproperty list uint uint vertex_indices\nend_header\n"
    )
    return head.encode() + rest


def _glb(text: bytes) -> bytes:
    text += b" " * (-len(text) % 4)
    return struct.pack("<4s4I", b"glTF", 2, 20 + len(text), len(text), 0x4E4F534A) + text


SOLIDS: dict[str, tuple[str, Callable[[], bytes]]] = {
    "names that climb": (".3mf", lambda: _named("../../kite.txt")),
    "absolute name": (".3mf", lambda: _named("/etc/kite")),
    "name of a drive": (".3mf", lambda: _named("C:/kite")),
    "name with backslashes": (".3mf", lambda: _named("..\\kite")),
    "name with NUL": (".3mf", lambda: _named("_rels/.rels\0.txt")),
    "names twice": (".3mf", lambda: _named(_MODEL_NAME)),
    "names twice but for case": (".3mf", lambda: _named("kite/a", twice=True)),
    "1,001 entries": (".3mf", lambda: _model({f"kite/{i}": b"" for i in range(1_001)})),
    "bomb of 300 MB": (".3mf", lambda: _zip({"_rels/.rels": bytes(300 << 20)})),
    "bomb that lies of its size": (".3mf", _lying_size),
    "package in a package": (".3mf", lambda: _zip({"_rels/.rels": _model()})),
    "components that multiply": (".3mf", lambda: _nested_components(14)),
    "components 40 deep": (".3mf", lambda: _nested_components(40)),
    "entities": (".3mf", lambda: _model(dtd="<!DOCTYPE model [<!ENTITY a 'b'>]><model")),
    "vertex that is no number": (".3mf", lambda: _model(vertex='<vertex x="nan" y="0" z="0"/><vertex ')),
    "vertex beyond numbers": (".3mf", lambda: _model(vertex='<vertex x="1e999" y="0" z="0"/><vertex ')),
    "corner below nothing": (".3mf", lambda: _model(triangle='<triangle v1="-1" v2="0" v3="1"/><triangle ')),
    "corner beyond": (".3mf", lambda: _model(triangle=f'<triangle v1="{2**70}" v2="0" v3="1"/><triangle ')),
    "depth of 10,000": (".3mf", lambda: _model(dtd="<a>" * 10_000 + "</a>" * 10_000 + "<model")),
    "unit that is none": (".3mf", lambda: _model(unit="furlong")),
    "STL of NaN": (".stl", lambda: _stl(a12=float("nan"))),
    "STL of infinity": (".stl", lambda: _stl(a16=float("inf"))),
    "STL beyond the workshop": (".stl", lambda: _stl(a20=3e38)),
    "STL that lies of its count": (".stl", lambda: bytes(80) + b"\xff\xff\xff\xff" + bytes(500)),
    "STL of no triangle": (".stl", lambda: bytes(84)),
    "STL text without an end": (".stl", lambda: b"solid kite\n" + b"facet normal 0 0 1 outer loop " * 2000),
    "STL text of 400 digits": (
        ".stl",
        lambda: (
            b"solid a\nfacet normal 0 0 1 outer loop vertex "
            + b"9" * 400
            + b" 0 0 vertex 1 0 0 vertex 0 1 0 endloop endfacet\nendsolid a\n"
        ),
    ),
    "nothing": (".3mf", lambda: b""),
    "OBJ of nothing": (".obj", lambda: b""),
    "OBJ of words": (".obj", lambda: b"f kite kite kite\n" * 2000),
    "OBJ with corners beyond": (".obj", lambda: b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 99999999999\n"),
    "OBJ of NaN": (".obj", lambda: b"v nan 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"),
    "OBJ of 5,000 objects": (".obj", lambda: b"v 0 0 0\nv 1 0 0\nv 0 1 0\n" + b"o a\nf 1 2 3\n" * 5_000),
    "PLY that lies of its count": (".ply", lambda: _ply(vertices=2**40)),
    "PLY of long lists": (".ply", lambda: _ply(form="binary_little_endian", rest=b"\xff" * 400)),
    "PLY without an end": (".ply", lambda: b"ply\nformat ascii 1.0\nelement vertex 3\n"),
    "PLY of no element": (".ply", lambda: b"ply\nformat ascii 1.0\nproperty float x\nend_header\n"),
    "GLB of zeros": (".glb", lambda: b"glTF\2\0\0\0" + bytes(500)),
    "GLB with a header beyond": (".glb", lambda: b"glTF\2\0\0\0" + b"\xff" * 8 + b"JSON{}"),
    "GLB nested 50,000 deep": (".glb", lambda: _glb(b"[" * 50_000)),
    "GLB that asks for terabytes": (".glb", lambda: _glb(b'{"accessors":[{"count":1e12,"bufferView":0}]}')),
    "GLB elsewhere": (".glb", lambda: _glb(b'{"buffers":[{"uri":"http://127.0.0.1:9/kite.bin"}]}')),
    "OFF that lies of its count": (".off", lambda: b"OFF\n1099511627776 9 0\n0 0 0\n"),
    "OFF of another kind": (".off", lambda: b"4OFF\n1 1 1\n"),
    "OFF of corners below nothing": (".off", lambda: b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 -5 1\n"),
}

RECIPES: dict[str, Callable[[], bytes]] = {
    "inline keys 50,000 deep": lambda: b"a = {" + b"a." * 50_000 + b"a = 1}",
    "quoted keys 40,000 deep": lambda: b'"a".' * 40_000 + b"a = 1",
    "quotes that never close": lambda: b'a = "' + b'\\"' * 100_000,
    "one word of 200,000 letters": lambda: b"a" * 200_000,
    "lists 100,000 deep": lambda: b"marks = " + b"[" * 100_000,
    "closed lists 5,000 deep": lambda: b"size = " + b"[" * 5_000 + b"]" * 5_000,
    "tables 5,000 deep": lambda: b"size = " + b"{a=" * 5_000 + b"1" + b"}" * 5_000,
    "keys 50,000 deep": lambda: b"a." * 50_000 + b"a = 1",
    "headers 50,000 deep": lambda: b"[" + b"a." * 50_000 + b"a]",
    "300 KiB": lambda: b"#" * (300 << 10),
    "number of 5,000 digits": lambda: b"[size]\nwidth_mm = " + b"9" * 5_000,
    "number of 5,000 hexadecimal digits": lambda: b"[size]\nwidth_mm = 0x" + b"f" * 5_000,
    "number of 400 digits": lambda: b"[colors]\ncount = " + b"9" * 400,
    "not a number": lambda: b"[size]\nwidth_mm = nan",
    "infinity": lambda: b"[size]\nwidth_mm = -inf",
    "date": lambda: b"[size]\nwidth_mm = 1979-05-27",
    "NUL": lambda: b'[order]\ntitle = "a\0b"',
    "control characters by escapes": lambda: b'[order]\ntitle = "a\\u001b[2J\\u0000"',
    "key with control characters": lambda: b'[size]\n"\\u001b[2J\\n" = 3',
    "title of 10,000 characters": lambda: b'[order]\ntitle = "' + b"a" * 10_000 + b'"',
    "key of 10,000 characters": lambda: b"[size]\n" + b"a" * 10_000 + b" = 1",
    "key twice": lambda: b"schema = 1\nschema = 1",
    "UTF-16": lambda: "schema = 1".encode("utf-16"),
    "bytes that are no text": lambda: b"\xff\xfe\xfa" * 100,
    "section that is a number": lambda: b"size = 3",
    "schema of later times": lambda: b"schema = 99999999999999999999",
    "one color for a list": lambda: b'[colors]\npalette = "#1e8a8a"',
    "100,000 colors": lambda: b"[colors]\nomit = [" + b'"#ffffff",' * 20_000 + b"]",
    "100,000 merges": lambda: b"[colors]\nmerge = [" + b'["#ffffff"],' * 15_000 + b"]",
}
