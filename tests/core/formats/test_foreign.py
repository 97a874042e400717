"""OBJ, PLY, GLB and OFF: the same solids come back, in mm; what a file asks for is bounded before."""

from __future__ import annotations

import builtins
import io
import json
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

import pieces
from reliefsmith.errors import OutputError
from reliefsmith.formats import bounds, glb_bytes, read_parts
from reliefsmith.formats import foreign as module
from reliefsmith.jobs.checking import check_files
from reliefsmith.mesh import mesh_faults, signed_volume
from reliefsmith.model import Part

PARTS = pieces.parts()


def written(kind: str, parts: tuple[Part, ...] = PARTS) -> bytes:
    """Parts as trimesh writes them; PLY and OFF hold a single one."""
    meshes = [
        trimesh.Trimesh(p.vertices, p.triangles, process=False, face_colors=[*p.color, 255]) for p in parts
    ]
    if kind == "obj":
        scene = trimesh.Scene()
        for part, mesh in zip(parts, meshes, strict=True):
            scene.add_geometry(mesh, node_name=part.name, geom_name=part.name)
        return scene.export(file_type="obj").encode()
    data = meshes[0].export(file_type=kind)
    return data.encode() if isinstance(data, str) else data


def volumes(parts: tuple[Part, ...]) -> dict[str, float]:
    return {part.name: round(signed_volume(part.vertices, part.triangles), 2) for part in parts}


def saved(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def test_obj_keeps_names_and_colors(tmp_path: Path) -> None:
    found = read_parts(saved(tmp_path, "kite.obj", written("obj")))
    assert volumes(found) == volumes(PARTS)
    assert {part.name: part.color for part in found} == {part.name: part.color for part in PARTS}
    assert {part.name for part in found if part.role == "base"} == {"base"}


@pytest.mark.parametrize("kind", ["ply", "off"])
def test_a_single_solid_is_called_as_its_file(kind: str, tmp_path: Path) -> None:
    (found,) = read_parts(saved(tmp_path, f"base.{kind}", written(kind)))
    assert found.name == "base"
    assert mesh_faults(found.vertices, found.triangles).sound
    assert volumes((found,)) == volumes(PARTS[:1])
    np.testing.assert_allclose(np.ptp(found.vertices, axis=0), np.ptp(PARTS[0].vertices, axis=0), atol=1e-6)


def test_glb_comes_back_from_metres_with_z_up_and_its_colors(tmp_path: Path) -> None:
    found = {part.name: part for part in read_parts(saved(tmp_path, "kite.glb", glb_bytes(PARTS)))}
    for part in PARTS:
        assert found[part.name].color == part.color
        for measure in (np.min, np.max):
            np.testing.assert_allclose(
                measure(found[part.name].vertices, axis=0), measure(part.vertices, axis=0), atol=1e-4
            )


def test_a_turned_and_mirrored_node_is_placed_with_its_outside_out(tmp_path: Path) -> None:
    scene = trimesh.Scene()
    box = trimesh.creation.box(extents=(0.02, 0.003, 0.01))
    scene.add_geometry(box, node_name="plate", transform=np.diag([-1.0, 1, 1, 1]))
    (found,) = read_parts(saved(tmp_path, "plate.glb", scene.export(file_type="glb")))
    assert signed_volume(found.vertices, found.triangles) == pytest.approx(600)
    assert np.ptp(found.vertices, axis=0) == pytest.approx((20, 10, 3))


def test_the_unit_that_is_assumed_is_said_once(tmp_path: Path) -> None:
    paths = [saved(tmp_path, f"base.{kind}", written(kind)) for kind in ("ply", "off")]
    said = [item.message for item in check_files(paths) if item.code == "unit-assumed"]
    assert said == ["OFF and PLY files have no unit: millimeters and z up are assumed."]
    glb = saved(tmp_path, "kite.glb", glb_bytes(PARTS))
    assert "unit-assumed" not in {item.code for item in check_files([glb])}


def test_without_trimesh_one_line_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "trimesh", None)
    with pytest.raises(OutputError, match=r"reliefsmith\[meshes\]"):
        read_parts(saved(tmp_path, "kite.obj", written("obj")))


def test_nothing_but_the_file_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the materials of an OBJ, nor the texture of a PLY, nor the picture of a GLB."""
    for name in ("kite.mtl", "kite.png"):
        (tmp_path / name).write_text("newmtl a\nmap_Kd kite.png\n")
    document, rest = _document(glb_bytes(PARTS))
    document["images"] = [{"uri": "kite.png"}]
    document["textures"] = [{"source": 0}]
    document["materials"][0]["pbrMetallicRoughness"]["baseColorTexture"] = {"index": 0}
    ply = written("ply").replace(b"format", b"comment TextureFile kite.png\nformat", 1)
    files = [
        saved(tmp_path, "a.obj", b"mtllib kite.mtl\nusemtl a\n" + written("obj")),
        saved(tmp_path, "a.ply", ply),
        saved(tmp_path, "a.glb", _glb(document, rest)),
    ]
    monkeypatch.chdir(tmp_path)
    real = builtins.open

    def watched(name: object, *rest: object, **more: object) -> object:
        assert not str(name).endswith((".mtl", ".png"))
        return real(name, *rest, **more)  # type: ignore[call-overload]

    monkeypatch.setattr(builtins, "open", watched)
    monkeypatch.setattr(io, "open", watched)
    for path in files[::2]:
        assert volumes(read_parts(path)) == volumes(PARTS)
    assert len(read_parts(files[1])) == 1


def _document(data: bytes) -> tuple[dict, bytes]:
    end = 20 + int.from_bytes(data[12:16], "little")
    return json.loads(data[20:end]), data[end:]


def _glb(document: dict, rest: bytes) -> bytes:
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    total = (20 + len(text) + len(rest)).to_bytes(4, "little")
    return b"glTF\2\0\0\0" + total + len(text).to_bytes(4, "little") + b"JSON" + text + rest


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"accessors": [{"count": 2**40, "bufferView": 0}]}, "more than"),
        ({"accessors": [{"count": 3}]}, "export it plain"),
        ({"extensionsRequired": ["KHR_draco_mesh_compression"]}, "export it plain"),
        ({"nodes": [{}] * 1001}, "more than"),
        ({"accessors": 7}, "damaged"),
        ({"materials": [{"pbrMetallicRoughness": {"baseColorFactor": ["a"]}}]}, "damaged"),
        ({"meshes": [{"primitives": [{"attributes": {}}]}]}, "damaged"),
    ],
)
def test_a_glb_that_asks_for_too_much_is_refused(
    change: dict[str, object], words: str, tmp_path: Path
) -> None:
    document, rest = _document(glb_bytes(PARTS))
    with pytest.raises(OutputError, match=words):
        read_parts(saved(tmp_path, "kite.glb", _glb(document | change, rest)))


@pytest.mark.parametrize("kind", ["obj", "ply", "off"])
def test_text_that_is_too_long_is_refused_before_it_is_parsed(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MAX_TEXT_BYTES", 100)
    monkeypatch.setattr(trimesh, "load_scene", None)
    with pytest.raises(OutputError, match="larger than"):
        read_parts(saved(tmp_path, f"kite.{kind}", written(kind)))


def test_objects_that_multiply_the_work_are_refused(tmp_path: Path) -> None:
    data = written("obj") + b"o a\nf 1 2 3\n" * bounds.MAX_OBJECTS
    with pytest.raises(OutputError, match="1000 objects"):
        read_parts(saved(tmp_path, "kite.obj", data))


@pytest.mark.parametrize("kind", ["obj", "ply", "glb", "off"])
def test_lines_and_points_alone_are_no_solid(kind: str, tmp_path: Path) -> None:
    texts = {
        "obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\nl 1 2 3\n",
        "off": b"OFF\n3 0 0\n0 0 0\n1 0 0\n0 1 0\n",
        "ply": b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\n"
        b"property float z\nend_header\n0 0 0\n",
        "glb": _glb({"asset": {"version": "2.0"}, "scenes": [{"nodes": []}], "scene": 0}, b""),
    }
    with pytest.raises(OutputError, match=r"no solid|damaged"):
        read_parts(saved(tmp_path, f"kite.{kind}", texts[kind]))
