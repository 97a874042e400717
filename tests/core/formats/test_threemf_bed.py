"""A bed as one 3MF: read back, every piece lies where shapely turns and moves it."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace

import numpy as np
import pytest
import shapely
from lxml import etree
from shapely import affinity

import pieces
from reliefsmith.errors import GeometryError
from reliefsmith.formats.threemf_bed import BedPiece, Spot, bed_threemf_bytes
from reliefsmith.formats.threemf_read import read_bed, read_threemf

from .models import CORE

PARTS = pieces.parts()
ARROW = PARTS[2:]  # of few triangles, off the origin


def outline(parts: tuple) -> shapely.Geometry:
    return shapely.MultiPoint(np.vstack([part.vertices[:, :2] for part in parts])).convex_hull


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0, 360.0, 450.0, -90.0, 30.0, 225.0])
def test_a_piece_is_turned_counter_clockwise_about_the_origin_and_then_moved(turn: float) -> None:
    bed = bed_threemf_bytes([BedPiece("heron", ARROW, [Spot("1", turn, (100.5, 40.0))])], title="bed")
    (piece,) = read_bed(bed, "bed")
    built = outline(read_threemf(bed, "bed"))
    wanted = affinity.translate(affinity.rotate(outline(ARROW), turn, origin=(0, 0)), 100.5, 40)
    assert shapely.hausdorff_distance(built, wanted) < 1e-6
    assert (
        shapely.hausdorff_distance(affinity.affine_transform(outline(piece.parts), piece.moved), wanted)
        < 1e-6
    )


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0])
def test_right_angles_are_exact(turn: float) -> None:
    """A piece turned by one lies on the grid again: no cosine of 6e-17."""
    bed = bed_threemf_bytes([BedPiece("heron", ARROW, [Spot("1", turn, (0, 0))])], title="bed")
    text = zipfile.ZipFile(io.BytesIO(bed)).read("3D/3dmodel.model").decode()
    rows = etree.fromstring(text.encode()).find(f".//{{{CORE}}}item").get("transform").split()
    assert {float(word) for word in rows[:9]} == {0, 1, -1} - ({-1} if turn == 0 else set())
    assert "-0.0" not in rows
    points = np.vstack([part.vertices for part in read_threemf(bed, "a")])
    assert np.array_equal(points, np.round(points, 3))


def test_pieces_stand_on_the_bed_each_by_its_own_lowest_part() -> None:
    lifted = [replace(part, vertices=part.vertices + np.array((0, 0, 5))) for part in PARTS]
    sunk = [replace(part, vertices=part.vertices - np.array((0, 0, 2.5))) for part in PARTS]
    given = [BedPiece("a", lifted, [Spot("1", 0, (0, 0))]), BedPiece("b", sunk, [Spot("2", 90, (90, 0))])]
    parts = read_threemf(bed_threemf_bytes(given, title="bed"), "bed")
    bottoms = [
        min(part.vertices[:, 2].min() for part in parts if part.name.startswith(name)) for name in "ab"
    ]
    assert bottoms == [0, 0]


def test_copies_are_written_once_and_built_by_number() -> None:
    spots = [Spot(f"k-{k} <1>", 0, (80.0 * k, 0)) for k in range(3)]
    bed = bed_threemf_bytes(
        [BedPiece("kite & tail", PARTS, spots), BedPiece("b", PARTS[:1], spots[:1])], title="bed"
    )
    root = etree.fromstring(zipfile.ZipFile(io.BytesIO(bed)).read("3D/3dmodel.model"))
    assert len(list(root.iter(f"{{{CORE}}}mesh"))) == 4
    assert [one.get("partnumber") for one in root.iter(f"{{{CORE}}}item")] == [
        *(spot.name for spot in spots),
        "k-0 <1>",
    ]
    names = [one.get("name") for one in root.iter(f"{{{CORE}}}object")]
    assert names == ["kite & tail-base", "kite & tail-red", "kite & tail-teal", "kite & tail", "b-base", "b"]
    found = read_bed(bed, "bed")
    assert [piece.name for piece in found] == ["kite & tail"] * 3 + ["b"]
    assert [len(piece.parts) for piece in found] == [3, 3, 3, 1]


def test_colors_are_those_of_all_pieces_in_one_list() -> None:
    red, base = PARTS[1], PARTS[0]
    given = [
        BedPiece("a", [red], [Spot("1", 0, (0, 0))]),
        BedPiece("b", [base, red], [Spot("2", 0, (90, 0))]),
    ]
    bed = bed_threemf_bytes(given, title="bed")
    root = etree.fromstring(zipfile.ZipFile(io.BytesIO(bed)).read("3D/3dmodel.model"))
    assert [one.get("displaycolor") for one in root.iter(f"{{{CORE}}}base")] == ["#D32020", "#141821"]
    assert [part.color for part in read_threemf(bed, "bed")] == [red.color, base.color, red.color]


def test_a_bed_without_parts_is_not_written() -> None:
    for given in ([], [BedPiece("a", [], [Spot("1", 0, (0, 0))])]):
        with pytest.raises(GeometryError, match="there is no part to write"):
            bed_threemf_bytes(given, title="bed")
