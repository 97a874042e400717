"""Files of what is printed apart: plates with their parts, copies side by side, solids as they are."""

from __future__ import annotations

import io
import zipfile
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

import pieces
from reliefsmith.formats.stl import read_stl
from reliefsmith.formats.threemf_read import read_bed
from reliefsmith.model import Accessory, Division, Part
from reliefsmith.model.segments import Segment
from reliefsmith.recipe import Recipe
from reliefsmith.walk.apartfiles import apart_files

LEFT, RIGHT = shapely.box(-20, 0, -0.1, 10), shapely.box(0.1, 0, 30, 10)
GREY = (90, 90, 90)


def _segment(number: int, shape: shapely.Polygon, plate: int) -> Segment:
    return Segment(number, shape, shapely.MultiPolygon(), plate, 90.0 * number, (50.0 * number, 7.0))


def _result(division: Division | None = None, accessories: tuple[Accessory, ...] = (), **said: object):
    solids = (pieces.part("base", GREY, shapely.MultiPolygon([LEFT, RIGHT]), (0.0, 2.0)),)
    recipe = Recipe().with_values({"beds.spacing_mm": 4.0, **said})
    plan = SimpleNamespace(division=division)
    return SimpleNamespace(stem="kite", parts=solids, plan=plan, recipe=recipe, accessories=accessories)


def _foot(copies: int) -> Accessory:
    body = pieces.part("foot", GREY, shapely.box(-9, 3, 1, 8), (0.0, 5.0))
    return Accessory("foot", copies, None, (body,))  # type: ignore[arg-type]


def test_a_piece_that_is_all_has_no_other_files() -> None:
    assert apart_files(_result()) == {}


@pytest.mark.parametrize("plates", [(1, 1), (1, 2)])
def test_each_plate_has_its_parts_at_their_places(plates: tuple[int, int]) -> None:
    segments = tuple(map(_segment, (1, 2), (LEFT, RIGHT), plates))
    files = apart_files(_result(Division(shapely.box(-20, 0, 30, 10), segments, 0.2)))
    assert list(files) == [f"kite-plate-{plate}.3mf" for plate in sorted(set(plates))]
    found = {}
    for plate, data in enumerate(files.values(), start=1):
        for piece in read_bed(data, "kite"):
            assert segments[int(piece.name[-1]) - 1].plate == plate
            found[piece.name] = piece
    assert set(found) == {"part-1", "part-2"}
    for one, shape, turn in zip(segments, (LEFT, RIGHT), (90, 180), strict=True):
        (solid,) = found[f"part-{one.number}"].parts
        assert np.ptp(solid.vertices[:, 0]) == pytest.approx(shape.bounds[2] - shape.bounds[0], abs=1e-3)
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        assert found[f"part-{one.number}"].moved[:4] == pytest.approx((cos, -sin, sin, cos), abs=1e-6)


def test_titles_say_which_plate_it_is() -> None:
    segments = (_segment(1, LEFT, 1), _segment(2, RIGHT, 2))
    division = Division(shapely.box(-20, 0, 30, 10), segments, 0.2)
    for named, title in (({}, b"kite, plate 2 of 2"), ({"order.title": "Reeds"}, b"Reeds, plate 2 of 2")):
        assert title in _model(apart_files(_result(division, **named))["kite-plate-2.3mf"])


def _model(data: bytes) -> bytes:
    return zipfile.ZipFile(io.BytesIO(data)).read("3D/3dmodel.model")


def test_copies_lie_side_by_side_from_the_corner_by_the_spacing() -> None:
    """A foot of 10 x 5 mm: the next one begins 10 + 4 mm farther, all at the bed's corner."""
    files = apart_files(_result(accessories=(_foot(3),)))
    assert set(files) == {"kite-foot.3mf", "kite-foot.stl"}
    lows = []
    for piece in read_bed(files["kite-foot.3mf"], "kite"):
        (solid,) = piece.parts
        left, low = solid.vertices[:, :2].min(axis=0) + piece.moved[4:]
        lows.append(left)
        assert low == pytest.approx(0, abs=1e-3)
    assert sorted(lows) == pytest.approx([0, 14, 28], abs=1e-3)


def test_the_solid_is_written_once_as_it_is_printed() -> None:
    foot = _foot(2)
    (read,) = read_stl(apart_files(_result(accessories=(foot,)))["kite-foot.stl"], "kite")
    assert isinstance(read, Part)
    size = np.ptp(read.vertices, axis=0)
    assert size == pytest.approx([10, 5, 5], abs=1e-4)
