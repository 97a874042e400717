"""Whole sets of samples and open artworks (sources: openart.py), opened by programs that nobody here wrote.

3MF by lib3mf in strict mode, STL by trimesh and admesh, GLB by trimesh and the Khronos validator, SVG by lxml
and by resvg (compared with the plan's polygons), the proof by Pillow.
"""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import resvg_py
import shapely
import trimesh
from lxml import etree
from PIL import Image

import openart
import reliefsmith as rs

pytestmark = pytest.mark.deep

SAMPLES = Path(__file__).parents[2] / "samples"
COUNT = 48
PIXELS = 1024
VALIDATOR = "gltf-validator@2.0.0-dev.3.10"
"""By Khronos, Apache-2.0, from npm."""
PX_PER_MM = 12.0
STEP = 5
"""Every so many pixels of the rendered plan one is compared."""
AWAY_MM = 1.5 / PX_PER_MM
"""Pixels nearer to a boundary are mixed of two colors."""
ADMESH_ZEROS = (
    "Total disconnected facets",
    "Degenerate facets",
    "Edges fixed",
    "Facets removed",
    "Facets added",
    "Facets reversed",
    "Backwards edges",
    "Normals fixed",
)


@pytest.fixture(scope="module")
def validator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder in which node finds the Khronos validator."""
    npm = shutil.which("npm")
    if npm is None or shutil.which("node") is None:
        pytest.skip("needs node and npm")
    folder = tmp_path_factory.mktemp("validator")
    install = [npm, "install", "--no-audit", "--no-fund", "--prefix", str(folder), VALIDATOR]
    subprocess.run(install, check=True, capture_output=True)
    return folder


def picture_of(name: str, folder: Path) -> tuple[Path, rs.Recipe]:
    """Return the picture and recipe of a sample, or draw an open artwork by its number."""
    if not name.isdigit():
        (picture,) = (path for path in SAMPLES.glob(f"{name}.*") if path.suffix in (".png", ".jpg"))
        return picture, rs.Recipe.load(SAMPLES / f"{name}.toml")
    art = openart.artworks()[int(name)]
    page, matrix = openart.placed(art, PIXELS, 0.04)
    openart.drawn(art, page, matrix, None).save(folder / "art.png")
    return folder / "art.png", rs.Recipe()


@pytest.mark.parametrize("name", ["kite", "lantern", "heron", *map(str, range(COUNT))])
def test_every_file_of_a_set_is_read_by_others(name: str, tmp_path: Path, validator: Path) -> None:
    picture, recipe = picture_of(name, tmp_path)
    relief = rs.make(picture, recipe)
    report = relief.write(tmp_path / "set")
    stem, parts = picture.stem, relief.parts
    files = {path.name: path for path in (tmp_path / "set").iterdir()}
    assert set(files) == {*report["files"], f"{stem}-report.json"}
    assert json.loads(files[f"{stem}-report.json"].read_text())["schema"] == 1
    read_by_lib3mf(files[f"{stem}.3mf"], parts)
    for part in parts:
        read_as_stl(files[f"{stem}-{part.name}.stl"], part)
    read_as_glb(files[f"{stem}.glb"], parts, validator)
    read_as_svg(files[f"{stem}.svg"], relief.plan)
    with Image.open(files[f"{stem}-proof.png"]) as proof:
        proof.load()
        assert proof.size == (2480, 3508)


def volume_of(part: rs.model.Part) -> float:
    a, b, c = (part.vertices[part.triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def read_by_lib3mf(path: Path, parts: tuple) -> None:
    wrapper = lib3mf.get_wrapper()
    scene = wrapper.CreateModel()
    reader = scene.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert scene.GetBuildItems().Count() == 1
    meshes = scene.GetMeshObjects()
    for part in parts:
        assert meshes.MoveNext()
        mesh = meshes.GetCurrentMeshObject()
        assert mesh.GetName() == part.name
        assert mesh.IsManifoldAndOriented()
        assert mesh.GetTriangleCount() == len(part.triangles)
    assert not meshes.MoveNext()


def read_as_stl(path: Path, part: rs.model.Part) -> None:
    mesh = trimesh.load_mesh(path)
    assert mesh.is_volume
    assert mesh.volume == pytest.approx(volume_of(part), rel=1e-5)
    program = shutil.which("admesh")
    if program is None:
        pytest.skip("needs the Debian package admesh")
    told = subprocess.run([program, str(path)], capture_output=True, text=True, check=True).stdout
    for line in ADMESH_ZEROS:
        numbers = re.search(rf"{line}\s*:\s*(\d+)", told)
        assert numbers is not None, told
        assert numbers[1] == "0", told


def read_as_glb(path: Path, parts: tuple, validator: Path) -> None:
    scene = trimesh.load_scene(path)
    assert list(scene.geometry) == [part.name for part in parts]
    for part, mesh in zip(parts, scene.geometry.values(), strict=True):
        assert mesh.is_volume
        assert mesh.volume * 1e9 == pytest.approx(volume_of(part), rel=1e-4)
    script = (
        "const v = require('gltf-validator'), fs = require('fs');"
        "v.validateBytes(new Uint8Array(fs.readFileSync(process.argv[1])))"
        ".then(r => console.log(JSON.stringify(r.issues)))"
    )
    told = subprocess.run(
        ["node", "-e", script, str(path)], cwd=validator, check=True, capture_output=True, text=True
    )
    issues = json.loads(told.stdout)
    assert (issues["numErrors"], issues["numWarnings"], issues["messages"]) == (0, 0, [])


def read_as_svg(path: Path, plan: rs.model.Plan) -> None:
    """Compare what a renderer shows of each color with the plan's polygons."""
    data = path.read_bytes()
    groups = list(etree.fromstring(data).iter("{http://www.w3.org/2000/svg}g"))
    assert groups
    zoom = PX_PER_MM * 25.4 / 96  # of whole pixels at 96 an inch, to which the renderer rounds the size
    shown = resvg_py.svg_to_bytes(svg_string=data.decode(), zoom=zoom, dpi=96)
    pixels = np.asarray(Image.open(io.BytesIO(bytes(shown))).convert("RGBA")).astype(int)
    low_x, low_y, high_x, high_y = plan.base.bounds
    assert pixels.shape[1] == pytest.approx((high_x - low_x) * PX_PER_MM, abs=zoom)
    assert pixels.shape[0] == pytest.approx((high_y - low_y) * PX_PER_MM, abs=zoom)
    columns, rows = (
        grid.ravel() for grid in np.meshgrid(*(np.arange(2, n - 2, STEP) for n in pixels.shape[1::-1]))
    )
    x, y = low_x + (columns + 0.5) / PX_PER_MM, high_y - (rows + 0.5) / PX_PER_MM
    colors = pixels[rows, columns]
    motifs = shapely.union_all([motif.polygon for motif in plan.motifs])
    seen = [(motif.color, motif.polygon) for motif in plan.motifs]
    seen.append((plan.base_color, plan.base.difference(motifs)))
    for color, shape in seen:
        inside = shapely.contains_xy(shape.buffer(-AWAY_MM), x, y)
        assert (colors[inside] == (*color, 255)).all()
    outside = ~shapely.contains_xy(plan.base.buffer(AWAY_MM), x, y)
    assert (colors[outside, 3] == 0).all()
    assert outside.sum() + sum(shapely.contains_xy(shape, x, y).sum() for _, shape in seen) > len(x) / 2
