"""TIFF files put together field by field after TIFF 6.0: kinds that the imaging library cannot write."""

from __future__ import annotations

import struct

WIDTH, HEIGHT = 64, 48
BITS, COMPRESSION, PHOTOMETRIC, SAMPLES = 258, 259, 262, 277
_LONG, _SHORT = (4, "I", 4), (3, "H", 2)


def tiff(data: bytes, fields: dict[int, list[int]]) -> bytes:
    """Return a little-endian TIFF of one strip, 64 x 48, grey of 8 bits unless the fields say otherwise."""
    all_fields = {
        256: [WIDTH],
        257: [HEIGHT],
        BITS: [8],
        COMPRESSION: [1],
        PHOTOMETRIC: [1],
        273: [0],
        SAMPLES: [1],
        278: [HEIGHT],
        279: [len(data)],
        **fields,
    }
    after = 8 + 2 + 12 * len(all_fields) + 4
    all_fields[273] = [after + 16]
    entries, more = b"", b""
    for tag, values in sorted(all_fields.items()):
        kind, letter, size = _LONG if tag in (256, 257, 273, 278, 279) else _SHORT
        raw = struct.pack(f"<{len(values)}{letter}", *values)
        if len(values) * size > 4:
            entries += struct.pack("<HHII", tag, kind, len(values), after + len(more))
            more += raw
        else:
            entries += struct.pack("<HHI", tag, kind, len(values)) + raw.ljust(4, b"\0")
    head = b"II*\0" + struct.pack("<IH", 8, len(all_fields)) + entries + bytes(4)
    return head + more.ljust(16, b"\0") + data


def packed_12_bit(rows: list[list[int]]) -> bytes:
    """Return values of 12 bits, two in three bytes, the high bits first."""
    out = bytearray()
    for row in rows:
        for one, other in zip(row[::2], row[1::2], strict=True):
            out += bytes([one >> 4, ((one & 15) << 4) | (other >> 8), other & 255])
    return bytes(out)
