"""What is written is read back: the same parts to the micrometre, the same bytes twice."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import pieces
from reliefsmith.errors import GeometryError, OutputError
from reliefsmith.formats import (
    areas_geojson,
    areas_svg,
    glb_bytes,
    plan_svg,
    read_parts,
    stl_bytes,
    threemf_bytes,
)
from reliefsmith.model import FlatAreas, Part

PARTS = pieces.parts()
FASTER = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])


def _read(folder: Path, data: bytes, suffix: str) -> tuple[Part, ...]:
    path = folder / f"heron{suffix}"
    path.write_bytes(data)
    return read_parts(path)


def test_3mf_gives_back_names_roles_colors_and_triangles(tmp_path: Path) -> None:
    found = _read(tmp_path, threemf_bytes(PARTS, title="heron"), ".3mf")
    low = np.min([part.vertices.min(axis=0) for part in PARTS], axis=0)
    for part, same in zip(PARTS, found, strict=True):
        assert (same.name, same.role, same.color) == (part.name, part.role, part.color)
        np.testing.assert_array_equal(same.triangles, part.triangles)
        assert np.abs(same.vertices + low - part.vertices).max() < 1e-9


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_stl_gives_back_the_vertices_merged_and_on_the_grid(tmp_path: Path, part: Part) -> None:
    (same,) = _read(tmp_path, stl_bytes(part), ".stl")
    assert len(same.vertices) == len(part.vertices)
    corners = {tuple(map(tuple, t)) for t in part.vertices[part.triangles].tolist()}
    assert {tuple(map(tuple, t)) for t in same.vertices[same.triangles].tolist()} == corners
    assert (same.name, same.role) == ("heron", "base")


@FASTER
@given(st.lists(st.tuples(*[st.integers(-2_000_000, 2_000_000)] * 3), min_size=4, max_size=4, unique=True),
       st.text(st.characters(codec=None), max_size=20))  # fmt: skip
def test_any_tetrahedron_on_the_grid_comes_back_exactly(
    tmp_path: Path, corners: list[tuple[int, int, int]], name: str
) -> None:
    vertices = np.array(corners) / 1000
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]], dtype=np.int32)
    part = Part(name, "motif", (1, 2, 3), vertices, faces)
    (same,) = _read(tmp_path, threemf_bytes([part], title=name), ".3mf")
    np.testing.assert_array_equal(same.vertices, np.round(vertices - vertices.min(axis=0), 3))
    assert same.color == (1, 2, 3)
    (same,) = _read(tmp_path, stl_bytes(part), ".stl")
    assert np.abs(np.sort(same.vertices, axis=0) - np.sort(vertices, axis=0)).max() < 1e-3


def test_points_off_the_grid_come_back_to_the_nanometre(tmp_path: Path) -> None:
    """Meshes modeled by hand must not collapse on the plan's grid."""
    turned = PARTS[1].vertices @ np.array([[0.8, 0.6, 0], [-0.6, 0.8, 0], [0, 0, 1]]) / 7
    part = Part("red", "motif", (1, 2, 3), turned, PARTS[1].triangles)
    (same,) = _read(tmp_path, threemf_bytes([part], title="red"), ".3mf")
    assert np.abs(same.vertices - (turned - turned.min(axis=0))).max() < 1.5e-6
    assert len(np.unique(same.vertices, axis=0)) == len(turned)


def test_the_same_parts_give_the_same_bytes() -> None:
    for write in (
        lambda: threemf_bytes(pieces.parts(), title="heron", thumbnail_png=b"png"),
        lambda: glb_bytes(pieces.parts()),
        lambda: stl_bytes(pieces.parts()[1]),
        lambda: plan_svg(pieces.plan(), ["base", "red", "teal"]),
        lambda: areas_svg(pieces.areas()),
        lambda: areas_geojson(pieces.areas()),
    ):
        assert write() == write()


class TestNothingToWrite:
    """An empty result is an error, not an empty file."""

    EMPTY = Part("red", "motif", (1, 2, 3), np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int32))

    def test_no_parts(self) -> None:
        with pytest.raises(GeometryError, match="there is no part to write"):
            threemf_bytes([], title="heron")
        with pytest.raises(GeometryError, match="there is no part"):
            glb_bytes([])

    def test_an_empty_part(self) -> None:
        with pytest.raises(GeometryError, match="part red is empty"):
            threemf_bytes([PARTS[0], self.EMPTY], title="heron")
        with pytest.raises(GeometryError, match="part red is empty"):
            stl_bytes(self.EMPTY)
        with pytest.raises(GeometryError, match="empty one"):
            glb_bytes([self.EMPTY])

    def test_no_areas(self) -> None:
        none = FlatAreas((shapely.MultiPolygon(),), np.zeros((1, 3), np.uint8), pieces.frame(), (0, 0))
        with pytest.raises(GeometryError, match="nothing to draw"):
            areas_svg(none)


def test_names_are_escaped_wherever_they_go() -> None:
    nasty = '"><script>alert(1)</script>&amp;\0'
    part = Part(nasty, "motif", (1, 2, 3), PARTS[1].vertices, PARTS[1].triangles)
    for text in (areas_svg(pieces.areas(), [nasty, "b"]), plan_svg(pieces.plan(), [nasty, "b", "c"])):
        assert b"<script" not in text
    assert b'"name":"\\"><script>' in glb_bytes([part])


def _mutated(data: bytes, chance: random.Random) -> bytes:
    """Change a digit or a byte, cut, repeat or overwrite a piece, a few times."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(out))
        other = min(len(out), place + chance.randint(1, 40))
        match chance.randrange(6):
            case 0:
                out[place] = chance.randrange(256)
            case 1:
                del out[place:other]
            case 2:
                out[place:place] = out[place:other]
            case 3 | 4:
                digits = [i for i in range(place, other) if 48 <= out[i] < 58]
                for index in digits[:1]:
                    out[index] = 48 + chance.randrange(10)
            case _:
                out[place:other] = chance.randbytes(other - place)
        if not out:
            return b"x"
    return bytes(out)


def _try_mutations(folder: Path, seed: int, count: int) -> int:
    """Read mutated files; return how many were still readable."""
    import zipfile
    from io import BytesIO

    chance = random.Random(seed)
    whole = threemf_bytes([PARTS[1]], title="heron")
    model = zipfile.ZipFile(BytesIO(whole)).read("3D/3dmodel.model")
    readable = 0
    told: list[str] = []
    for _ in range(count):
        kind = chance.randrange(3)
        if kind == 0:
            data, suffix = _mutated(stl_bytes(PARTS[1])[: 84 + 500], chance), ".stl"
        elif kind == 1:
            data, suffix = _mutated(whole, chance), ".3mf"
        else:
            out = BytesIO()
            with zipfile.ZipFile(out, "w") as target, zipfile.ZipFile(BytesIO(whole)) as source:
                for name in source.namelist()[:-1]:
                    target.writestr(name, source.read(name))
                target.writestr("3D/3dmodel.model", _mutated(model, chance))
            data, suffix = out.getvalue(), ".3mf"
        try:
            parts = _read(folder, data, suffix)
        except OutputError as error:
            told.append(str(error))
            continue
        readable += 1
        for part in parts:
            assert np.isfinite(part.vertices).all()
            assert part.triangles.min() >= 0
            assert part.triangles.max() < len(part.vertices)
    assert [line for line in told if len(line.splitlines()) != 1] == []
    return readable


def test_mutated_files_are_read_or_told_in_one_line(tmp_path: Path) -> None:
    assert 5 < _try_mutations(tmp_path, seed=1, count=400) < 395


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(2, 22))
def test_many_mutated_files(tmp_path: Path, seed: int) -> None:
    _try_mutations(tmp_path, seed=seed, count=10_000)


@pytest.mark.bench
def test_100_000_triangles_are_written_faster_than_by_the_consortiums_library() -> None:
    import time

    import lib3mf

    angle = np.linspace(0, 2 * np.pi, 25_000, endpoint=False)
    radius = 30 + 2 * np.sin(40 * angle)
    shape = pieces.on_grid(shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])))
    part = pieces.part("base", (1, 2, 3), shape, (0, 2))
    assert len(part.triangles) > 99_000
    started = time.perf_counter()
    threemf_bytes([part], title="kite")
    own = time.perf_counter() - started
    wrapper = lib3mf.get_wrapper()
    scene = wrapper.CreateModel()
    mesh = scene.AddMeshObject()
    points = [lib3mf.Position((float(x), float(y), float(z))) for x, y, z in part.vertices]
    mesh.SetGeometry(points, [lib3mf.Triangle(tuple(map(int, t))) for t in part.triangles])
    scene.AddBuildItem(mesh, wrapper.GetIdentityTransform())
    started = time.perf_counter()
    scene.QueryWriter("3mf").WriteToBuffer()
    theirs = time.perf_counter() - started
    print(f"own {own:.3f} s, lib3mf {theirs:.3f} s")
    assert own <= theirs
