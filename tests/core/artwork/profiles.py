"""Small ICC profiles for tests, written from published primaries (matrix and gamma, ICC.1 version 2)."""

from __future__ import annotations

import struct
from collections.abc import Callable

import numpy as np

from reliefsmith.colorimetry import decode_srgb

D65 = (0.3127, 0.3290)
# Bradford adaptation from D65 to D50, as ICC profiles hold their colors (ICC.1, annex E).
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
D50 = np.array([0.9642, 1.0, 0.8249])


def xyz(x: float, y: float) -> np.ndarray:
    return np.array([x / y, 1.0, (1 - x - y) / y])


def to_xyz(primaries: list[tuple[float, float]]) -> np.ndarray:
    """Return the matrix from linear RGB to XYZ for primaries in x, y and the white D65."""
    columns = np.array([xyz(*one) for one in primaries]).T
    return columns * np.linalg.solve(columns, xyz(*D65))


SRGB_TO_XYZ = to_xyz([(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)])  # ITU-R BT.709 primaries
ADOBE_GAMMA = 563 / 256  # Adobe RGB (1998) Color Image Encoding, section 4.3.1.2

Space = tuple[np.ndarray, Callable[[np.ndarray], np.ndarray], bytes]


def _gamma_curve(gamma: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256)) + bytes(2)


def _table_curve() -> bytes:
    levels = np.round(decode_srgb(np.linspace(0, 1, 4096)) * 65535).astype(">u2")
    return b"curv" + bytes(4) + struct.pack(">I", len(levels)) + levels.tobytes()


# Display P3: SMPTE EG 432-1 primaries with D65 and the sRGB curve.
DISPLAY_P3: Space = (
    to_xyz([(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)]),
    decode_srgb,
    _table_curve(),
)
# Adobe RGB (1998): its primaries, D65, gamma 563/256.
ADOBE_RGB: Space = (
    to_xyz([(0.64, 0.33), (0.21, 0.71), (0.15, 0.06)]),
    lambda value: value**ADOBE_GAMMA,
    _gamma_curve(ADOBE_GAMMA),
)


def matrix_profile(space: Space) -> bytes:
    """Write a display profile of three colorants and one curve."""
    matrix, _, curve = space
    adapt = np.linalg.inv(BRADFORD) @ np.diag((BRADFORD @ D50) / (BRADFORD @ xyz(*D65))) @ BRADFORD
    columns = (adapt @ matrix).T
    text = b"test space\0"
    description = b"desc" + bytes(4) + struct.pack(">I", len(text)) + text + bytes(78)
    tags = {
        b"desc": description,
        b"wtpt": _xyz_tag(D50),
        b"rXYZ": _xyz_tag(columns[0]),
        b"gXYZ": _xyz_tag(columns[1]),
        b"bXYZ": _xyz_tag(columns[2]),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
        b"cprt": b"text" + bytes(4) + b"none\0",
    }
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    size = start + len(body)
    header = struct.pack(">I4sI4s4s4s", size, b"none", 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    header += struct.pack(">6H", 2020, 1, 1, 0, 0, 0) + b"acsp" + bytes(24) + bytes(4)
    header += _fixed(D50) + bytes(128)
    return header[:128] + table + body


def _fixed(values: np.ndarray) -> bytes:
    return b"".join(struct.pack(">i", round(float(value) * 65536)) for value in values)


def _xyz_tag(values: np.ndarray) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(values)
