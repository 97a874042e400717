"""Where the figures stand: apart, within the margins, the front as large as it goes and no larger."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.documents.proof.figures import fitting, front_room, key_room
from reliefsmith.documents.proof.layout import FOOTER_MM, GAP_MM, MARGIN_MM, PAGE_MM, Layout, lay_out


@pytest.mark.parametrize(
    "size",
    [(82.0, 22.0), (160.0, 45.0), (53.0, 99.0), (100.0, 119.0), (110.0, 40.0), (20.0, 20.0), (300.0, 200.0)],
)
@pytest.mark.parametrize("hangs", [True, False])
def test_boxes_of_the_page_stand_apart_and_inside_the_margins(size, hangs):
    places = lay_out(size, 42.0, 165.0, hangs=hangs)
    boxes = [places.front, places.back, places.key, places.section]
    boxes += [places.hanging] if places.hanging is not None else []
    shapes = [shapely.box(*item.at, item.at[0] + item.size[0], item.at[1] + item.size[1]) for item in boxes]
    frame = shapely.box(MARGIN_MM, 42.0, PAGE_MM[0] - MARGIN_MM, 207.0)
    assert len(boxes) == 4 + hangs
    assert all(frame.buffer(1e-6).contains(shape) for shape in shapes)
    for n, one in enumerate(shapes):
        assert all(one.distance(other) > GAP_MM - 1e-6 for other in shapes[n + 1 :])


def test_a_large_piece_keeps_its_true_size_beside_a_column():
    places = lay_out((100.0, 119.0), 42.0, 165.0, hangs=True)
    assert fitting((100.0, 119.0), front_room(places.front.size), 1.0) == 1.0


def test_a_tall_piece_shows_its_key_beside_the_front_larger_than_below_it():
    size = (53.0, 99.0)
    places = lay_out(size, 42.0, 165.0, hangs=True)
    assert fitting(size, front_room(places.front.size), 1.0) == 1.0
    assert fitting(size, key_room(places.key.size), 1.0) >= 1 / 2.5
    assert places.back.at[1] == places.key.at[1]  # side by side


def test_the_panel_of_a_wide_piece_is_as_low_as_it_is():
    size = (82.0, 22.0)
    places = lay_out(size, 42.0, 165.0, hangs=True)
    assert fitting(size, front_room(places.front.size), 1.0) == 1.0
    assert places.front.size[1] <= 50.0
    assert fitting(size, key_room(places.key.size), 2.0) >= 1.0


def _front(size: tuple[float, float], places: Layout) -> float:
    return fitting(size, front_room(places.front.size), 1.0)


def test_a_front_may_take_some_of_the_row_below_it_but_not_all() -> None:
    """100 mm high, it needs more than the row's usual height leaves, and less than its least does."""
    places = lay_out((150.0, 100.0), 42.0, 165.0, hangs=False)
    assert _front((150.0, 100.0), places) == 1.0
    assert places.back.size[1] >= 34.0


def test_the_page_is_that_of_the_standard_and_has_room_below_the_figures() -> None:
    assert PAGE_MM == (210.0, 297.0)  # ISO 216, A4
    assert 0 < GAP_MM < MARGIN_MM < FOOTER_MM < PAGE_MM[1] / 10


@pytest.mark.parametrize("size", [(82.0, 22.0), (53.0, 99.0), (110.0, 40.0), (20.0, 20.0), (70.0, 70.0)])
def test_a_usual_piece_is_shown_in_true_size(size: tuple[float, float]) -> None:
    for hangs in (True, False):
        assert _front(size, lay_out(size, 42.0, 165.0, hangs=hangs)) == 1.0


@pytest.mark.parametrize("size", [(160.0, 45.0), (100.0, 119.0), (300.0, 200.0), (150.0, 150.0)])
def test_more_room_and_nothing_to_hang_make_no_front_smaller(size: tuple[float, float]) -> None:
    small, large = (_front(size, lay_out(size, 42.0, room, hangs=True)) for room in (150.0, 180.0))
    assert small <= large
    assert _front(size, lay_out(size, 42.0, 165.0, hangs=False)) >= _front(
        size, lay_out(size, 42.0, 165.0, hangs=True)
    )


def test_all_moves_down_together() -> None:
    high, low = (lay_out((60.0, 60.0), top, 165.0, hangs=True) for top in (40.0, 50.0))
    for name in ("front", "hanging", "back", "key", "section"):
        one, other = getattr(high, name), getattr(low, name)
        assert other.at == (one.at[0], pytest.approx(one.at[1] + 10))
        assert other.size == pytest.approx(one.size)


@pytest.mark.parametrize("size", [(82.0, 22.0), (53.0, 99.0), (100.0, 119.0), (20.0, 20.0)])
def test_the_figures_take_the_whole_width_and_height(size: tuple[float, float]) -> None:
    places = lay_out(size, 42.0, 165.0, hangs=True)
    boxes = [places.front, places.hanging, places.back, places.key, places.section]
    shapes = [shapely.box(*box.at, box.at[0] + box.size[0], box.at[1] + box.size[1]) for box in boxes if box]
    assert shapely.total_bounds(shapes).tolist() == pytest.approx(
        [MARGIN_MM, 42.0, PAGE_MM[0] - MARGIN_MM, 207.0]
    )


def test_nothing_hanging_has_no_box() -> None:
    assert lay_out((60.0, 60.0), 42.0, 165.0, hangs=False).hanging is None
