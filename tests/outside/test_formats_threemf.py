"""Our 3MF against the rules of the format, one by one, and against the consortium's own library.

Sources: 3MF Core Specification 1.4.0 ("Core") and Materials and Properties Extension 1.2.1, both at
https://github.com/3MFConsortium; Open Packaging Conventions, ECMA-376 part 2. The file is taken apart here
with lxml and numpy, not with our reader.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections import Counter
from pathlib import Path

import lib3mf
import numpy as np
import pytest
from lxml import etree
from PIL import Image

import pieces
from reliefsmith.formats import threemf_bytes
from reliefsmith.model import Part

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
MATERIALS = "{http://schemas.microsoft.com/3dmanufacturing/material/2015/02}"
PACKAGE = "{http://schemas.openxmlformats.org/package/2006/"
TITLE = 'Kite Day <&> "heron" – 鷺'
GRAMMAR = Path(__file__).parent / "data" / "threemf-model.rng"


def _png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (30, 138, 138)).save(out, "PNG")
    return out.getvalue()


@pytest.fixture(scope="module")
def data() -> bytes:
    return threemf_bytes(pieces.parts(), title=TITLE, thumbnail_png=_png())


@pytest.fixture(scope="module")
def package(data: bytes) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(data))


@pytest.fixture(scope="module")
def model(package: zipfile.ZipFile) -> etree._Element:
    return etree.fromstring(package.read("3D/3dmodel.model"))


def _meshes(model: etree._Element) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Return vertices and triangles of each mesh object by its id."""
    found = {}
    for one in model.iter(f"{CORE}object"):
        if one.find(f"{CORE}mesh") is not None:
            vertices = [[float(v.get(k)) for k in "xyz"] for v in one.iter(f"{CORE}vertex")]
            triangles = [[int(t.get(k)) for k in ("v1", "v2", "v3")] for t in one.iter(f"{CORE}triangle")]
            found[one.get("id")] = np.array(vertices), np.array(triangles)
    return found


def _relations(package: zipfile.ZipFile) -> list[etree._Element]:
    return list(etree.fromstring(package.read("_rels/.rels")))


class TestPackage:
    """Core 1.1, 2.1, 2.2, 6.1, Appendix C."""

    def test_entries_are_deflated_or_stored(self, package: zipfile.ZipFile) -> None:
        assert {info.compress_type for info in package.infolist()} <= {0, 8}
        assert package.testzip() is None

    def test_content_types_are_those_of_the_specification(self, package: zipfile.ZipFile) -> None:
        root = etree.fromstring(package.read("[Content_Types].xml"))
        kinds = {one.get("Extension"): one.get("ContentType") for one in root}
        assert root.tag == f"{PACKAGE}content-types}}Types"
        assert kinds == {
            "rels": "application/vnd.openxmlformats-package.relationships+xml",
            "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
            "png": "image/png",
        }

    def test_one_start_part_that_exists(self, package: zipfile.ZipFile) -> None:
        kind = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
        targets = [one.get("Target") for one in _relations(package) if one.get("Type") == kind]
        assert targets == ["/3D/3dmodel.model"]
        assert "3D/3dmodel.model" in package.namelist()

    def test_relations_are_unique_and_stay_inside(self, package: zipfile.ZipFile) -> None:
        relations = _relations(package)
        assert all(one.get("TargetMode") is None for one in relations)
        assert len({one.get("Id") for one in relations}) == len(relations)

    def test_the_thumbnail_is_a_picture_that_exists(self, package: zipfile.ZipFile) -> None:
        kind = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail"
        (target,) = [one.get("Target") for one in _relations(package) if one.get("Type") == kind]
        with Image.open(io.BytesIO(package.read(target[1:]))) as picture:
            assert picture.format == "PNG"
            assert picture.mode in {"RGB", "RGBA"}

    def test_part_names_are_plain(self, package: zipfile.ZipFile) -> None:
        for name in package.namelist():
            assert re.fullmatch(r"[A-Za-z0-9_\[\]./]+", name)
            assert not [word for word in name.split("/") if not word or (word[0] == "." and word != ".rels")]

    def test_without_a_thumbnail_nothing_speaks_of_one(self) -> None:
        bare = zipfile.ZipFile(io.BytesIO(threemf_bytes(pieces.parts(), title="kite")))
        assert bare.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert b"png" not in bare.read("[Content_Types].xml")
        assert b"thumbnail" not in bare.read("_rels/.rels")


class TestMarkup:
    """Core 2.3.2, 2.3.4, 3.4, 3.4.1, Appendix B.1.1."""

    def test_xml_is_utf8_without_dtd(self, package: zipfile.ZipFile) -> None:
        for name in ("[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"):
            text = package.read(name).decode("utf-8")
            assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>')
            assert "<!" not in text
            assert "xml:space" not in text

    def test_the_model_fits_the_grammar(self, model: etree._Element) -> None:
        grammar = etree.RelaxNG(etree.parse(GRAMMAR))
        grammar.assertValid(model)

    @pytest.mark.parametrize(
        ("old", "new"),
        [
            (b' unit="millimeter"', b""),
            (b'pindex="0"', b""),
            (b'x="', b'x=",5'),
            (b"<components>", b'<components pid="1">'),
            (b"</resources>", b"</resources><resources/>"),
            (b'name="Title"', b'name="Maker"'),
        ],
    )
    def test_the_grammar_can_tell(self, package: zipfile.ZipFile, old: bytes, new: bytes) -> None:
        text = package.read("3D/3dmodel.model")
        assert old in text
        grammar = etree.RelaxNG(etree.parse(GRAMMAR))
        assert not grammar.validate(etree.fromstring(text.replace(old, new, 1)))

    def test_metadata_is_known_said_once_and_says_what_was_given(self, model: etree._Element) -> None:
        told = [(one.get("name"), one.text) for one in model.findall(f"{CORE}metadata")]
        assert told == [("Title", TITLE), ("Application", "reliefsmith")]

    def test_everything_is_defined_before_it_is_used(self, model: etree._Element) -> None:
        known: set[str] = set()
        for one in model.find(f"{CORE}resources"):
            used = [one.get("pid"), *(c.get("objectid") for c in one.iter(f"{CORE}component"))]
            assert {key for key in used if key is not None} <= known
            assert one.get("id") not in known
            known.add(one.get("id"))
        assert {item.get("objectid") for item in model.iter(f"{CORE}item")} <= known


class TestBuild:
    """Core 3.1, 3.3, 3.4.3.1, 4.2: one thing to build, whole, in the positive octant."""

    def test_one_item_of_components_one_for_each_part(self, model: etree._Element) -> None:
        (item,) = model.iter(f"{CORE}item")
        (whole,) = [o for o in model.iter(f"{CORE}object") if o.get("id") == item.get("objectid")]
        assert [one.get("objectid") for one in whole.iter(f"{CORE}component")] == list(_meshes(model))
        assert whole.get("name") == TITLE
        assert {one.get("type") for one in model.iter(f"{CORE}object")} == {"model"}
        names = [o.get("name") for o in model.iter(f"{CORE}object") if o is not whole]
        assert names == ["base", "red", "teal"]

    def test_the_build_stands_in_the_positive_octant(self, model: etree._Element) -> None:
        (item,) = model.iter(f"{CORE}item")
        numbers = [float(word) for word in item.get("transform").split()]
        assert numbers[:9] == [1, 0, 0, 0, 1, 0, 0, 0, 1]
        points = np.concatenate([vertices for vertices, _ in _meshes(model).values()]) + numbers[9:]
        np.testing.assert_allclose(points.min(axis=0), 0, atol=1e-9)
        size = [pieces.WIDTH_MM, pieces.DEPTH_MM, pieces.BASE_MM + pieces.MOTIF_MM]
        np.testing.assert_allclose(points.max(axis=0), size, atol=1e-9)

    def test_meshes_keep_the_frame_of_the_other_files_to_the_micrometre(self, model: etree._Element) -> None:
        for (vertices, triangles), part in zip(_meshes(model).values(), pieces.parts(), strict=True):
            np.testing.assert_array_equal(vertices, np.round(part.vertices, 3))
            np.testing.assert_array_equal(triangles, part.triangles)


class TestMeshes:
    """Core 4.1: every mesh a closed surface, outside outward."""

    def test_every_edge_is_shared_by_two_triangles_in_opposite_order(self, model: etree._Element) -> None:
        for _, triangles in _meshes(model).values():
            edges = Counter((int(t[i]), int(t[(i + 1) % 3])) for t in triangles for i in range(3))
            assert set(edges.values()) == {1}
            assert all((b, a) in edges for a, b in edges)

    def test_the_signed_volume_is_area_times_height(self, model: etree._Element) -> None:
        for (vertices, triangles), volume in zip(_meshes(model).values(), pieces.volumes_mm3(), strict=True):
            a, b, c = (vertices[triangles[:, i]] for i in range(3))
            assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6 == pytest.approx(volume, rel=1e-9)

    def test_triangles_have_three_corners_and_an_area(self, model: etree._Element) -> None:
        for vertices, triangles in _meshes(model).values():
            assert len(triangles) >= 4
            assert all(len(set(t)) == 3 for t in triangles.tolist())
            assert triangles.max() < len(vertices)
            a, b, c = (vertices[triangles[:, i]] for i in range(3))
            assert (np.linalg.norm(np.cross(b - a, c - a), axis=1) > 0).all()

    def test_no_vertex_is_there_twice(self, model: etree._Element) -> None:
        for vertices, _ in _meshes(model).values():
            assert len(np.unique(vertices, axis=0)) == len(vertices)


class TestColors:
    """Core 4, 5; Materials chapter 2."""

    def test_properties_are_set_on_mesh_objects_only(self, model: etree._Element) -> None:
        for one in model.iter(f"{CORE}object"):
            is_mesh = one.find(f"{CORE}mesh") is not None
            assert (one.get("pid") is not None) == is_mesh
            assert (one.get("pindex") is not None) == is_mesh
        assert not [t for t in model.iter(f"{CORE}triangle") if {"pid", "p1", "p2", "p3"} & set(t.attrib)]

    def test_each_object_has_the_color_of_its_part_in_both_groups(self, model: etree._Element) -> None:
        (materials,) = model.iter(f"{CORE}basematerials")
        (group,) = model.iter(f"{MATERIALS}colorgroup")
        shown = [one.get("displaycolor") for one in materials]
        assert all(re.fullmatch(r"#[0-9A-F]{6}", color) for color in shown)
        assert [one.get("color") for one in group] == shown
        meshes = [one for one in model.iter(f"{CORE}object") if one.get("pid")]
        assert {one.get("pid") for one in meshes} == {materials.get("id")}
        wanted = ["#{:02X}{:02X}{:02X}".format(*part.color) for part in pieces.parts()]
        assert [shown[int(one.get("pindex"))] for one in meshes] == wanted

    def test_material_names_are_unique(self, model: etree._Element) -> None:
        names = [one.get("name") for one in model.iter(f"{CORE}base")]
        assert len(set(names)) == len(names)

    def test_parts_of_one_color_share_a_material(self) -> None:
        base, red, _ = pieces.parts()
        twin = Part("red-2", "motif", red.color, red.vertices + np.array([0, 20, 0]), red.triangles)
        text = threemf_bytes([base, red, twin], title="kite")
        root = etree.fromstring(zipfile.ZipFile(io.BytesIO(text)).read("3D/3dmodel.model"))
        assert len(list(root.iter(f"{CORE}base"))) == 2
        assert [o.get("pindex") for o in root.iter(f"{CORE}object")] == ["0", "1", "1", None]


class TestConsortiumLibrary:
    """lib3mf, the 3MF consortium's own implementation, reads the file in strict mode."""

    @pytest.fixture
    def scene(self, data: bytes) -> lib3mf.Model:
        wrapper = lib3mf.get_wrapper()
        scene = wrapper.CreateModel()
        reader = scene.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromBuffer(data)
        assert reader.GetWarningCount() == 0
        return scene

    def test_meshes_are_manifold_named_and_colored(self, scene: lib3mf.Model) -> None:
        wrapper = lib3mf.get_wrapper()
        meshes = scene.GetMeshObjects()
        for part, volume in zip(pieces.parts(), pieces.volumes_mm3(), strict=True):
            assert meshes.MoveNext()
            mesh = meshes.GetCurrentMeshObject()
            assert mesh.GetName() == part.name
            assert mesh.IsManifoldAndOriented()
            assert mesh.GetTriangleCount() == len(part.triangles)
            # An inverted mesh passes as manifold too, so its volume is asked for as well.
            vertices = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
            triangles = np.array([list(t.Indices) for t in mesh.GetTriangleIndices()])
            a, b, c = (vertices[triangles[:, i]] for i in range(3))
            found = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
            assert found == pytest.approx(volume, rel=1e-5)  # lib3mf keeps 32-bit coordinates
            group, key, has = mesh.GetObjectLevelProperty()
            assert has
            color = scene.GetBaseMaterialGroupByID(group).GetDisplayColor(key)
            assert wrapper.ColorToRGBA(color) == (*part.color, 255)
        assert not meshes.MoveNext()

    def test_the_build_has_the_size_of_the_piece(self, scene: lib3mf.Model) -> None:
        assert scene.GetUnit() == lib3mf.ModelUnit.MilliMeter
        assert scene.GetBuildItems().Count() == 1
        box = scene.GetOutbox()
        np.testing.assert_allclose(list(box.MinCoordinate), 0, atol=1e-5)
        size = [pieces.WIDTH_MM, pieces.DEPTH_MM, pieces.BASE_MM + pieces.MOTIF_MM]
        np.testing.assert_allclose(list(box.MaxCoordinate), size, rtol=1e-6)

    def test_the_title_and_the_thumbnail_arrive(self, scene: lib3mf.Model) -> None:
        assert scene.GetMetaDataGroup().GetMetaDataByKey("", "Title").GetValue() == TITLE
        assert scene.HasPackageThumbnailAttachment()
