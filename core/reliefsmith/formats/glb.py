"""Write GLB (glTF 2.0): one mesh and one material for each part, metres, y up.

Source: Khronos glTF 2.0 specification, "Coordinate System and Units" and "Binary glTF Layout".
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..colorimetry.spaces import srgb_to_linear
from ..errors import GeometryError
from ..model.arrays import Color
from ..model.parts import Part

__all__ = ["glb_bytes"]

MAGIC, VERSION = 0x46546C67, 2
JSON_CHUNK, BINARY_CHUNK = 0x4E4F534A, 0x004E4942
ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER = 34962, 34963
FLOAT, UNSIGNED_INT = 5126, 5125
MM_PER_M = 1000.0
ROUGHNESS = 0.6
"""A satin surface, as printed plastic shows; for looking only."""


def glb_bytes(parts: Sequence[Part]) -> bytes:
    """Write parts as one GLB file for looking at.

    No normals are stored: a viewer must then shade flat ("Meshes" of the specification), which is how
    straight walls and level tops look, and the corners stay shared.

    Raises
    ------
    GeometryError
        If there is no part, or one without triangles.

    Examples
    --------
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> from reliefsmith.model import Part
    >>> plate = prism(shapely.box(0, 0, 30, 20), 0.0, 2.0)
    >>> part = Part("base", "base", (200, 40, 45), plate.vertices, plate.triangles)
    >>> glb_bytes([part])[:4]
    b'glTF'
    """
    if not parts or any(not len(part.triangles) for part in parts):
        raise GeometryError("there is no part, or an empty one, to write as GLB")
    document: dict[str, Any] = {
        "asset": {"generator": "reliefsmith", "version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": list(range(len(parts)))}],
        "nodes": [{"mesh": index, "name": part.name} for index, part in enumerate(parts)],
        "materials": [_material(part.name, part.color) for part in parts],
        "meshes": [],
        "accessors": [],
        "bufferViews": [],
    }
    binary = bytearray()
    for index, part in enumerate(parts):
        _add_mesh(document, binary, part, index)
    document["buffers"] = [{"byteLength": len(binary)}]
    return _container(document, bytes(binary))


def _add_mesh(document: dict[str, Any], binary: bytearray, part: Part, material: int) -> None:
    x, y, z = part.vertices.T
    points = (np.column_stack([x, z, -y]) / MM_PER_M).astype("<f4")
    first = len(document["accessors"])
    low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    bounds = {"min": low, "max": high}
    _add_accessor(document, binary, points.tobytes(), ARRAY_BUFFER)
    document["accessors"].append(
        {"bufferView": first, "componentType": FLOAT, "count": len(points), "type": "VEC3", **bounds}
    )
    corners = part.triangles.astype("<u4")
    _add_accessor(document, binary, corners.tobytes(), ELEMENT_ARRAY_BUFFER)
    document["accessors"].append(
        {"bufferView": first + 1, "componentType": UNSIGNED_INT, "count": corners.size, "type": "SCALAR"}
    )
    primitive = {"attributes": {"POSITION": first}, "indices": first + 1, "material": material}
    document["meshes"].append({"name": part.name, "primitives": [primitive]})


def _add_accessor(document: dict[str, Any], binary: bytearray, data: bytes, target: int) -> None:
    """Append a view; every value is 4 bytes wide, so offsets stay aligned without padding."""
    view = {"buffer": 0, "byteOffset": len(binary), "byteLength": len(data), "target": target}
    document["bufferViews"].append(view)
    binary += data


def _material(name: str, color: Color) -> dict[str, Any]:
    linear = srgb_to_linear(np.array(color, dtype=np.uint8)).tolist()
    surface = {"baseColorFactor": [*linear, 1.0], "metallicFactor": 0.0, "roughnessFactor": ROUGHNESS}
    return {"name": name, "pbrMetallicRoughness": surface}


def _container(document: dict[str, Any], binary: bytes) -> bytes:
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    total = 12 + 8 + len(text) + 8 + len(binary)
    words = (MAGIC, VERSION, total)
    header = b"".join(word.to_bytes(4, "little") for word in words)
    return header + _chunk(JSON_CHUNK, text) + _chunk(BINARY_CHUNK, binary)


def _chunk(kind: int, data: bytes) -> bytes:
    return len(data).to_bytes(4, "little") + kind.to_bytes(4, "little") + data
