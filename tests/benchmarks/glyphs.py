"""Outlines of letters as SVG path data, read from a TrueType font (OpenType 1.9: cmap 4, glyf, hmtx)."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import numpy as np

FONTS = Path(__file__).parents[2] / "shared" / "reliefsmith_data" / "fonts"
ON_CURVE, X_SHORT, Y_SHORT, REPEAT, X_SAME, Y_SAME = 1, 2, 4, 8, 16, 32
"""Flags of a point, as the table `glyf` names them."""


def set_line(text: str, font: str, cap_height: float, start: tuple[float, float]) -> str:
    """Return the path data of a line of text that begins at a point, y down, without kerning.

    Its capitals have the given height.
    """
    face = Face.of(font)
    scale = cap_height / face.cap_height
    at, data = start[0], []
    for letter in text:
        glyph = face.glyph_of(letter)
        data += [
            _path(contour * (scale, -scale) + (at, start[1]), on) for contour, on in face.contours(glyph)
        ]
        at += face.advance(glyph) * scale
    return "".join(data)


def line_width(text: str, font: str, cap_height: float) -> float:
    """Return the width of a line of text."""
    face = Face.of(font)
    return sum(face.advance(face.glyph_of(letter)) for letter in text) * cap_height / face.cap_height


@dataclass(frozen=True)
class Face:
    """A font's tables."""

    tables: dict[str, bytes]

    @staticmethod
    @cache
    def of(font: str) -> Face:
        data = (FONTS / f"{font}.ttf").read_bytes()
        rows = [
            struct.unpack_from(">4sIII", data, 12 + 16 * i) for i in range(*struct.unpack(">H", data[4:6]))
        ]
        return Face({tag.decode(): data[at : at + size] for tag, _, at, size in rows})

    @cached_property
    def cap_height(self) -> float:
        """Height of the H, which stands on the baseline."""
        return float(max(contour[:, 1].max() for contour, _ in self.contours(self.glyph_of("H"))))

    def glyph_of(self, letter: str) -> int:
        """Look a character up in the segments of the Unicode table."""
        table = self.tables["cmap"]
        for row in range(struct.unpack_from(">H", table, 2)[0]):
            platform, _, at = struct.unpack_from(">HHI", table, 4 + 8 * row)
            if platform in (0, 3) and struct.unpack_from(">H", table, at)[0] == 4:
                return self._in_segments(table[at:], ord(letter))
        raise ValueError("no Unicode table of format 4")

    @staticmethod
    def _in_segments(table: bytes, code: int) -> int:
        count = struct.unpack_from(">H", table, 6)[0] // 2
        ends = np.frombuffer(table, ">u2", count, 14)
        starts, deltas, offsets = (
            np.frombuffer(table, ">u2", count, 16 + 2 * count * k).astype(int) for k in (1, 2, 3)
        )
        at = int(np.argmax(ends >= code))
        if starts[at] > code:
            raise ValueError(f"no glyph for {chr(code)!r}")
        if offsets[at] == 0:
            return int(code + deltas[at]) & 0xFFFF
        place = 16 + 6 * count + 2 * at + offsets[at] + 2 * (code - starts[at])
        return int(struct.unpack_from(">H", table, int(place))[0] + deltas[at]) & 0xFFFF

    def advance(self, glyph: int) -> float:
        count = struct.unpack_from(">H", self.tables["hhea"], 34)[0]
        return float(struct.unpack_from(">H", self.tables["hmtx"], 4 * min(glyph, count - 1))[0])

    def contours(self, glyph: int) -> list[tuple[np.ndarray, np.ndarray]]:
        """Return each contour's points in font units, y up, and which of them lie on the curve."""
        wide = struct.unpack_from(">h", self.tables["head"], 50)[0]
        places = np.frombuffer(self.tables["loca"], ">u4" if wide else ">u2").astype(int) * (1 if wide else 2)
        data = self.tables["glyf"][places[glyph] : places[glyph + 1]]
        if not data:
            return []
        count = struct.unpack_from(">h", data)[0]
        if count < 0:
            raise ValueError("glyphs made of glyphs are not read")
        ends = np.frombuffer(data, ">u2", count, 10).astype(int)
        at = 10 + 2 * count
        at += 2 + struct.unpack_from(">H", data, at)[0]
        flags: list[int] = []
        while len(flags) <= ends[-1]:
            times = 1 + (data[at + 1] if data[at] & REPEAT else 0)
            flags += [data[at]] * times
            at += 2 if data[at] & REPEAT else 1
        x, at = _deltas(data, at, flags, X_SHORT, X_SAME)
        y, _ = _deltas(data, at, flags, Y_SHORT, Y_SAME)
        points = np.stack((np.cumsum(x), np.cumsum(y)), axis=1).astype(float)
        on = np.array(flags) & ON_CURVE > 0
        return list(zip(np.split(points, ends[:-1] + 1), np.split(on, ends[:-1] + 1), strict=True))


def _deltas(data: bytes, at: int, flags: list[int], short: int, same: int) -> tuple[list[int], int]:
    result = []
    for flag in flags:
        if flag & short:
            result.append(data[at] if flag & same else -data[at])
            at += 1
        elif flag & same:
            result.append(0)
        else:
            result.append(struct.unpack_from(">h", data, at)[0])
            at += 2
    return result, at


def _path(points: np.ndarray, on: np.ndarray) -> str:
    """Write a contour of quadratic splines; between two points off the curve lies one on it."""
    after, after_on = np.roll(points, -1, axis=0), np.roll(on, -1)
    every = np.empty((2 * len(points), 2))
    every[::2], every[1::2] = points, (points + after) / 2
    kept = np.stack((np.ones(len(on), bool), ~on & ~after_on), axis=1).ravel()
    is_on = np.stack((on, np.ones(len(on), bool)), axis=1).ravel()[kept]
    every = every[kept]
    start = int(np.argmax(is_on))
    every, is_on = np.roll(every, -start, axis=0), np.roll(is_on, -start)
    words = [f"M{every[0, 0]:.4f},{every[0, 1]:.4f}"]
    for point, own, before in zip(every[1:], is_on[1:], is_on[:-1], strict=True):
        words.append(f"{'' if not before else 'L' if own else 'Q'}{point[0]:.4f},{point[1]:.4f} ")
    return "".join(words) + ("" if is_on[-1] else f"{every[0, 0]:.4f},{every[0, 1]:.4f}") + "Z"
