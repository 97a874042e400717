"""The base as later stages make it: slits closed, pieces linked, for judging it before."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.plan.base.foreseen import AS_IT_IS, Foreseen
from reliefsmith.polygons import polygons_of
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import PieceSettings, PrinterSettings

from ..arts import CREAM, RED, YELLOW, flat, outlined

HALVES = shapely.MultiPolygon([shapely.box(0, 0, 30, 10), shapely.box(0, 11, 30, 20)])


def test_nothing_is_foreseen_unless_it_is_said() -> None:
    assert AS_IT_IS.base(HALVES) is HALVES


@pytest.mark.parametrize(("slit", "pieces"), [(0.9, 2), (1.1, 1)])
def test_a_slit_closes_where_it_is_narrower_than_said(slit: float, pieces: int) -> None:
    closed = Foreseen(slit_mm=slit).base(HALVES)
    assert len(polygons_of(closed)) == pieces
    assert closed.area == pytest.approx(30 * 19 + (30 if pieces == 1 else 0), rel=0.01)


def test_links_join_all_pieces_in_their_width() -> None:
    """Three in a row: two gaps of 4 mm, each with its bars, as many as the links have."""
    row = shapely.MultiPolygon([shapely.box(14 * k, 0, 14 * k + 10, 8) for k in range(3)])
    linked = Foreseen(link_mm=3.0).base(row)
    assert len(polygons_of(linked)) == 1
    (bar,) = polygons_of(shapely.intersection(linked, shapely.box(11.5, -9, 12.5, 20)))
    assert bar.bounds[3] - bar.bounds[1] == pytest.approx(3.0, abs=0.02)


@pytest.mark.parametrize(("count", "linked"), [(40, True), (41, False)])
def test_of_many_pieces_the_links_are_not_foreseen(count: int, linked: bool) -> None:
    row = shapely.MultiPolygon([shapely.box(8 * k, 0, 8 * k + 5, 8) for k in range(count)])
    assert (len(polygons_of(Foreseen(link_mm=3.0).base(row))) == 1) is linked


def test_the_recipe_says_which_slits_close_and_whether_there_are_links() -> None:
    printer = PrinterSettings(nozzle_mm=0.6)
    linked = Foreseen.of(printer, PieceSettings(connect="links", link_mm=4.0))
    assert linked.link_mm == 4.0
    assert linked.slit_mm == pytest.approx(1.5 * Foreseen.of(PrinterSettings(), PieceSettings()).slit_mm)
    assert Foreseen.of(printer, PieceSettings(connect="grow")).link_mm == 0.0


def test_a_base_is_judged_with_the_links_that_its_pieces_will_need() -> None:
    """Two flaps of an envelope 3.5 mm apart: links in their own color would bridge the gap between them."""
    flaps = shapely.union_all([shapely.box(-13, -15, 13, 0), shapely.box(-13, 3.5, 13, 8)])
    arrow = shapely.box(-4, 8, 4, 28)
    areas = replace(flat((YELLOW, flaps), (RED, arrow)), ground=CREAM)
    assert outlined(areas).base_color == RED
    assert outlined(areas, Recipe().with_values({"pieces.connect": "none"})).base_color == YELLOW
