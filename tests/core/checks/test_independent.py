"""The independent layer check: every finding on a case that has it, and nothing on one that has not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import pieces
from reliefsmith.checks.independent import one_set
from reliefsmith.findings import Severity
from reliefsmith.formats import read_parts, stl_bytes
from reliefsmith.mesh import Section, extruded
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings

from . import solids
from .solids import base, clean, codes, found, motif, moved, on_grid, only


def test_a_sound_piece_has_no_finding() -> None:
    assert found(clean()) == []


def test_where_the_piece_stands_does_not_matter() -> None:
    """Files may place parts in the positive octant, or above the bed."""
    assert found([moved(part, 300.0, 40.0, 7.5) for part in clean()]) == []


def test_an_open_solid() -> None:
    whole = base()
    item = only(found([replace(whole, triangles=whole.triangles[1:]), motif()]), "not-watertight")
    assert item.severity is Severity.STOP
    assert "base" in item.message


def test_a_solid_turned_inside_out() -> None:
    whole = base()
    item = only(found([replace(whole, triangles=whole.triangles[:, ::-1].copy()), motif()]), "not-watertight")
    assert item.severity is Severity.STOP


def test_nothing_but_open_solids() -> None:
    """Three triangles of a tetrahedron: nothing can be cut, and that is said in one finding."""
    corners = np.array([[0.0, 0, 0], [30, 0, 0], [0, 30, 0], [0, 0, 2]])
    open_part = replace(
        base(), vertices=corners, triangles=np.array([[0, 1, 3], [1, 2, 3], [0, 2, 1]], np.int32)
    )
    assert "not-watertight" in codes(found([open_part]))


def test_parts_that_share_volume() -> None:
    """A motif sunk 0.4 mm into its base shares its area with it in two layers, and is reported once."""
    item = only(found([base(), motif(heights=(1.6, 2.6))]), "parts-overlap")
    assert item.severity is Severity.STOP
    assert item.at_mm is not None
    x, y, z = item.at_mm
    assert solids.badge().contains(shapely.Point(x, y))
    assert z == pytest.approx(1.6)


def test_parts_that_share_a_wall_do_not_overlap() -> None:
    left, right = on_grid(shapely.box(-20, -12, 0, 4)), on_grid(shapely.box(0, -12, 20, 4))
    parts = [base(), motif(left), motif(right, name="red", color=solids.RED)]
    assert "parts-overlap" not in codes(found(parts))


def test_single_precision_makes_no_overlap(tmp_path: Path) -> None:
    """Neighbors written as STL and read again differ by nanometres along their common wall."""
    wave = [(x / 10, 3 * np.sin(x / 17)) for x in range(-200, 201)]
    left = on_grid(shapely.Polygon([*wave, (20, -12), (-20, -12)]))
    right = on_grid(shapely.Polygon([*wave, (20, 6), (-20, 6)]))
    read = []
    for part in (base(), motif(left), motif(right, name="red", color=solids.RED)):
        path = tmp_path / f"{part.name}.stl"
        path.write_bytes(stl_bytes(part))
        (again,) = read_parts(path)
        read.append(replace(again, role=part.role, color=part.color))
    assert set(codes(found(read))) <= {"low-contrast", "low-hiding"}


def test_two_pieces() -> None:
    apart = on_grid(shapely.union(solids.plate(), shapely.box(40, -10, 60, 10)))
    item = only(found([base(apart), motif()]), "not-one-piece")
    assert item.severity is Severity.STOP
    assert "2" in item.message
    assert item.at_mm is not None
    assert item.at_mm[0] > 40


def test_pieces_joined_by_what_lies_on_them_are_one() -> None:
    """Two plates 1 mm apart, and a motif over both that spans the gap."""
    plates = on_grid(shapely.difference(solids.plate(), shapely.box(-0.5, -30, 0.5, 5)))
    assert "not-one-piece" not in codes(found([base(plates), motif()]))


def test_an_island_in_the_air() -> None:
    high = on_grid(shapely.box(-25, 6, -21, 10))
    parts = [base(), motif(), motif(high, name="red", color=solids.RED, heights=(2.4, 2.8))]
    item = only(found(parts), "island-in-air")
    assert item.severity is Severity.STOP
    assert item.at_mm is not None
    assert shapely.Point(item.at_mm[:2]).within(high)
    assert item.at_mm[2] == pytest.approx(2.4)


def test_a_motif_over_the_edge() -> None:
    item = only(found([base(), moved(motif(), x=14.0)]), "motif-over-edge")
    assert item.severity is Severity.STOP
    assert item.at_mm is not None
    assert item.at_mm[0] > 35


def test_a_motif_a_little_over_the_edge() -> None:
    """0.15 mm over is less than half a bead and yet shows as a step in the outline."""
    flush = on_grid(shapely.box(-20, -12, 35.15, 4))
    assert "motif-over-edge" in codes(found([base(), motif(flush)]))


def test_a_motif_just_on_the_edge() -> None:
    flush = on_grid(shapely.box(-20, -12, 35, 4))
    assert not {"motif-over-edge", "overhang", "island-in-air"} & set(codes(found([base(), motif(flush)])))


def test_an_overhang() -> None:
    """A base that widens by 2 mm in its middle prints in the air there."""
    wide = on_grid(solids.plate().union(shapely.box(30, -5, 37, 5)))
    steps = extruded([Section(solids.plate(), 0.0, 1.0), Section(wide, 1.0, 2.0)])
    item = only(found([replace(base(), vertices=steps.vertices, triangles=steps.triangles)]), "overhang")
    assert item.severity is Severity.WARN
    assert item.at_mm is not None
    assert 35 < item.at_mm[0] < 37
    assert item.at_mm[2] == pytest.approx(1.0)


def test_a_slope_is_no_overhang() -> None:
    """45 degrees: each layer of 0.2 mm reaches 0.2 mm beyond the one below."""
    plain = base()
    low, high = plain.vertices[:, 2] == 0.0, plain.vertices[:, 2] > 0.0
    assert low.sum() == high.sum()
    leaning = plain.vertices.copy()
    leaning[high, 0] += solids.BASE_MM
    assert "overhang" not in codes(found([replace(plain, vertices=leaning)]))
    leaning[high, 0] += 2 * solids.BASE_MM
    assert "overhang" in codes(found([replace(plain, vertices=leaning)]))


def test_parts_of_several_files_are_one_set(tmp_path: Path) -> None:
    """Every STL file has one part, which is its base; together only one of them is."""
    read = []
    for part in (moved(motif(), x=14.0), base()):
        path = tmp_path / f"badge-{part.name}.stl"
        path.write_bytes(stl_bytes(part))
        read += read_parts(path)
    assert [part.role for part in read] == ["base", "base"]
    assert "motif-over-edge" in codes(found(read))
    assert [part.role for part in one_set(read)] == ["motif", "base"]


@pytest.mark.parametrize("name", ["base", "badge-base"])
def test_the_base_is_the_part_called_so_then_the_lowest_then_the_largest(name: str) -> None:
    """A base printed face down lies on top of its motifs."""
    low = replace(motif(), role="base")
    high = replace(moved(base(), z=3.0), role="base", name=name)
    assert [part.role for part in one_set([low, high])] == ["motif", "base"]
    unnamed = replace(high, name="plate")
    assert [part.role for part in one_set([low, unnamed])] == ["base", "motif"]
    level = replace(moved(base(), z=2.0), role="base", name="plate")
    assert [part.role for part in one_set([low, level])] == ["motif", "base"]


def test_parts_of_one_name_are_all_looked_at() -> None:
    """Two files of the same name hold two parts, the second of which floats."""
    twice = [base(), motif(), motif(on_grid(shapely.box(-25, 6, -21, 10)), heights=(3.0, 3.4))]
    assert [part.name for part in one_set(twice)] == ["base", "dark", "dark-2"]
    assert "island-in-air" in codes(found(twice))


def test_thin_strokes() -> None:
    comb = shapely.union_all([shapely.box(x, -12, x + 0.3, 4) for x in np.arange(-20, 20, 2)])
    item = only(found([base(), motif(on_grid(comb))]), "thin-strokes")
    assert item.severity is Severity.WARN
    assert "dark" in item.message


def test_strokes_as_wide_as_the_nozzle_are_not_thin() -> None:
    comb = shapely.union_all([shapely.box(x, -12, x + 0.4, 4) for x in np.arange(-20, 20, 2)])
    assert "thin-strokes" not in codes(found([base(), motif(on_grid(comb))]))
    wide = PrinterSettings(nozzle_mm=0.6)
    assert "thin-strokes" in codes(found([base(), motif(on_grid(comb))], printer=wide))


def test_corners_are_no_thin_strokes() -> None:
    squares = shapely.union_all(
        [shapely.box(x, y, x + 2, y + 2) for x in range(-20, 20, 4) for y in (-10, -4)]
    )
    assert "thin-strokes" not in codes(found([base(), motif(on_grid(squares))]))


@pytest.mark.parametrize(("side", "loose"), [(1.9, True), (2.1, False)])
def test_small_islands_on_the_bed(side: float, loose: bool) -> None:
    """Feet under a plate: 1.9 mm square is under 4 mm2, 2.1 mm square is over."""
    feet = shapely.union_all([shapely.box(x, y, x + side, y + side) for x in (-30, 0, 28) for y in (-15, 5)])
    foot = pieces.part("foot", solids.WHITE, on_grid(feet), (0.0, 0.4))
    parts = [replace(foot, role="base"), moved(base(), z=0.4)]
    findings = [item for item in found(parts) if item.code == "first-layer-island"]
    assert bool(findings) is loose
    for item in findings:
        assert item.severity is Severity.WARN
        assert item.at_mm is not None
        assert item.at_mm[2] == 0.0


def test_a_narrow_island_on_the_bed() -> None:
    """1.4 mm wide and 20 mm long: 28 mm2, but narrow."""
    bars = on_grid(shapely.union(solids.plate(), shapely.box(-10, -25, 10, -23.6)))
    assert "first-layer-island" in codes(found([base(bars), motif()]))


def test_no_hole() -> None:
    filled = on_grid(solids.plate().union(solids.hole_disc(3.0)))
    assert "hole-missing" in codes(found([base(filled), motif()]))
    pinhole = on_grid(filled.difference(solids.hole_disc(0.8)))
    assert "hole-missing" in codes(found([base(pinhole), motif()]))


def test_a_hole_closed_by_a_motif_is_none() -> None:
    cover = on_grid(shapely.box(-10, 2, 10, 17))
    assert "hole-missing" in codes(found([base(), motif(cover)]))


@pytest.mark.parametrize(("wall", "code"), [(2.2, None), (1.8, "hole-wall-thin"), (1.4, "hole-wall-weak")])
def test_the_wall_of_the_hole(wall: float, code: str | None) -> None:
    body = shapely.box(-33, -18, 33, 13 + 2.5 + wall)
    shape = on_grid(body.buffer(0.001, join_style="mitre").difference(solids.hole_disc(2.5)))
    walls = [item for item in found([base(shape), motif()]) if item.code.startswith("hole-wall")]
    assert [item.code for item in walls] == ([] if code is None else [code])
    for item in walls:
        assert f"{wall:.2f}" in item.message
        assert item.severity is (Severity.STOP if code == "hole-wall-weak" else Severity.WARN)


@pytest.mark.parametrize(("shift", "severity"), [(0.0, None), (1.2, Severity.NOTE), (3.0, Severity.WARN)])
def test_hanging_crooked(shift: float, severity: Severity | None) -> None:
    """The hole 13 mm above the centre of mass: 1.2 mm aside is 5.3 degrees, 3 mm is 13."""
    body = shapely.box(-33, -18, 33, 18).buffer(2.0, quad_segs=12)
    shape = on_grid(body.difference(shapely.Point(shift, 13).buffer(2.5, quad_segs=16)))
    crooked = [item for item in found([base(shape)]) if item.code == "hangs-crooked"]
    assert [item.severity for item in crooked] == ([] if severity is None else [severity])


def test_a_piece_larger_than_the_bed() -> None:
    item = only(found(clean(), printer=PrinterSettings(bed_mm=(60.0, 60.0))), "bed-too-small")
    assert item.severity is Severity.STOP
    assert "70.0" in item.message
    assert "bed-too-small" not in codes(found(clean(), printer=PrinterSettings(bed_mm=(45.0, 75.0))))


def test_a_small_part() -> None:
    small = [replace(part, vertices=part.vertices * [0.6, 0.6, 1.0]) for part in clean()]
    item = only(found(small), "small-part")
    assert item.severity is Severity.NOTE
    assert "certif" in item.message
    assert only(found(small, audience="children"), "small-part").severity is not Severity.NOTE


def test_sharp_tips() -> None:
    star = [(4 * np.cos(t), 4 * np.sin(t)) for t in (0.2, -0.2)]
    tip = on_grid(solids.plate().union(shapely.Polygon([(34, -6), (48, 0), (34, 6)])))
    assert star
    item = only(found([base(tip), motif()]), "sharp-tip")
    assert item.severity is Severity.NOTE
    assert item.at_mm is not None
    assert item.at_mm[0] > 46
    assert only(found([base(tip), motif()], audience="children"), "sharp-tip").severity is Severity.WARN
    blunt = on_grid(tip.buffer(-1.0).buffer(1.0, quad_segs=12).difference(solids.hole_disc(2.5)))
    assert "sharp-tip" not in codes(found([base(blunt), motif()]))


def test_first_layer_of_another_height() -> None:
    """With a first layer of 0.3 mm, 2.1 + 0.6 mm are 13 layers, and the motif starts with one."""
    heights = HeightSettings(first_layer_mm=0.3)
    low = pieces.part("base", solids.WHITE, solids.plate(), (0.0, 2.1))
    assert found([low, motif(heights=(2.1, 2.7))], heights=heights) == []


def test_the_same_findings_twice() -> None:
    spoiled = [base(color=solids.DARK), moved(motif(heights=(1.6, 2.6)), x=15.0)]
    assert found(spoiled) == found(spoiled)


def test_what_floats_above_a_gap_is_in_the_air() -> None:
    """Nothing at all is printed for 0.6 mm, then a motif."""
    parts = [base(), motif(heights=(2.6, 3.2))]
    assert {"island-in-air", "not-one-piece"} <= set(codes(found(parts)))


def test_many_places_of_one_kind_are_counted() -> None:
    """Forty small feet: five findings, the last of which counts the rest."""
    feet = shapely.union_all(
        [shapely.box(x, y, x + 1, y + 1) for x in range(-30, 30, 6) for y in (-14, -7, 0, 7)]
    )
    foot = pieces.part("foot", solids.WHITE, on_grid(feet), (0.0, 0.4))
    findings = [
        item
        for item in found([replace(foot, role="base"), moved(base(), z=0.4)])
        if item.code == "first-layer-island"
    ]
    assert len(findings) == 5
    assert "35 more places" in findings[-1].message
