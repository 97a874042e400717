"""Read OBJ, PLY, GLB and OFF, which `trimesh` parses; what a file asks for is bounded before that.

Nothing outside the file is read: materials of an OBJ and pictures in a GLB are left alone. glTF is in metres
with y up ("Coordinate System and Units" of the Khronos glTF 2.0 specification); the others say neither, and
are taken as millimetres with z up.
"""

from __future__ import annotations

import io
import json
import re
import warnings
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..colorimetry.spaces import linear_to_srgb
from ..model.arrays import Color
from ..model.parts import Part
from .bounds import MAX_OBJECTS, MAX_TEXT_BYTES, MAX_TRIANGLES, MAX_VERTICES, BadFileError
from .glb import MM_PER_M
from .roles import ReadMesh, as_parts, merged

__all__ = ["read_foreign"]

_PARTING = re.compile(rb"^[ \t]*(?:o|g|usemtl)[ \t]", re.MULTILINE)
_HEAD = 20
"""Bytes of a GLB before the text of its first chunk: header of 12, length and kind of the chunk."""
_MOST_VALUES = 3 * (MAX_VERTICES + MAX_TRIANGLES)
"""Points, normals and colors of all vertices, and the corners of all triangles."""


def read_foreign(kind: str, data: bytes, stem: str) -> tuple[Part, ...]:
    """Read the solids of a file.

    Parameters
    ----------
    kind : str
        ".obj", ".ply", ".glb" or ".off".
    data : bytes
    stem : str
        Name for solids that the file does not name.

    Raises
    ------
    BadFileError
        If `trimesh` is missing, or the file is broken or over a limit.
    """
    try:
        import trimesh  # noqa: PLC0415 - an extra of a few users
    except ImportError as error:
        raise BadFileError(
            "OBJ, PLY, GLB and OFF need the extra reliefsmith[meshes]; install it, or export 3MF or STL"
        ) from error
    colors: list[Color | None] = []
    if kind == ".glb":
        data, colors = _bounded_glb(data)
    else:
        _refuse_long(data)
    options: Any = {"split_objects": True, "skip_materials": True} if kind == ".obj" else {}
    try:
        with np.errstate(all="ignore"), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            scene = trimesh.load_scene(io.BytesIO(data), file_type=kind[1:], process=False, **options)
            placed = [(name, *scene.graph[name]) for name in scene.graph.nodes_geometry]
            solids = [(str(name), scene.geometry[of], matrix) for name, matrix, of in placed]
            solids = [item for item in solids if len(getattr(item[1], "faces", ()))]
            named = kind == ".glb" or len(solids) > 1
            found = [_read(name if named else "", mesh, matrix, colors) for name, mesh, matrix in solids]
    except BadFileError:
        raise
    except Exception as error:  # a parser of text from anywhere raises what it stumbles over
        raise BadFileError(f"it is no {kind[1:].upper()} or is damaged; export it again") from error
    return as_parts(found, stem)


def _read(name: str, mesh: Any, matrix: Any, colors: Sequence[Color | None]) -> ReadMesh:
    """Return a mesh of the scene in mm, where its node places it."""
    if len(mesh.faces) > MAX_TRIANGLES:
        raise BadFileError(f"it has more than {MAX_TRIANGLES} triangles; export fewer")
    points = np.asarray(mesh.vertices, np.float64) @ matrix[:3, :3].T + matrix[:3, 3]
    faces = mesh.faces[:, ::-1] if np.linalg.det(matrix[:3, :3]) < 0 else mesh.faces
    if colors:
        points = points[:, [0, 2, 1]] * (MM_PER_M, -MM_PER_M, MM_PER_M)
    return merged(name, points[faces], _color(mesh.visual, colors))


def _color(visual: Any, colors: Sequence[Color | None]) -> Color | None:
    """Return the color of a material, or the commonest of the mesh, or None where it has none."""
    if colors:
        number = str(getattr(getattr(visual, "material", None), "name", ""))
        return colors[int(number)] if number.isdecimal() else None
    if getattr(visual, "kind", None) in ("vertex", "face"):
        r, g, b = (int(value) for value in visual.main_color[:3])
        return r, g, b
    return None


def _refuse_long(data: bytes) -> None:
    """Refuse what would take a parser of lines too long."""
    if len(data) > MAX_TEXT_BYTES:
        raise BadFileError(f"it is larger than {MAX_TEXT_BYTES >> 20} MiB; export it as 3MF or STL")
    if len(_PARTING.findall(data)) > MAX_OBJECTS:
        raise BadFileError(f"it has more than {MAX_OBJECTS} objects or groups; export fewer")


def _bounded_glb(data: bytes) -> tuple[bytes, list[Color | None]]:
    """Return a GLB whose header asks for no picture and no more than a print could use, and its colors.

    Materials are named by their number, so that a mesh tells its color.
    """
    end = _HEAD + int.from_bytes(data[12:16], "little")
    try:
        document = json.loads(data[_HEAD:end])
        accessors = document.get("accessors", [])
        values = sum(int(item["count"]) for item in accessors)
        plain = all("bufferView" in item and "sparse" not in item for item in accessors)
        plain = plain and not document.get("extensionsRequired")
        nodes = len(document.get("nodes", []))
        materials = document.get("materials", [])
        colors = [_linear(item) for item in materials]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadFileError("it is no GLB, or its header is damaged; export it again") from error
    if not plain:
        raise BadFileError("it is compressed or keeps its points elsewhere; export it plain")
    if values > _MOST_VALUES or nodes > MAX_OBJECTS:
        raise BadFileError(
            f"it has more than {MAX_TRIANGLES} triangles or {MAX_OBJECTS} objects; export fewer"
        )
    for key in ("images", "textures", "samplers"):
        document.pop(key, None)
    document["materials"] = [{"name": str(number)} for number in range(len(materials))]
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    rest = data[end:]
    lengths = (_HEAD + len(text) + len(rest), len(text))
    head = data[:8] + b"".join(item.to_bytes(4, "little") for item in lengths) + data[16:_HEAD]
    return head + text + rest, colors or [None]


def _linear(material: dict[str, Any]) -> Color | None:
    factor = material.get("pbrMetallicRoughness", {}).get("baseColorFactor")
    if factor is None:
        return None
    r, g, b = (int(value) for value in linear_to_srgb(np.array(factor[:3], np.float64)))
    return r, g, b
