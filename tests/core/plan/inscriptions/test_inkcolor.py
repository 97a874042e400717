"""The color of a text: one of the piece's that is seen where it stands, or one that is given."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.model import Frame, Motif, Plan, SetText
from reliefsmith.plan.inscriptions.inkcolor import color_behind, color_for, colors_under
from reliefsmith.polygons import as_multi
from reliefsmith.recipe.sections.limits import MOST_COLORS

NAVY, RED, WHITE, ROSE = (20, 33, 61), (200, 30, 40), (255, 255, 255), (202, 32, 42)
FRAME = Frame(0.1, (0.0, 0.0), 0.0, (100, 100))
LETTERS = shapely.box(0, 0, 4, 1)


def plan(*motifs: tuple[tuple[int, int, int], shapely.Geometry]) -> Plan:
    own = tuple(Motif(color, as_multi(shape)) for color, shape in motifs)
    return Plan(shapely.box(-20, -20, 20, 20), NAVY, False, own, (), (), FRAME, (40.0, 40.0))


def text(side: str = "front") -> SetText:
    return SetText("Larkwater", 2, as_multi(LETTERS), 1.0, (2.0, 0.5), side)


ON_BASE = plan((RED, shapely.box(10, 10, 20, 20)), (WHITE, shapely.box(-20, -20, -10, -10)))
ON_WHITE = plan((RED, shapely.box(10, 10, 20, 20)), (WHITE, shapely.box(-2, -2, 6, 6)))
ACROSS = plan((RED, shapely.box(10, 10, 20, 20)), (WHITE, shapely.box(1.0, -2, 6, 6)))


def test_what_lies_under_a_text_is_counted_by_share() -> None:
    assert colors_under(ACROSS, text()) == [(NAVY, 0.25), (RED, 0.0), (WHITE, 0.75)]


def test_a_text_takes_the_color_that_is_seen_best_where_it_stands() -> None:
    assert color_for(ON_BASE, text(), "auto") == WHITE
    assert color_for(ON_WHITE, text(), "auto") == NAVY
    assert color_for(ACROSS, text(), "auto") == NAVY


def test_on_a_piece_of_one_color_a_text_asks_for_one() -> None:
    with pytest.raises(GeometryError, match="text 2 stands on the only color"):
        color_for(plan(), text(), "auto")


def test_a_given_color_becomes_the_pieces_own_where_it_looks_the_same() -> None:
    assert color_for(ON_BASE, text(), "#ca202a") == RED
    assert color_for(ON_BASE, text(), "#00a050") == (0, 160, 80)


def test_a_text_in_the_color_that_it_stands_on_is_refused() -> None:
    with pytest.raises(GeometryError, match="has the color that it stands on, #14213d"):
        color_for(ON_BASE, text(), "#14213d")
    with pytest.raises(GeometryError, match="#ffffff"):
        color_for(ACROSS, text(), "#ffffff")
    half = plan((WHITE, shapely.box(2.0, -2, 6, 6)))
    assert color_for(half, text(), "#ffffff") == WHITE  # half of it is seen


def _many(count: int) -> Plan:
    shades = [(20 * number + 90, 255 - 25 * number, (60 * number) % 256) for number in range(count)]
    return plan(*((shade, shapely.box(10, 10, 11, 11)) for shade in shades))


def test_one_color_too_many_is_refused_in_front() -> None:
    assert color_for(_many(MOST_COLORS - 1), text(), "#000000") == (0, 0, 0)
    with pytest.raises(GeometryError, match=f"more than {MOST_COLORS} colors"):
        color_for(_many(MOST_COLORS), text(), "#000000")


def test_behind_only_a_given_color_is_laid_in_and_never_the_bases() -> None:
    back = text("back")
    assert color_behind(ON_BASE, back, "auto") is None
    assert color_behind(ON_BASE, back, "#ca202a") == RED
    assert color_behind(ON_BASE, back, "#00a050") == (0, 160, 80)
    with pytest.raises(GeometryError, match="has the base's color, #14213d"):
        color_behind(ON_BASE, back, "#14213d")
    assert color_behind(_many(MOST_COLORS - 1), back, "#000000") == (0, 0, 0)
    with pytest.raises(GeometryError, match=f"more than {MOST_COLORS} colors"):
        color_behind(_many(MOST_COLORS), back, "#000000")
