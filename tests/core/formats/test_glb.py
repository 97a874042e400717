"""GLB: what trimesh reads, and the layout of glTF 2.0 taken apart by hand."""

from __future__ import annotations

import io
import json
import struct

import numpy as np
import pytest
import trimesh

import pieces
from reliefsmith.formats import glb_bytes
from reliefsmith.model import Part

PARTS = pieces.parts()


def taken_apart(data: bytes) -> tuple[dict, bytes]:
    """Binary glTF Layout: a header of 12 bytes, then chunks of a length, a kind and their bytes."""
    assert struct.unpack_from("<4sII", data) == (b"glTF", 2, len(data))
    length, kind = struct.unpack_from("<I4s", data, 12)
    after = 20 + length
    size, binary = struct.unpack_from("<I4s", data, after)
    assert (kind, binary, after + 8 + size) == (b"JSON", b"BIN\0", len(data))
    return json.loads(data[20:after]), data[after + 8 :]


@pytest.mark.parametrize("name", ["a", "ab", "abc", "abcd"])
def test_chunks_begin_at_multiples_of_four_whatever_the_names_are(name: str) -> None:
    part = Part(name, "base", (1, 2, 3), PARTS[1].vertices, PARTS[1].triangles)
    data = glb_bytes([part])
    document, binary = taken_apart(data)
    assert len(data) % 4 == struct.unpack_from("<I", data, 12)[0] % 4 == 0
    assert document["buffers"] == [{"byteLength": len(binary)}]
    assert [one["name"] for kind in ("nodes", "meshes", "materials") for one in document[kind]] == [name] * 3


def test_trimesh_finds_every_part_in_metres_with_its_up_as_y() -> None:
    """A half turn about x by a quarter: (x, y, z) mm is (x, z, -y) / 1000 m."""
    scene = trimesh.load_scene(io.BytesIO(glb_bytes(PARTS)), file_type="glb")
    for part in PARTS:
        mesh = scene.geometry[part.name]
        back = np.column_stack([mesh.vertices[:, 0], -mesh.vertices[:, 2], mesh.vertices[:, 1]]) * 1000
        assert np.allclose(back[mesh.faces], part.vertices[part.triangles], atol=1e-4)
        assert mesh.volume > 0
        assert mesh.visual.material.metallicFactor == 0


def test_views_lie_one_after_the_other_and_hold_what_their_accessors_say() -> None:
    document, binary = taken_apart(glb_bytes(PARTS))
    ends = np.cumsum([0, *(view["byteLength"] for view in document["bufferViews"])])
    assert [view["byteOffset"] for view in document["bufferViews"]] == ends[:-1].tolist()
    assert ends[-1] == len(binary)
    for number, (mesh, part) in enumerate(zip(document["meshes"], PARTS, strict=True)):
        (primitive,) = mesh["primitives"]
        assert primitive["material"] == number
        keys = primitive["attributes"]["POSITION"], primitive["indices"]
        place, index = (document["accessors"][key] for key in keys)
        views = [document["bufferViews"][one["bufferView"]] for one in (place, index)]
        assert [view["target"] for view in views] == [34962, 34963]
        assert [one["componentType"] for one in (place, index)] == [5126, 5125]
        assert (place["count"], index["count"]) == (len(part.vertices), 3 * len(part.triangles))
        start = views[0]["byteOffset"]
        points = np.frombuffer(binary, "<f4", 3 * place["count"], start).reshape(-1, 3)
        assert (points.min(axis=0).tolist(), points.max(axis=0).tolist()) == (place["min"], place["max"])
        corners = np.frombuffer(binary, "<u4", index["count"], views[1]["byteOffset"])
        assert np.array_equal(corners.reshape(-1, 3), part.triangles)


def test_colors_are_linear_light_and_opaque() -> None:
    """IEC 61966-2-1: level 188 is half of the light, to 0.5 %; black and white stay."""
    part = Part("a", "base", (0, 188, 255), PARTS[1].vertices, PARTS[1].triangles)
    (material,) = taken_apart(glb_bytes([part]))[0]["materials"]
    assert material["pbrMetallicRoughness"]["baseColorFactor"] == pytest.approx([0, 0.5, 1, 1], abs=0.005)
