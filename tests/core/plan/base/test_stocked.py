"""A base from stock: the choice where a spool comes near it, else the art's best color that there is."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from reliefsmith.model import Plan
from reliefsmith.plan import outline
from reliefsmith.plan.base.basecolor import BaseColor
from reliefsmith.plan.base.ground import Art
from reliefsmith.plan.base.stocked import in_stock, printed_in
from reliefsmith.polygons import as_multi
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import FilamentSettings

from ..arts import BLUE, CREAM, RED, RING, WHITE, codes, on_paper

GREEN, BRICK = (0, 160, 64), (205, 36, 34)
BASE = shapely.box(0, 0, 30, 10)
ART = Art((as_multi(shapely.box(0, 0, 14, 10)), as_multi(shapely.box(16, 0, 30, 10))), (RED, BLUE), CREAM)
ADDED = BaseColor(CREAM, None)


def stock(*colors: str, only: bool = True) -> FilamentSettings:
    spools = [{"name": color, "color": color} for color in colors]
    return Recipe().with_values({"filaments.stock": spools, "filaments.only_stock": only}).filaments


def chosen(filaments: FilamentSettings) -> tuple[BaseColor, Sequence[str]]:
    base, told = in_stock(ADDED, ART, BASE, filaments)
    return base, codes(told)


def test_a_choice_that_the_stock_has_stays_and_so_does_any_where_more_may_be_bought() -> None:
    assert chosen(stock("#fdfbf5")) == (ADDED, [])
    assert chosen(stock("#c81e1e", only=False)) == (ADDED, [])
    assert chosen(stock()) == (ADDED, [])


def test_else_it_is_the_color_of_the_art_that_the_stock_has() -> None:
    assert chosen(stock("#143cc8")) == (BaseColor(BLUE, 1), ["base-not-in-stock"])
    assert chosen(stock("#cd2422")) == (BaseColor(RED, 0), ["base-not-in-stock"])
    assert chosen(stock("#00a040")) == (ADDED, [])  # none of them: matching tells what is missing


def test_of_several_it_is_the_one_on_which_more_edges_are_kept_as_printed() -> None:
    """A red comb on red loses its teeth to the border; on blue nothing is lost, whatever comes first."""
    comb = shapely.union_all([shapely.box(x, 12, x + 0.8, 20) for x in range(0, 30, 2)])
    picture = Art((as_multi(comb), ART.polygons[1]), (RED, BLUE), CREAM)
    base = shapely.union(comb.buffer(0.7), ART.polygons[1])
    found, _ = in_stock(ADDED, picture, base, stock("#c81e1e", "#143cc8"))
    assert found == BaseColor(BLUE, 1)


def test_each_color_is_printed_in_its_nearest_filament_of_a_stock_that_is_all() -> None:
    spools = stock("#cd2422", "#00a040")
    assert printed_in(spools, [RED, GREEN, RED]) == [BRICK, (0, 160, 64), BRICK]
    assert printed_in(stock("#cd2422", only=False), [RED, WHITE]) == [RED, WHITE]
    assert printed_in(stock(), [RED]) == [RED]


def test_a_base_that_the_stock_lacks_gives_way_to_the_best_that_it_has() -> None:
    areas = on_paper((BLUE, RING), (RED, shapely.box(-3, -3, 3, 3)))
    stock = [{"name": "red", "color": "#c81e1e"}, {"name": "blue", "color": "#143cc8"}]

    def plan(values: dict[str, object]) -> Plan:
        r = Recipe().with_values({"filaments.stock": stock, **values})
        return outline(areas, base=r.base, colors=r.colors, base_stock=r.base_stock)

    lacking = plan({"filaments.only_stock": True})
    assert lacking.base_color in (RED, BLUE)
    assert codes(lacking.findings) == ["base-not-in-stock"]
    assert CREAM in {motif.color for motif in lacking.motifs}
    assert plan({}).base_color == CREAM
    had = plan({"filaments.only_stock": True, "filaments.stock": [{"name": "cream", "color": "#fdfbf5"}]})
    assert (had.base_color, codes(had.findings)) == (CREAM, [])
    none = plan({"filaments.only_stock": True, "filaments.stock": [{"name": "green", "color": "#00a040"}]})
    assert (none.base_color, codes(none.findings)) == (CREAM, [])
    asked = plan({"filaments.only_stock": True, "colors.base": "#fcfaf4"})
    assert (asked.base_color, codes(asked.findings)) == (CREAM, [])
