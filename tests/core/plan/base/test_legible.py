"""How legible a picture stays on a base: what the piece shows, cell by cell, and the edges that it keeps."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.colorimetry.reference import CELL_MM
from reliefsmith.plan.base.ground import Art
from reliefsmith.plan.base.legible import edges_on, from_above
from reliefsmith.polygons import as_multi

from ..arts import BLUE, CREAM, RED

FIELD, PATCH = shapely.box(0, 0, 10, 6), shapely.box(12, 0, 20, 6)
BASE = shapely.box(0, 0, 20, 6)


def picture(ground: tuple[int, int, int] | None = CREAM) -> Art:
    return Art((as_multi(FIELD), as_multi(PATCH)), (RED, BLUE), ground)


def area_of(labels: np.ndarray, label: int, cell: float) -> float:
    return float((labels == label).sum()) * cell**2


def test_the_piece_shows_the_pictures_colors_and_the_base_where_nothing_lies_on_it() -> None:
    wanted, shown = from_above(picture(), BASE)
    assert wanted.cell_mm == CELL_MM
    areas = [area_of(shown, label, CELL_MM) for label in (1, 2, 3)]
    assert areas == pytest.approx([60.0, 48.0, 12.0])
    assert (shown[wanted.outside] % 3 == 0).all()
    assert not wanted.clear.any()
    assert shown.shape == wanted.outside.shape


def test_on_nothing_what_is_not_painted_is_clear() -> None:
    wanted, _ = from_above(picture(None), BASE)
    assert (wanted.clear == wanted.outside).all()
    assert wanted.clear.any()


def test_of_a_base_in_a_color_of_its_neighbors_the_edge_to_it_is_lost() -> None:
    """Round both fields runs cream; only between them, 2 mm wide, the base stands for it."""
    on_cream, on_red, on_blue = edges_on(picture(), BASE, [CREAM, RED, BLUE])
    assert on_cream == 1.0
    assert on_red < 1.0
    assert on_red == pytest.approx(on_blue, abs=1e-6)


def test_a_larger_piece_is_looked_at_from_farther_away() -> None:
    wide = shapely.box(0, 0, 400, 20)
    wanted, shown = from_above(Art((as_multi(wide),), (RED,), CREAM), wide)
    assert wanted.cell_mm == pytest.approx(400 / 1000)
    assert area_of(shown, 1, wanted.cell_mm) == pytest.approx(8000)
