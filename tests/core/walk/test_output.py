"""Parts of any origin are checked and written as a set of their own; what is no solid is refused whole."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest

import reliefsmith
from reliefsmith import Recipe
from reliefsmith.errors import GeometryError
from reliefsmith.formats import read_parts
from reliefsmith.formats.setwriting import read_set
from reliefsmith.mesh import mesh_faults
from reliefsmith.model import Part
from reliefsmith.walk.output import as_printed, versions, write_parts


def block(name: str, low: tuple[float, ...], high: tuple[float, ...], color: tuple[int, int, int]) -> Part:
    """A block of eight corners, its sides outward."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    corners = [(x, y, z) for z in (z0, z1) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    quads = [(3, 2, 1, 0), (4, 5, 6, 7), *((i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4))]
    faces = [tri for a, b, c, d in quads for tri in ((a, b, c), (a, c, d))]
    return Part(name, "motif", color, np.array(corners, np.float64), np.array(faces, np.int32))


PLATE = block("plate", (-20, -15, 0), (20, 15, 2), (27, 42, 73))
FLAG = block("my flag/1", (-8, -8, 2), (8, 8, 2.6), (200, 40, 30))


def test_parts_are_written_with_what_was_found_and_read_back(tmp_path: Path) -> None:
    report = write_parts([PLATE, FLAG], tmp_path, stem="kite-finish", recipe=Recipe())
    assert set(report["files"]) == {
        "kite-finish.3mf",
        "kite-finish-plate.stl",
        "kite-finish-my flag_1.stl",
    }
    assert read_set(tmp_path).is_set
    rows = {row["name"]: row for row in report["parts"]}
    assert rows["plate"]["role"] == "base"
    assert rows["plate"]["volume_mm3"] == 40 * 30 * 2
    assert rows["my flag/1"]["z_mm"] == [2, 2.6]
    assert json.loads((tmp_path / "kite-finish-report.json").read_text()) == report
    for part, back in zip((PLATE, FLAG), read_parts(tmp_path / "kite-finish.3mf"), strict=True):
        assert (back.name, back.color) == (part.name, part.color)
        assert mesh_faults(back.vertices, back.triangles).volume_mm3 == pytest.approx(
            mesh_faults(part.vertices, part.triangles).volume_mm3
        )


def test_what_speaks_against_printing_is_in_the_report(tmp_path: Path) -> None:
    far = block("far", (60, 0, 0), (64, 4, 1), (0, 0, 0))
    found = [
        item["code"] for item in write_parts([PLATE, far], tmp_path, stem="a", recipe=Recipe())["findings"]
    ]
    alone = [item["code"] for item in write_parts([PLATE], tmp_path, stem="b", recipe=Recipe())["findings"]]
    assert set(found) - set(alone)


def test_an_open_part_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(GeometryError, match="nothing was written: my flag/1 is not closed"):
        write_parts([PLATE, replace(FLAG, triangles=FLAG.triangles[1:])], tmp_path, stem="a", recipe=Recipe())
    assert list(tmp_path.iterdir()) == []


def test_a_finished_piece_is_turned_over_where_it_prints_face_down() -> None:
    down = Recipe().with_values({"heights.face": "down", "heights.style": "flush"})
    assert as_printed([PLATE, FLAG], Recipe()) == (PLATE, FLAG)
    plate, flag = as_printed([PLATE, FLAG], down)
    assert flag.vertices[:, 2].min() == 0
    assert plate.vertices[:, 2].tolist() == pytest.approx((2.6 - PLATE.vertices[:, 2]).tolist())
    for turned, part in ((plate, PLATE), (flag, FLAG)):
        now, before = (mesh_faults(item.vertices, item.triangles) for item in (turned, part))
        assert now.closed
        assert now.volume_mm3 == pytest.approx(before.volume_mm3)


def test_a_finished_piece_of_two_plates_is_refused() -> None:
    halves = Recipe().with_values({"heights.face": "down", "heights.style": "sunk", "heights.split": "pegs"})
    with pytest.raises(GeometryError, match="two plates"):
        as_printed([PLATE], halves)


def test_the_finished_piece_is_what_the_core_prints_turned_over() -> None:
    import reliefsmith as rs

    recipe = Recipe().with_values({"heights.face": "down", "heights.style": "flush"})
    relief = rs.make(Path(__file__).parents[3] / "samples" / "lantern.png", recipe)
    finished = as_printed(relief.parts_below(float("inf"), finished=True), recipe)
    assert [part.name for part in finished] == [part.name for part in relief.parts]
    for ours, printed in zip(finished, relief.parts, strict=True):
        volumes = [mesh_faults(item.vertices, item.triangles).volume_mm3 for item in (ours, printed)]
        assert volumes[0] == pytest.approx(volumes[1])
        np.testing.assert_allclose(ours.vertices.min(axis=0), printed.vertices.min(axis=0), atol=1e-9)
        np.testing.assert_allclose(ours.vertices.max(axis=0), printed.vertices.max(axis=0), atol=1e-9)


def test_versions_are_those_of_the_installed_packages() -> None:
    told = versions()
    for library in ("numpy", "shapely", "pillow"):
        assert told[library] == metadata.version(library)
    assert told["reliefsmith"] == reliefsmith.__version__
