"""Sets of pieces that are cut for the bed: files, report, sheet, refusals, from a picture on."""

from __future__ import annotations

import json

import lib3mf
import numpy as np
import pytest
import shapely
from PIL import Image
from shapely import affinity

import reliefsmith as rs
from reliefsmith.command.cli import run
from reliefsmith.errors import StoreError
from reliefsmith.formats.threemf_read import read_bed
from reliefsmith.mesh import cut as section_at
from reliefsmith.walk.store import FolderStore
from sound import assert_closed

BED = (70.0, 60.0)
LARGE = {"size": {"width_mm": 90}, "printer": {"bed_mm": list(BED)}}
CUT = {**LARGE, "seams": {"mode": "auto"}}
SPACING_MM = 5.0


def picture() -> np.ndarray:
    """Two fields of color on paper."""
    made = np.full((70, 150, 3), 255, dtype=np.uint8)
    made[10:60, 10:75] = 200, 40, 45
    made[10:60, 75:140] = 30, 60, 150
    return made


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("cut")
    rs.make(picture(), CUT).write(made)
    return made


def test_each_plate_lies_within_the_bed_its_parts_apart(folder) -> None:
    report = json.loads(next(folder.glob("*-report.json")).read_text())
    assert len(report["cut"]["parts"]) == 2
    assert report["cut"]["keys"] > 0
    seen = []
    for name in report["cut"]["files"]:
        assert name in report["files"]
        lying = []
        for piece in read_bed((folder / name).read_bytes(), "x"):
            seen.append(int(piece.number))
            for part in piece.parts:
                assert_closed(part)
            flat = [section_at(part.vertices, part.triangles, 0.3) for part in piece.parts]
            lying.append(affinity.affine_transform(shapely.union_all(flat), piece.moved))
        x0, y0, x1, y1 = shapely.total_bounds(lying)
        assert min(x0, y0) > -1e-3
        assert x1 < BED[0] + 1e-3
        assert y1 < BED[1] + 1e-3
        assert all(one.distance(two) >= SPACING_MM - 1e-3 for one in lying for two in lying if one is not two)
    assert sorted(seen) == [1, 2]


def test_plates_are_read_strictly(folder) -> None:
    for path in folder.glob("*-plate-*.3mf"):
        reader = lib3mf.get_wrapper().CreateModel().QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(path))
        assert reader.GetWarningCount() == 0


def test_the_sheet_tells_the_order_and_the_files(folder) -> None:
    page = next(folder.glob("*-sheet.html")).read_text()
    assert "Putting the parts together" in page
    assert page.index("Part 1 (") < page.index("Part 2 (")
    assert "set it down from above onto the keys of part 1" in page
    assert "-plate-1.3mf" in page


def test_a_whole_piece_has_none_of_it_and_the_finding_names_the_setting() -> None:
    whole = rs.make(picture(), LARGE)
    (found,) = (item for item in whole.findings if item.code == "bed-too-small")
    assert "seams.mode" in found.message
    assert whole.plan.division is None
    assert not any(item.code == "piece-cut" for item in whole.plan.notes)
    cut = rs.make(picture(), CUT)
    assert not any(item.code == "bed-too-small" for item in cut.findings)
    assert any(item.code == "piece-cut" for item in cut.plan.notes)
    assert cut.plan.artwork_mm == whole.plan.artwork_mm  # nothing is scaled


def test_a_kept_plan_is_cut_again_and_one_that_is_cut_is_refused(tmp_path) -> None:
    first = rs.make(picture(), CUT, store=FolderStore(tmp_path))
    (whole,), (cut,) = (tuple(tmp_path.glob(f"{stage}-*.npz")) for stage in ("lettered", "divided"))
    again = rs.remake(whole, CUT)
    assert again.plan.division == first.plan.division
    with pytest.raises(StoreError, match="is cut or has tongues already"):
        rs.remake(cut, CUT)


def test_a_line_that_misses_ends_in_one_sentence(tmp_path, capsys) -> None:
    path = tmp_path / "fields.png"
    Image.fromarray(picture()).save(path)
    line = "seams.lines=[{from_mm = [300, -90], to_mm = [300, 90]}]"
    assert (
        run(["make", str(path), "-o", str(tmp_path / "out"), "--set", "seams.mode=line", "--set", line]) == 2
    )
    told = capsys.readouterr().err.strip()
    assert told.splitlines()[-1].startswith("error: line 1 of seams.lines misses the piece")
    assert not (tmp_path / "out").exists()
