"""3MF as written, taken apart with lxml: what it says of its parts; clauses are held in `tests/outside`."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace

import numpy as np
import pytest
from lxml import etree

import pieces
from reliefsmith.errors import GeometryError
from reliefsmith.formats import threemf_bytes
from reliefsmith.formats.threemf import materials, packaged
from reliefsmith.model import Part

from .models import CORE, KIND, MATERIALS, START

PARTS = pieces.parts()


def taken_apart(data: bytes) -> etree._Element:
    return etree.fromstring(zipfile.ZipFile(io.BytesIO(data)).read("3D/3dmodel.model"))


def named(root: etree._Element, name: str, space: str = CORE) -> list[etree._Element]:
    return list(root.iter(f"{{{space}}}{name}"))


def test_parts_are_mesh_objects_of_one_object_that_is_built_once() -> None:
    root = taken_apart(threemf_bytes(PARTS, title="heron"))
    *solids, whole = named(root, "object")
    assert [(one.get("name"), one.get("id")) for one in solids] == [
        ("base", "3"),
        ("red", "4"),
        ("teal", "5"),
    ]
    assert [one.get("objectid") for one in named(whole, "component")] == ["3", "4", "5"]
    (item,) = named(root, "item")
    assert (item.get("objectid"), whole.get("name")) == (whole.get("id"), "heron")
    for one, part in zip(solids, PARTS, strict=True):
        points = [[float(v.get(key)) for key in "xyz"] for v in named(one, "vertex")]
        corners = [[int(t.get(key)) for key in ("v1", "v2", "v3")] for t in named(one, "triangle")]
        assert np.array_equal(points, part.vertices)
        assert np.array_equal(corners, part.triangles)


@pytest.mark.parametrize("shift", [(0, 0, 0), (50.001, 20, 3), (-500, -0.5, -2)])
def test_the_item_moves_the_piece_so_that_it_begins_at_the_origin(shift: tuple[float, float, float]) -> None:
    """Core 3.3: in the positive octant; the coordinates of the parts stay as they are."""
    moved = [replace(part, vertices=part.vertices + shift) for part in PARTS[1:]]
    (item,) = named(taken_apart(threemf_bytes(moved, title="a")), "item")
    rows = np.array(item.get("transform").split(), dtype=float).reshape(4, 3)
    assert np.array_equal(rows[:3], np.eye(3))
    low = np.min([part.vertices.min(axis=0) for part in moved], axis=0)
    assert np.allclose(rows[3] + low, 0, atol=1e-9)


def test_parts_of_one_color_share_a_material_and_colors_stand_in_the_order_of_their_parts() -> None:
    parts = [replace(PARTS[0], color=pieces.TEAL), PARTS[1], PARTS[2]]
    root = taken_apart(threemf_bytes(parts, title="a"))
    assert [one.get("displaycolor") for one in named(root, "base")] == ["#1E8A8A", "#D32020"]
    assert [one.get("color") for one in named(root, "color", MATERIALS)] == ["#1E8A8A", "#D32020"]
    (group,) = named(root, "basematerials")
    assert [one.get("pindex") for one in named(root, "object")[:3]] == ["0", "1", "0"]
    assert {one.get("pid") for one in named(root, "object")[:3]} == {group.get("id")}


def test_names_of_materials_are_unique_and_escaped() -> None:
    root = etree.fromstring(
        f'<a xmlns:m="{MATERIALS}">{materials([(200, 0, 0), (190, 5, 5), (0, 0, 0)])}</a>'
    )
    names = [one.get("name") for one in root.iter("base")]
    assert len(set(names)) == 3
    title = '<&"kite"\0>'
    assert (
        taken_apart(threemf_bytes(PARTS, title=title)).find(f"{{{CORE}}}metadata").text == '<&"kite"\ufffd>'
    )


@pytest.mark.parametrize("thumbnail", [None, b"png"])
def test_a_package_says_what_is_in_it_and_nothing_else(thumbnail: bytes | None) -> None:
    package = zipfile.ZipFile(io.BytesIO(packaged("<model/>", thumbnail)))
    relations = etree.fromstring(package.read("_rels/.rels"))
    targets = [one.get("Target").removeprefix("/") for one in relations]
    assert set(package.namelist()) == {"[Content_Types].xml", "_rels/.rels", *targets}
    assert relations[0].get("Type") == START
    assert package.read(targets[0]) == b"<model/>"
    kinds = {
        one.get("Extension"): one.get("ContentType")
        for one in etree.fromstring(package.read("[Content_Types].xml"))
    }
    assert kinds["model"] == KIND
    assert ("png" in kinds) is (len(targets) == 2) is (thumbnail is not None)
    if thumbnail:
        assert package.getinfo(targets[1]).compress_type == zipfile.ZIP_STORED
        assert package.read(targets[1]) == thumbnail


def test_entries_tell_nothing_of_the_day_and_the_system_that_wrote_them() -> None:
    for info in zipfile.ZipFile(io.BytesIO(packaged("<model/>", b"png"))).infolist():
        assert (info.date_time, info.create_system) == ((1980, 1, 1, 0, 0, 0), 0)


@pytest.mark.parametrize("faces", [0, 3])
def test_what_encloses_nothing_is_not_written(faces: int) -> None:
    """Core 4.1.4: a closed body has four faces or more."""
    part = Part("kite", "motif", (1, 2, 3), PARTS[1].vertices, PARTS[1].triangles[:faces])
    with pytest.raises(GeometryError, match="part kite is empty and cannot be written"):
        threemf_bytes([PARTS[0], part], title="a")
    with pytest.raises(GeometryError, match="there is no part to write"):
        threemf_bytes([], title="a")
    assert threemf_bytes([replace(part, triangles=PARTS[1].triangles[:4])], title="a")
