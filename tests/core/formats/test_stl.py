"""STL: what trimesh reads and writes, the text form as others write it, and what is none."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import trimesh

import pieces
from reliefsmith.errors import GeometryError
from reliefsmith.formats import stl
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.stl import FACET, read_stl, stl_bytes
from reliefsmith.model import Part

PARTS = pieces.parts()


class TestTextStl:
    """The text form of STL."""

    FACET = (
        "facet normal 0 0 1\n outer loop\n  vertex 0 0 0\n  vertex 1 0 0\n  vertex 0 1e0 0\n"
        " endloop\nendfacet\n"
    )

    def test_facets_are_read_whatever_the_case_and_the_blanks(self) -> None:
        text = f"SOLID red kite\r\n{self.FACET.upper()}\t endsolid red kite"
        (part,) = read_stl(text.encode(), "heron")
        assert part.name == "red kite"
        assert part.vertices[part.triangles].tolist() == [[[0, 0, 0], [1, 0, 0], [0, 1, 0]]]

    def test_several_solids_become_several_parts(self) -> None:
        lifted = self.FACET.replace("0 0\n", "0 5\n").replace("0 0 0", "0 0 5")
        text = f"solid\n{lifted}endsolid\n\nsolid b\n{self.FACET}endsolid b\n"
        one, two = read_stl(text.encode(), "heron")
        assert (one.name, one.role) == ("heron", "motif")
        assert (two.name, two.role) == ("b", "base")

    @pytest.mark.parametrize(
        ("text", "word"),
        [
            ("solid a\n", "cut off"),
            ("solid a\n{0}", "cut off"),
            ("solid a\nendsolid a\n", "no triangles"),
            ("solid a\n{0}endsolid a\nrubbish", "cut off"),
            ("solid a\n{0}facet normal 0 0 1\nendsolid a\n", "no triangle, or is cut off"),
            ("solid a\nfacet{0}endsolid a\n", "no triangle"),
            ("solid a\n" + FACET.replace("1e0", "one") + "endsolid", "no number"),
            ("solid a\n" + FACET.replace("1e0", "nan") + "endsolid", "no usable number"),
            ("solid a\n" + FACET.replace("1e0", "1e300") + "endsolid", "no usable number"),
            ("solid a\n" + FACET.replace("0 1e0 0", "1 0 0") + "endsolid", "no area"),
        ],
    )
    def test_what_is_no_stl_is_told(self, text: str, word: str) -> None:
        with pytest.raises(BadFileError, match=word):
            read_stl(text.replace("{0}", self.FACET).encode(), "heron")


@pytest.mark.parametrize("text", ["a kite on a string", "", "solids", "x" * 83])
def test_text_that_is_called_stl_is_told(text: str) -> None:
    with pytest.raises(BadFileError):
        read_stl(text.encode(), "a")


def test_a_text_of_as_many_triangles_as_the_bound_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "solid a\n" + TestTextStl.FACET * 3 + "endsolid a\n"
    monkeypatch.setattr(stl, "MAX_TRIANGLES", 3)
    assert len(read_stl(text.encode(), "a")[0].triangles) == 3
    monkeypatch.setattr(stl, "MAX_TRIANGLES", 2)
    with pytest.raises(BadFileError, match="more than 2 triangles"):
        read_stl(text.encode(), "a")


class TestBinaryStl:
    """The binary form: a header of 80 bytes, a count, 50 bytes for each facet (1989)."""

    @pytest.mark.parametrize("cut", [-1, 1])
    def test_one_of_the_wrong_length_is_told(self, cut: int) -> None:
        data = stl_bytes(PARTS[0])
        with pytest.raises(BadFileError, match="its length does not fit"):
            read_stl(data[:-1] if cut < 0 else data + b"\0", "a")

    def test_one_that_begins_with_solid_is_read(self) -> None:
        """Common practice, no source: some programs do so, the length decides."""
        (part,) = read_stl(b"solid" + stl_bytes(PARTS[0])[5:], "a")
        assert len(part.triangles) == len(PARTS[0].triangles)

    @pytest.mark.parametrize("value", [float("nan"), float("inf"), 3e38])
    def test_a_coordinate_that_is_none_is_told(self, value: float) -> None:
        data = bytearray(stl_bytes(PARTS[0]))
        data[84 + 12 : 84 + 16] = np.float32(value).tobytes()
        with pytest.raises(BadFileError, match="no usable number"):
            read_stl(bytes(data), "a")

    def test_trimesh_reads_what_is_written_and_we_read_what_trimesh_writes(self) -> None:
        part = PARTS[1]
        mesh = trimesh.load_mesh(io.BytesIO(stl_bytes(part)), file_type="stl")
        assert mesh.is_volume
        assert np.allclose(mesh.triangles, part.vertices[part.triangles], atol=1e-5)
        same = trimesh.Trimesh(part.vertices, part.triangles)
        assert np.allclose(mesh.face_normals, same.face_normals, atol=1e-4)
        (back,) = read_stl(same.export(file_type="stl"), "kite")
        assert (back.name, len(back.vertices)) == ("kite", len(part.vertices))
        assert np.array_equal(back.vertices[back.triangles], part.vertices[part.triangles])

    @pytest.mark.parametrize("name", ["base", "héron", "x" * 200])
    def test_the_header_names_the_part_in_ascii_and_stays_eighty_bytes_long(self, name: str) -> None:
        data = stl_bytes(replace(PARTS[1], name=name))
        assert data[:80].isascii()
        assert not data.startswith(b"solid")
        assert data[:80].decode().rstrip().endswith(name.replace("é", "?")[:20])
        assert int.from_bytes(data[80:84], "little") == len(PARTS[1].triangles)

    def test_a_facet_without_area_has_no_normal(self) -> None:
        flat = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0], [0, 0, 1]])
        part = Part("a", "base", (0, 0, 0), flat, np.array([[0, 1, 2], [0, 3, 1]], dtype=np.int32))
        facets = np.frombuffer(stl_bytes(part), dtype=FACET, offset=84)
        assert facets["normal"].tolist() == [[0, 0, 0], [0, 1, 0]]

    def test_what_is_no_number_is_not_written(self) -> None:
        part = replace(PARTS[1], vertices=PARTS[1].vertices + np.inf)
        with pytest.raises(GeometryError, match="part red is empty or has coordinates that are not numbers"):
            stl_bytes(part)

    def test_normals_are_those_of_the_corners_as_written(self) -> None:
        """A sliver turns when its corners are rounded to 32 bits; readers compare normal and corners."""
        sliver = np.array([[40.0001, 3.0, 0.0], [53.19, 3.00001, 1.3], [66.3803, 3.0, 2.6]])
        part = Part("base", "base", (0, 0, 0), sliver, np.array([[0, 1, 2]], dtype=np.int32))
        facet = np.frombuffer(stl_bytes(part), dtype=FACET, offset=84)[0]
        first, second, third = facet["corners"].astype(float)
        normal = np.cross(second - first, third - first)
        np.testing.assert_allclose(facet["normal"], normal / np.linalg.norm(normal), atol=1e-6)
