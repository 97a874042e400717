"""Seeded mutation of files with containers, which are mended so that the damage lies inside them."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from collections.abc import Sequence
from random import Random

from deep.changes import mutated_binary, mutated_text

__all__ = [
    "mutated_package",
    "mutated_png",
    "mutated_riff",
    "mutated_stl",
    "mutated_store",
]


def mutated_png(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change one chunk and mend its checksum; inside IDAT change what it unpacks to."""
    if rng.random() < 0.25:
        return mutated_binary(rng, seeds)
    chunks = _chunks(rng.choice(seeds))
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        at = rng.randrange(len(chunks))
        kind, body = chunks[at]
        roll = rng.random()
        if roll < 0.15:
            other = _chunks(rng.choice(seeds))
            chunks.insert(rng.randrange(len(chunks) + 1), rng.choice(other))
        elif roll < 0.25 and len(chunks) > 1:
            del chunks[at]
        elif roll < 0.3:
            rng.shuffle(chunks)
        elif kind in (b"IDAT", b"iCCP", b"zTXt") and roll < 0.6:
            chunks[at] = (kind, _repacked(rng, kind, body))
        else:
            chunks[at] = (kind, mutated_binary(rng, [body or b"\0"]))
    parts = [struct.pack(">I", len(b)) + k + b + struct.pack(">I", zlib.crc32(k + b)) for k, b in chunks]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def mutated_riff(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change a RIFF file such as WebP; mostly its total length is mended."""
    data = mutated_binary(rng, seeds)
    if rng.random() < 0.8 and len(data) >= 12:
        data = b"RIFF" + struct.pack("<I", len(data) - 8) + data[8:]
    return data


def mutated_stl(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change an STL; of the binary form mostly floats, or the length fits the count again."""
    data = rng.choice(seeds)
    if data[:5] == b"solid":
        return mutated_text(rng, seeds[-1:])
    if rng.random() < 0.3:
        return mutated_binary(rng, [data])
    body = bytearray(data[84:])
    for _ in range(rng.randrange(1, 20)):
        at = 4 * rng.randrange(len(body) // 4)
        value = rng.choice((rng.uniform(-50, 50), 0.0, -0.0, float("nan"), float("inf"), 3e38, 1e-42, 1e7))
        struct.pack_into("<f", body, at, value)
    kept = bytes(body[: 50 * rng.randrange(len(body) // 50 + 1)]) if rng.random() < 0.3 else bytes(body)
    return data[:80] + struct.pack("<I", len(kept) // 50) + kept


def mutated_package(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change the text of an entry, its name, or the entries of a ZIP package; or its bytes."""
    if rng.random() < 0.2:
        return mutated_binary(rng, seeds)
    entries = _entries(rng.choice(seeds))
    for _ in range(rng.choice((1, 1, 1, 2))):
        at = rng.randrange(len(entries))
        name, body = entries[at]
        roll = rng.random()
        if roll < 0.75:
            entries[at] = (name, mutated_text(rng, [body or b" "]))
        elif roll < 0.85:
            entries[at] = (mutated_text(rng, [name.encode()]).decode("utf-8", "replace")[:300] or "x", body)
        elif roll < 0.95:
            entries.insert(at, (rng.choice((name, "../x", "/abs", "a//b", "C:\\x", "x\0y")), body))
        else:
            del entries[at]
        entries = entries or [("x", b"")]
    return _zipped(entries, rng.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_DEFLATED)))


def mutated_store(rng: Random, seeds: Sequence[bytes]) -> bytes:
    """Change the tree or an array of a stored stage value; or its bytes."""
    if rng.random() < 0.25:
        return mutated_binary(rng, seeds)
    entries = _entries(rng.choice(seeds))
    at = 0 if rng.random() < 0.6 else rng.randrange(len(entries))
    name, body = entries[at]
    if at == 0:
        head = 10 + int.from_bytes(body[8:10], "little")
        text = mutated_text(rng, [body[head:]])
        if rng.random() < 0.3:
            text = json.dumps({"format": 1, "value": _random_tree(rng, 0)}).encode()
        shape = f"{{'descr': '|u1', 'fortran_order': False, 'shape': ({len(text)},), }}".encode()
        shape = shape.ljust(117) + b"\n"
        body = b"\x93NUMPY\x01\x00" + struct.pack("<H", len(shape)) + shape + text
    elif rng.random() < 0.5:
        body = mutated_text(rng, [body[:128]]) + body[128:]
    else:
        body = mutated_binary(rng, [body])
    entries[at] = (name, body)
    return _zipped(entries, zipfile.ZIP_STORED if rng.random() < 0.9 else zipfile.ZIP_DEFLATED)


def _random_tree(rng: Random, depth: int) -> object:
    """Return a random JSON tree of the words that stored values are made of."""
    roll = rng.random()
    if depth > 4 or roll < 0.25:
        return rng.choice((None, True, 0, -1, 3.5, float("nan"), "", "base", 10**30))
    if roll < 0.6:
        return {rng.choice(("array", "wkb", "tuple", "dict", "class")): _random_tree(rng, depth + 1)}
    if roll < 0.8:
        name = rng.choice(("Part", "Plan", "Slab", "Stack", "Artwork", "Finding", "Recipe", "object"))
        fields = {key: _random_tree(rng, depth + 1) for key in ("name", "role", "color", "__class__")}
        return {"class": name, "fields": fields}
    return [_random_tree(rng, depth + 1) for _ in range(rng.randrange(4))]


def _chunks(png: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], 8
    while at + 8 <= len(png):
        size = int.from_bytes(png[at : at + 4], "big")
        found.append((png[at + 4 : at + 8], png[at + 8 : at + 8 + size]))
        at += 12 + size
    return found


def _repacked(rng: Random, kind: bytes, body: bytes) -> bytes:
    head = 0 if kind == b"IDAT" else body.find(b"\0") + 2
    try:
        plain = zlib.decompressobj().decompress(body[head:])
    except zlib.error:  # changed before
        plain = body[head:]
    return body[:head] + zlib.compress(mutated_binary(rng, [plain or b"\0"]))


def _entries(package: bytes) -> list[tuple[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(package)) as archive:
        return [(name, archive.read(name)) for name in archive.namelist()]


def _zipped(entries: Sequence[tuple[str, bytes]], method: int) -> bytes:
    """Pack entries; names may be forbidden, doubled, or hold a NUL."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for number, (name, body) in enumerate(entries):
            info = zipfile.ZipInfo(f"entry{number}", (1980, 1, 1, 0, 0, 0))
            info.filename = name.encode("utf-8", "replace").decode()  # set past the check of the constructor
            info.compress_type = method
            archive.NameToInfo.pop(name, None)
            archive.writestr(info, body, compresslevel=1)
    return out.getvalue()
