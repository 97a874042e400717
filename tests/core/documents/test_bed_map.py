"""The map of a bed: pieces where they lie, its front at the bottom, their names in the middle of them."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
import shapely
from PIL import Image
from scipy import ndimage

from reliefsmith.documents.bed_map import DPI, MARGIN_MM, WIDTH_MM, MapPiece, bed_map_png
from reliefsmith.documents.views import Face

RED = (200, 30, 30)
PX = DPI / 25.4


def _piece(name: str, shape: shapely.Polygon, turn: float, at: tuple[float, float]) -> MapPiece:
    outline = shapely.MultiPolygon([shape])
    return MapPiece(name, Face((outline,), (outline,), (0,), (RED,), (2.0,)), outline, turn, at)


def _red(pieces: list[MapPiece], bed: tuple[float, float]) -> tuple[list[tuple[float, ...]], Image.Image]:
    """The red places on the map, largest first, as left, low, right, high in mm of the bed."""
    picture = Image.open(BytesIO(bed_map_png(pieces, bed, title="Bed 1"))).convert("RGB")
    pixels = np.asarray(picture).astype(int)
    regions, _ = ndimage.label((pixels[..., 0] - pixels[..., 1:].max(axis=2)) > 60)
    scale = min((WIDTH_MM - 2 * MARGIN_MM) / side for side in bed)
    left, low = (WIDTH_MM - bed[0] * scale) / 2, MARGIN_MM + bed[1] * scale
    found = []
    for rows, columns in ndimage.find_objects(regions):
        if (rows.stop - rows.start) * (columns.stop - columns.start) < 100:
            continue
        x, y = (np.array([part.start, part.stop]) / PX for part in (columns, rows))
        found.append((*((x - left) / scale), *((low - y[::-1]) / scale)))
    return sorted(((a, c, b, d) for a, b, c, d in found), key=lambda box: -(box[2] - box[0])), picture


@pytest.mark.parametrize("bed", [(200.0, 100.0), (120.0, 240.0)])
def test_a_piece_lies_where_the_bed_has_it_its_front_at_the_bottom(bed: tuple[float, float]) -> None:
    boxes, picture = _red([_piece("1", shapely.box(0, 0, 60, 20), 0.0, (30.0, 10.0))], bed)
    assert boxes[0] == pytest.approx((30, 10, 90, 30), abs=1.0)
    assert picture.size[0] == pytest.approx(WIDTH_MM * PX, abs=1)


def test_a_piece_is_turned_about_its_own_origin() -> None:
    """A quarter counter-clockwise takes a box at the right of its origin above it, to the left."""
    boxes, _ = _red([_piece("1", shapely.box(0, 0, 60, 20), 90.0, (50.0, 20.0))], (200.0, 100.0))
    assert boxes[0] == pytest.approx((30, 20, 50, 80), abs=1.0)


def test_copies_lie_each_at_its_own_place() -> None:
    box = shapely.box(0, 0, 30, 30)
    places = [(10.0, 10.0), (60.0, 50.0)]
    boxes, _ = _red([_piece("1", box, 0.0, place) for place in places], (200.0, 100.0))
    assert sorted(found[:2] for found in boxes) == [pytest.approx(place, abs=1.0) for place in places]


def test_its_name_stands_on_white_in_the_widest_place_of_its_largest_part() -> None:
    """Of two parts that lie apart neither the hull's middle nor that of all of it."""
    outline = shapely.MultiPolygon([shapely.box(0, 0, 40, 40), shapely.box(90, 0, 120, 10)])
    piece = MapPiece("12", Face((outline,), (outline,), (0,), (RED,), (2.0,)), outline, 0.0, (20.0, 20.0))
    _, picture = _red([piece], (200.0, 100.0))
    scale = (WIDTH_MM - 2 * MARGIN_MM) / 200
    pixels = np.asarray(picture).astype(int)
    middle = (MARGIN_MM + 40 * scale, MARGIN_MM + (100 - 40) * scale)
    column, row = (round(value * PX) for value in middle)
    around = pixels[row - 12 : row + 12, column - 12 : column + 12].reshape(-1, 3)
    assert (around.min(axis=1) > 240).mean() > 0.2
    assert (around.max(axis=1) < 90).mean() > 0.05
