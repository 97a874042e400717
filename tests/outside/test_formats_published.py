"""Our STL, SVG, GLB and GeoJSON against what is published of each format, read back by other libraries.

Sources are named at each check; the trades' usage without a source is marked so.
"""

from __future__ import annotations

import io
import json
import re
import shutil
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
import trimesh
from lxml import etree
from PIL import Image

import pieces
from reliefsmith.formats import areas_geojson, areas_svg, curved_areas_svg, glb_bytes, plan_svg, stl_bytes
from reliefsmith.model import Part

SVG = "{http://www.w3.org/2000/svg}"
PX_PER_MM = 96 / 25.4  # CSS Values and Units 3, "Absolute lengths": 1in = 2.54cm = 96px
PARTS = pieces.parts()


class TestStl:
    """The binary form: StereoLithography Interface Specification, October 1989 (a reprint, read)."""

    @pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
    def test_layout(self, part: Part) -> None:
        data = stl_bytes(part)
        (count,) = struct.unpack_from("<I", data, 80)
        assert count == len(part.triangles)
        assert len(data) == 84 + 50 * count
        assert not data.lower().startswith(b"solid")
        assert {struct.unpack_from("<H", data, 84 + 50 * i + 48)[0] for i in range(count)} == {0}

    @pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
    def test_normals_are_of_length_one_and_follow_the_right_hand_rule(self, part: Part) -> None:
        data = stl_bytes(part)
        for index in range(len(part.triangles)):
            numbers = np.array(struct.unpack_from("<12f", data, 84 + 50 * index), dtype=float)
            normal, a, b, c = numbers.reshape(4, 3)
            across = np.cross(b - a, c - a)
            assert np.linalg.norm(normal) == pytest.approx(1, abs=1e-6)
            assert normal @ across == pytest.approx(np.linalg.norm(across), rel=1e-4)

    @pytest.mark.parametrize(("part", "volume"), list(zip(PARTS, pieces.volumes_mm3(), strict=True)))
    def test_trimesh_reads_a_closed_solid_of_the_right_volume_in_mm(self, part: Part, volume: float) -> None:
        mesh = trimesh.load_mesh(io.BytesIO(stl_bytes(part)), file_type="stl")
        assert mesh.is_volume
        assert mesh.volume == pytest.approx(volume, rel=1e-5)
        np.testing.assert_allclose(mesh.bounds[0], part.vertices.min(axis=0), rtol=1e-6)
        np.testing.assert_allclose(mesh.bounds[1], part.vertices.max(axis=0), rtol=1e-6)

    def test_no_vertex_moves_by_a_micrometre(self) -> None:
        """A 32-bit float has 24 bits: at 128 mm the step is 7.6e-6 mm."""
        for part in PARTS:
            facets = np.frombuffer(
                stl_bytes(part), dtype=[("n", "<f4", 3), ("p", "<f4", (3, 3)), ("a", "<u2")], offset=84
            )
            assert np.abs(facets["p"] - part.vertices[part.triangles]).max() < 1e-3

    @pytest.mark.deep
    def test_admesh_finds_nothing_to_mend(self, tmp_path: Path) -> None:
        """ADMesh (Debian package `admesh`) is an independent checker of STL."""
        program = shutil.which("admesh")
        if program is None:
            pytest.skip("needs the Debian package admesh")
        for part, volume in zip(PARTS, pieces.volumes_mm3(), strict=True):
            path = tmp_path / f"{part.name}.stl"
            path.write_bytes(stl_bytes(part))
            told = subprocess.run([program, str(path)], capture_output=True, text=True, check=True).stdout
            for line in (
                "Total disconnected facets",
                "Degenerate facets",
                "Edges fixed",
                "Facets removed",
                "Facets added",
                "Facets reversed",
                "Backwards edges",
                "Normals fixed",
            ):
                numbers = re.search(rf"{line}\s*:\s*(\d+)", told)
                assert numbers is not None, told
                assert numbers[1] == "0", told
            found = re.search(r"Volume\s*:\s*([\d.]+)", told)
            assert found is not None
            assert float(found[1]) == pytest.approx(volume, rel=1e-4)


def _groups(data: bytes) -> dict[str, tuple[str, shapely.Geometry]]:
    """Return fill and shape of each group, its path read by a parser of our own for M, L and Z only.

    Rings are combined by the even-odd rule of SVG 2, chapter 13.
    """
    found = {}
    for group in etree.fromstring(data).iter(f"{SVG}g"):
        (path,) = group.iter(f"{SVG}path")
        shape = shapely.MultiPolygon()
        for ring in re.findall(r"M([^MZ]+)Z", path.get("d")):
            numbers = np.array([float(word) for word in re.split(r"[ ,]", ring)]).reshape(-1, 2)
            shape = shape.symmetric_difference(shapely.Polygon(numbers))
        assert re.fullmatch(r"(M(-?\d+(\.\d+)?,-?\d+(\.\d+)?[ Z])+)+", path.get("d"))
        found[group.get("id")] = group.get("fill"), shape
    return found


class TestSvg:
    """SVG 2 (w3.org/TR/SVG2), chapters 8, 9 and 13."""

    @pytest.mark.parametrize(("data", "size"), [
        (plan_svg(pieces.plan(), ["base", "red", "teal"]), (pieces.WIDTH_MM, pieces.DEPTH_MM)),
        (areas_svg(pieces.areas()), pieces.areas().size_mm),
    ], ids=["plan", "areas"])  # fmt: skip
    def test_one_user_unit_is_one_millimetre(self, data: bytes, size: tuple[float, float]) -> None:
        root = etree.fromstring(data)
        width, height = (float(root.get(key).removesuffix("mm")) for key in ("width", "height"))
        box = [float(word) for word in root.get("viewBox").split()]
        assert (width, height) == pytest.approx(size, abs=1e-9)
        assert box[2:] == [width, height]

    def test_groups_carry_the_names_the_colors_and_the_shapes_of_the_plan_with_y_down(self) -> None:
        plan = pieces.plan()
        groups = _groups(plan_svg(plan, ["base", "red", "teal"]))
        shapes = [plan.base, *(motif.polygon for motif in plan.motifs)]
        assert list(groups) == ["base", "red", "teal"]
        for (color, found), part, shape in zip(groups.values(), PARTS, shapes, strict=True):
            assert color == "#{:02x}{:02x}{:02x}".format(*part.color)
            upright = shapely.transform(found, lambda points: points * [1, -1])
            assert upright.symmetric_difference(shape).area < 1e-9

    def test_names_can_be_given_by_color(self) -> None:
        by_color = {pieces.TEAL: "teal", pieces.DARK: "base", pieces.RED: "red"}
        assert plan_svg(pieces.plan(), by_color) == plan_svg(pieces.plan(), ["base", "red", "teal"])

    @pytest.mark.parametrize("write", [areas_svg, curved_areas_svg])
    def test_the_frame_counts_from_the_origin_under_the_areas_and_is_none(self, write) -> None:
        """SVG 2, 3.3: what comes first lies below what comes after."""
        areas = pieces.areas()
        root = etree.fromstring(write(areas))
        frame, *others = root.iter(f"{SVG}g")
        assert len(others) == len(areas.polygons)
        assert frame.get("id") == "frame"
        assert frame.get("fill") == "none"
        assert not list(frame.iter(f"{SVG}path"))
        assert "#" not in "".join(text.get("fill") for text in frame.iter(f"{SVG}text"))
        numbers = list(frame.iter(f"{SVG}text"))
        level = [(t.text, float(t.get("x"))) for t in numbers if t.get("text-anchor") == "middle"]
        assert ("0", 0.0) in level
        assert all(float(text) == x for text, x in level)
        lines = [
            [float(line.get(key)) for key in ("x1", "y1", "x2", "y2")] for line in frame.iter(f"{SVG}line")
        ]
        left, upper, width, height = (float(word) for word in root.get("viewBox").split())
        assert 0.0 in [y1 for _, y1, _, y2 in lines if y1 == y2]
        for x1, y1, x2, y2 in lines:
            assert left - 1e-3 <= min(x1, x2) <= max(x1, x2) <= left + width + 1e-3
            assert upper - 1e-3 <= min(y1, y2) <= max(y1, y2) <= upper + height + 1e-3

    @pytest.mark.parametrize("rule", ["evenodd", "nonzero"])
    def test_an_independent_renderer_shows_the_areas_under_both_fill_rules(self, rule: str) -> None:
        """resvg draws at 96 px an inch by default; a pixel's cover is counted by its opacity."""
        areas = pieces.areas()
        text = areas_svg(areas).decode().replace("evenodd", rule)
        zoom = 4
        picture = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=text, zoom=zoom, dpi=96))))
        pixels = np.asarray(picture.convert("RGBA"), dtype=float)
        width, height = areas.size_mm
        assert picture.size == (
            pytest.approx(width * PX_PER_MM * zoom, abs=zoom),
            pytest.approx(height * PX_PER_MM * zoom, abs=zoom),
        )
        for color, shape in zip(areas.colors, areas.polygons, strict=True):
            near = np.abs(pixels[..., :3] - color).sum(axis=-1) < 60
            shown = (pixels[..., 3] / 255 * near).sum() / (PX_PER_MM * zoom) ** 2
            assert shown == pytest.approx(shape.area, rel=5e-3)

    def test_the_renderer_sees_through_the_holes(self) -> None:
        plan = pieces.plan()
        text = plan_svg(plan, ["base", "red", "teal"]).decode()
        picture = Image.open(
            io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=text, zoom=4, dpi=96)))
        ).convert("RGBA")
        scale = 4 * PX_PER_MM

        def seen(x: float, y: float) -> tuple[int, ...]:
            top = pieces.BOTTOM_MM + pieces.DEPTH_MM
            return picture.getpixel((int((x - pieces.LEFT_MM) * scale), int((top - y) * scale)))

        assert seen(22.5, -7.5)[3] == 0  # the square hole, right and below
        assert (
            seen(pieces.LEFT_MM + 6, pieces.BOTTOM_MM + pieces.DEPTH_MM - 6)[3] == 0
        )  # the round one, above
        assert seen(0.5, 0) == (*pieces.RED, 255)  # the island in the ring
        assert seen(0, 5) == (*pieces.DARK, 255)  # the base between island and ring
        assert seen(14, 0) == (*pieces.TEAL, 255)


class TestGlb:
    """Khronos glTF 2.0 (KhronosGroup/glTF, specification/2.0/Specification.adoc)."""

    DATA = glb_bytes(PARTS)

    def test_header_and_chunks(self) -> None:
        """ "Binary glTF Layout": magic, version, length, JSON first, chunks of whole four bytes."""
        magic, version, length = struct.unpack_from("<4sII", self.DATA)
        assert (magic, version, length) == (b"glTF", 2, len(self.DATA))
        size, kind = struct.unpack_from("<I4s", self.DATA, 12)
        assert kind == b"JSON"
        assert size % 4 == 0
        binary, kind = struct.unpack_from("<I4s", self.DATA, 20 + size)
        assert kind == b"BIN\0"
        assert binary % 4 == 0
        assert 28 + size + binary == length

    def _document(self) -> tuple[dict, bytes]:
        (size,) = struct.unpack_from("<I", self.DATA, 12)
        return json.loads(self.DATA[20 : 20 + size]), self.DATA[28 + size :]

    def test_positions_state_their_bounds_and_indices_stay_in_them(self) -> None:
        """ "Meshes": POSITION MUST have min and max; views are aligned to the component."""
        document, binary = self._document()
        assert document["buffers"] == [{"byteLength": len(binary)}]
        for mesh in document["meshes"]:
            (primitive,) = mesh["primitives"]
            place = document["accessors"][primitive["attributes"]["POSITION"]]
            view = document["bufferViews"][place["bufferView"]]
            points = np.frombuffer(binary, "<f4", 3 * place["count"], view["byteOffset"]).reshape(-1, 3)
            np.testing.assert_array_equal(points.min(axis=0), np.float32(place["min"]))
            np.testing.assert_array_equal(points.max(axis=0), np.float32(place["max"]))
            index = document["accessors"][primitive["indices"]]
            view = document["bufferViews"][index["bufferView"]]
            assert view["byteOffset"] % 4 == 0
            assert np.frombuffer(binary, "<u4", index["count"], view["byteOffset"]).max() < place["count"]

    def test_colors_are_linear(self) -> None:
        """ "Material": baseColorFactor is linear. IEC 61966-2-1 decoding; #808080 is 0.2159."""
        grey = Part("base", "base", (128, 128, 128), PARTS[0].vertices, PARTS[0].triangles)
        data = glb_bytes([grey])
        (size,) = struct.unpack_from("<I", data, 12)
        surface = json.loads(data[20 : 20 + size])["materials"][0]["pbrMetallicRoughness"]
        assert surface["baseColorFactor"] == pytest.approx([0.2158605] * 3 + [1.0], abs=1e-6)
        assert surface["metallicFactor"] == 0

    def test_trimesh_reads_it_back_in_metres_with_y_up(self) -> None:
        scene = trimesh.load_scene(io.BytesIO(self.DATA), file_type="glb")
        size = np.array([pieces.WIDTH_MM, pieces.BASE_MM + pieces.MOTIF_MM, pieces.DEPTH_MM]) / 1000
        np.testing.assert_allclose(scene.extents, size, rtol=1e-6)
        assert list(scene.geometry) == [part.name for part in PARTS]
        for part, volume, mesh in zip(PARTS, pieces.volumes_mm3(), scene.geometry.values(), strict=True):
            assert mesh.is_volume
            assert mesh.volume * 1e9 == pytest.approx(volume, rel=1e-5)
            color = mesh.visual.material.baseColorFactor[:3] / 255
            decoded = [((c / 255 + 0.055) / 1.055) ** 2.4 if c > 10 else c / 255 / 12.92 for c in part.color]
            assert color == pytest.approx(decoded, abs=1 / 255)

    @pytest.mark.deep
    def test_the_khronos_validator_finds_no_errors(self, tmp_path: Path) -> None:
        """npm `gltf-validator`, by Khronos, 2.0.0-dev.3.10 (Apache-2.0)."""
        npm, node = shutil.which("npm"), shutil.which("node")
        if npm is None or node is None:
            pytest.skip("needs node and npm")
        subprocess.run(
            [
                npm,
                "install",
                "--no-audit",
                "--no-fund",
                "--prefix",
                str(tmp_path),
                "gltf-validator@2.0.0-dev.3.10",
            ],
            check=True,
            capture_output=True,
        )
        (tmp_path / "piece.glb").write_bytes(self.DATA)
        script = (
            "const v = require('gltf-validator'), fs = require('fs');"
            "v.validateBytes(new Uint8Array(fs.readFileSync('piece.glb')))"
            ".then(r => console.log(JSON.stringify(r.issues)))"
        )
        told = subprocess.run([node, "-e", script], cwd=tmp_path, check=True, capture_output=True, text=True)
        issues = json.loads(told.stdout)
        assert (issues["numErrors"], issues["numWarnings"], issues["messages"]) == (0, 0, [])


class TestGeoJson:
    """RFC 7946; millimetres instead of degrees, in a frame that the file states."""

    DOCUMENT = json.loads(areas_geojson(pieces.areas()))

    def test_one_feature_for_each_color(self) -> None:
        assert self.DOCUMENT["type"] == "FeatureCollection"
        features = self.DOCUMENT["features"]
        assert [feature["type"] for feature in features] == ["Feature", "Feature"]
        assert [feature["properties"] for feature in features] == [
            {"color": "#d32020", "name": "red"},
            {"color": "#1e8a8a", "name": "teal"},
        ]
        assert {feature["geometry"]["type"] for feature in features} == {"MultiPolygon"}

    def test_shapely_reads_exactly_the_areas(self) -> None:
        for feature, shape in zip(self.DOCUMENT["features"], pieces.areas().polygons, strict=True):
            found = shapely.from_geojson(json.dumps(feature["geometry"]))
            assert shapely.equals_exact(shapely.normalize(found), shapely.normalize(shape), 0)

    def test_rings_follow_the_right_hand_rule_and_are_closed(self) -> None:
        """RFC 7946, 3.1.6: exterior rings are counterclockwise, and holes are clockwise."""
        for feature in self.DOCUMENT["features"]:
            for polygon in feature["geometry"]["coordinates"]:
                assert all(ring[0] == ring[-1] and len(ring) >= 4 for ring in polygon)
                turns = [shapely.LinearRing(ring).is_ccw for ring in polygon]
                assert turns == [True, *([False] * (len(polygon) - 1))]

    def test_the_frame_is_stated(self) -> None:
        frame = pieces.frame()
        assert self.DOCUMENT["frame"] == {
            "mm_per_px": frame.mm_per_px,
            "origin_px": list(frame.origin_px),
            "turn_deg": frame.turn_deg,
            "image_px": list(frame.image_px),
            "to_source": np.eye(3).tolist(),
        }
