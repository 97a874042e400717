"""Existing parts checked: what files say and what they leave open, pieces of a bed each by itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
import trimesh

import pieces
from core.checks.solids import BASE_MM, WHITE, clean, codes, found, moved
from reliefsmith.errors import ReliefsmithError
from reliefsmith.formats.stl import stl_bytes
from reliefsmith.formats.threemf import threemf_bytes
from reliefsmith.formats.threemf_bed import BedPiece, Spot, bed_threemf_bytes
from reliefsmith.jobs.checking import check_bed, check_files, check_parts, read_files

SLAB = (pieces.part("base", WHITE, shapely.box(0, 0, 60, 40), (0.0, BASE_MM)),)
NO_HOLE = {"hang.hardware": "none"}


def _bed(path: Path, *named: BedPiece) -> Path:
    path.write_bytes(bed_threemf_bytes(named, title="kites"))
    return path


def test_the_recipe_says_how_the_parts_are_printed() -> None:
    assert check_parts(clean()) == tuple(found(clean())) == ()
    assert codes(check_parts(SLAB)) == ["hole-missing"]
    assert check_parts(SLAB, NO_HOLE) == ()
    assert codes(check_parts(clean(), {"printer.bed_mm": (60, 60)})) == ["bed-too-small"]


def test_parts_are_held_against_those_that_were_made_if_any_are_given() -> None:
    assert check_parts(clean(), made=clean()) == ()
    assert codes(check_parts(clean()[:1], made=clean())) == ["part-missing"]
    assert "part-moved" in codes(check_parts((clean()[0], moved(clean()[1], x=0.5)), made=clean()))


def test_files_are_taken_together_and_those_without_unit_are_told_once(tmp_path: Path) -> None:
    files = []
    for part in clean():
        files.append(tmp_path / f"lantern-{part.name}.STL")
        files[-1].write_bytes(stl_bytes(part))
    parts, said = read_files(files)
    assert [len(part.triangles) for part in parts] == [len(part.triangles) for part in clean()]
    assert [item.message for item in said] == ["STL files have no unit: millimeters and z up are assumed."]
    assert check_files(files) == said  # a motif by itself would hang in the air
    (tmp_path / "a.3mf").write_bytes(threemf_bytes(clean(), title="lantern"))
    assert check_files([tmp_path / "a.3mf"]) == ()
    assert check_bed(tmp_path / "a.3mf") is None


def test_parts_are_repaired_only_where_it_was_asked_for(tmp_path: Path) -> None:
    """A solid turned inside out has its volume with a minus, and is mended without a change of shape."""
    (sound,) = SLAB
    (tmp_path / "kite.stl").write_bytes(stl_bytes(replace(sound, triangles=sound.triangles[:, ::-1])))
    volume = 60 * 40 * BASE_MM
    for repair, code, sign in ((False, "repair-offered", -1), (True, "repaired", 1)):
        (part,), said = read_files([tmp_path / "kite.stl"], repair=repair)
        assert [item.code for item in said] == ["unit-assumed", code]
        assert trimesh.Trimesh(part.vertices, part.triangles).volume == pytest.approx(sign * volume)


def test_each_piece_of_a_bed_is_checked_once_by_its_name(tmp_path: Path) -> None:
    good = BedPiece("kite", clean(), [Spot("kite-1", 0, (0, 0)), Spot("kite-2", 90, (0, 80))])
    bare = BedPiece("slab", SLAB, [Spot("slab-1", 0, (100, 0)), Spot("slab-2", 0, (100, 80))])
    told = check_files([_bed(tmp_path / "bed.3mf", good, bare)])
    assert codes(told) == ["hole-missing"]
    assert len(told) == 1
    assert told[0].message.startswith("slab: ")


@pytest.mark.parametrize(("turn", "codes_of"), [(0, []), (90, ["pieces-near"])])
def test_how_pieces_lie_is_judged_where_they_lie(turn: float, codes_of: list[str], tmp_path: Path) -> None:
    """Two slabs of 60 x 40 mm, one 46 mm above the other: 6 mm clear, across each other when turned."""
    spots = [Spot("a", turn, (0, 0)), Spot("b", turn, (0, 46))]
    file = _bed(tmp_path / "bed.3mf", BedPiece("slab", SLAB, spots))
    asked = {**NO_HOLE, "beds.spacing_mm": 5.9}
    assert codes(check_bed(file, asked) or ()) == codes_of
    assert codes(check_bed(file, {**asked, "beds.spacing_mm": 6.1}) or ()) == ["pieces-near"]
    assert "bed-too-small" in codes(check_bed(file, {**asked, "printer.bed_mm": (40, 40)}) or ())


def test_a_file_that_cannot_be_read_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "kite.stl").write_bytes(b"solid kite\nfacet")
    for name in ("kite.stl", "none.3mf"):
        with pytest.raises(ReliefsmithError) as caught:
            check_files([tmp_path / name])
        assert "\n" not in str(caught.value)
