"""Marks that act on the plan: kept as drawn, thickened, left thin, other borders, links asked and barred."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from reliefsmith.polygons import polygons_of

from .arts import BLACK, BLUE, RED, codes, connected, flat, outlined, repaired
from .markedbars import BARS, PLATE, bar_width, marked

pytestmark = pytest.mark.usefixtures("unadvised")


def test_the_border_is_wider_at_its_mark_and_as_usual_elsewhere() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[12, -4], [18, -4], [18, 4], [12, 4]], "value": 3.0}
    plan = outlined(disc, marked(mark, **{"base.border_mm": 1.0}))
    x0, y0, x1, y1 = plan.base.bounds
    assert x1 == pytest.approx(18.0, abs=0.02)
    assert (x0, y0, y1) == pytest.approx((-16.0, -16.0, 16.0), abs=0.02)
    assert plan.base.covers(shapely.Point(0, 0).buffer(15.98, 32))


def test_the_border_is_narrower_at_its_mark() -> None:
    disc = flat((RED, shapely.Point(0, 0).buffer(15, 32)))
    mark = {"kind": "border", "polygon_mm": [[10, -6], [18, -6], [18, 6], [10, 6]], "value": 0.5}
    plan = outlined(disc, marked(mark, **{"base.border_mm": 2.0}))
    x0, _, x1, _ = plan.base.bounds
    assert x1 == pytest.approx(15.5, abs=0.05)
    assert x0 == pytest.approx(-17.0, abs=0.02)


PAIR = flat((RED, shapely.box(-20, -10, -4, 10)), (BLUE, shapely.box(4, -10, 20, 10)))


def _bars(plan) -> list[tuple[float, float]]:
    """Return lower and upper edge of what joins the two halves at x = 0."""
    cut = shapely.intersection(plan.base, shapely.LineString([(0, -30), (0, 30)]))
    return sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(cut))


def test_a_link_is_added_where_it_is_asked_for_in_its_width() -> None:
    plan = connected(PAIR, marked({"kind": "link", "at_mm": [0, 6], "value": 4.0}))
    assert any(abs(high - low - 4.0) < 0.1 and low < 6 < high for low, high in _bars(plan))
    assert "mark-applied" in codes(plan.notes)
    assert plan.base.geom_type == "Polygon"


def test_no_link_passes_where_a_mark_forbids_it() -> None:
    usual = _bars(connected(PAIR, marked()))
    low, high = usual[0]
    middle = (low + high) / 2
    mark = {"kind": "no-link", "polygon_mm": [[-3, low - 1], [3, low - 1], [3, high + 1], [-3, high + 1]]}
    plan = connected(PAIR, marked(mark))
    assert all(not (low < middle < high) for low, high in _bars(plan))
    assert plan.base.geom_type == "Polygon"
    assert "mark-missed" not in codes(plan.findings)


def test_where_nothing_else_joins_a_forbidden_link_is_made_and_told() -> None:
    mark = {"kind": "no-link", "polygon_mm": [[-3, -40], [3, -40], [3, 40], [-3, 40]]}
    plan = connected(PAIR, marked(mark))
    assert plan.base.geom_type == "Polygon"
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert "cannot be joined anywhere else" in found.message


def test_the_core_of_a_letter_is_held_and_called_so() -> None:
    ring = shapely.Point(0, 0).buffer(15) - shapely.Point(0, 0).buffer(11)
    plan = connected(flat((RED, ring), (BLUE, shapely.Point(0, 0).buffer(5))), marked())
    assert plan.base.geom_type == "Polygon"
    assert any("holds a core" in item.message for item in plan.notes)


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        ({"kind": "protect", "at_mm": [60, 60]}, "finds no area"),
        ({"kind": "thicken", "at_mm": [0, 10], "value": 0.2}, "finds no stroke thinner"),
        ({"kind": "leave-thin", "at_mm": [0, 10]}, "finds no stroke thinner"),
        ({"kind": "border", "at_mm": [60, 60], "value": 2}, "finds no area"),
        ({"kind": "link", "at_mm": [0, 0]}, "lies on the base"),
    ],
)
def test_a_mark_that_finds_nothing_is_told(mark: dict[str, Any], words: str) -> None:
    plan = connected(BARS, marked(mark))
    (found,) = [item for item in plan.findings if item.code == "mark-missed"]
    assert words in found.message
    assert "mark-applied" not in codes(plan.notes)


def test_a_small_opening_is_kept_as_drawn_where_it_is_protected() -> None:
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(-0.75, -0.75, 0.75, 0.75)
    areas = flat((BLACK, plate))
    assert len(connected(areas, marked()).base.interiors) == 0
    plan = connected(areas, marked({"kind": "protect", "at_mm": [0, 0]}))
    (ring,) = plan.base.interiors
    assert shapely.Polygon(ring).symmetric_difference(shapely.box(-0.75, -0.75, 0.75, 0.75)).area < 1e-6
    assert "opening-filled" not in codes(plan.notes)


def test_speckled_art_keeps_the_speck_that_is_protected() -> None:
    specks = [shapely.box(x, y, x + 0.15, y + 0.15) for x in range(-15, 16, 2) for y in range(-8, 9, 2)]
    areas = flat((BLACK, PLATE), (RED, shapely.union_all([shapely.box(-18, 11, 18, 14), *specks])))
    assert all(len(polygons_of(motif.polygon)) == 1 for motif in outlined(areas, marked()).motifs)
    at = [specks[40].centroid.x, specks[40].centroid.y]
    plan = repaired(areas, marked({"kind": "protect", "at_mm": at}))
    (motif,) = plan.motifs
    assert sorted(piece.area for piece in polygons_of(motif.polygon)) == pytest.approx([0.0225, 36 * 3])


SQUARE = flat((RED, shapely.box(-20, -10, 20, 10)))


@pytest.mark.parametrize("corners", ["round", "miter", "bevel"])
def test_a_local_border_is_as_wide_as_asked_and_joins_without_steps(corners: str) -> None:
    reach = 3.0
    mark = {"kind": "border", "polygon_mm": [[-4, 8], [4, 8], [4, 12], [-4, 12]], "value": reach}
    plan = outlined(SQUARE, marked(mark, **{"base.corners": corners}))
    xs = np.linspace(-19, 19, 381)
    lines = [shapely.LineString([(x, 0), (x, 40)]) for x in xs]
    tops = np.array([plan.base.intersection(line).bounds[3] for line in lines]) - 10
    inside = np.abs(xs) <= 4
    # Outlines are thinned by 0.002 mm, chords of arcs are within 0.004 mm.
    assert tops[inside] == pytest.approx(reach, abs=0.007)
    assert tops[np.abs(xs) > 4 + 4 + 3] == pytest.approx(1.0, abs=0.007)
    # Half a millimetre a millimetre, in steps of 0.1 mm that discs of that radius round off.
    assert np.abs(np.diff(tops)).max() <= 0.1
    assert plan.base.bounds[1] == pytest.approx(-11, abs=0.007)


def test_corners_of_a_local_border_are_those_of_the_setting() -> None:
    mark = {"kind": "border", "polygon_mm": [[16, 6], [21, 6], [21, 11], [16, 11]], "value": 3.0}
    for corners, gap in (("round", 3 * (2**0.5 - 1)), ("miter", 0.0), ("bevel", 3 * 2**0.5 / 2)):
        base = outlined(SQUARE, marked(mark, **{"base.corners": corners})).base
        # From the sharp corner of the two sides, 3 mm out, to where the corner is.
        assert base.distance(shapely.Point(23, 13)) == pytest.approx(gap, abs=0.01)


def test_a_border_at_a_point_is_that_of_the_area_there() -> None:
    areas = flat((RED, shapely.box(-20, -5, -10, 5)), (BLUE, shapely.box(10, -5, 20, 5)))
    plan = outlined(areas, marked({"kind": "border", "at_mm": [15, 0], "value": 2.5}))
    left, right = sorted(polygons_of(plan.base), key=lambda piece: piece.bounds)
    assert left.bounds == pytest.approx((-21, -6, -9, 6), abs=0.007)
    assert right.bounds == pytest.approx((7.5, -7.5, 22.5, 7.5), abs=0.007)
    (said,) = [note for note in plan.notes if note.code == "mark-applied"]
    assert (said.at_mm, said.size_mm) == ((15, 0), pytest.approx(200**0.5, abs=0.01))


def test_on_a_plate_a_wider_border_reaches_out_and_a_narrower_one_is_told() -> None:
    wide = {"kind": "border", "polygon_mm": [[15, -2], [21, -2], [21, 2], [15, 2]], "value": 9.0}
    shape = {"base.shape": "rectangle"}
    assert outlined(SQUARE, marked(wide, **shape)).base.bounds[2] == pytest.approx(29, abs=0.007)
    (found,) = outlined(SQUARE, marked({**wide, "value": 0.5}, **shape)).findings
    assert found.code == "mark-missed"


def test_a_link_has_its_width_exactly_at_a_point_and_along_a_polygon() -> None:
    for mark in (
        {"kind": "link", "at_mm": [0.5, 6], "value": 4.0},
        {"kind": "link", "polygon_mm": [[-6, 5.5], [6, 5.5], [6, 6.5], [-6, 6.5]], "value": 4.0},
    ):
        plan = connected(PAIR, marked(mark))
        cut = shapely.intersection(plan.base, shapely.box(-0.5, -30, 0.5, 30))
        (bar,) = [part for part in shapely.get_parts(cut) if part.intersects(shapely.Point(0, 6))]
        assert (bar.bounds[1], bar.bounds[3]) == pytest.approx((4.0, 8.0), abs=0.025)  # overlap of 0.01
        assert len(_bars(plan)) == 1


def test_a_link_crosses_an_opening_where_it_is_narrowest() -> None:
    plate = shapely.box(-20, -15, 20, 15) - shapely.box(-10, -4, 10, 4)
    plan = connected(flat((RED, plate)), marked({"kind": "link", "at_mm": [3, 0]}))
    assert len(plan.base.interiors) == 2
    assert plan.base.covers(shapely.LineString([(3, -6), (3, 6)]))
    (said,) = [note for note in plan.notes if note.code == "mark-applied"]
    assert "a link of 6.00 mm, 3.00 mm wide" in said.message


@pytest.mark.parametrize("how", ["grow", "backing", "none"])
def test_a_barred_place_is_noted_where_nothing_is_linked(how: str) -> None:
    plan = connected(PAIR, marked({"kind": "no-link", "at_mm": [0, 0]}, **{"pieces.connect": how}))
    assert codes(plan.notes).count("mark-applied") == 1


def test_on_art_of_one_color_only_protect_keeps_something() -> None:
    marks = [{"kind": "protect", "at_mm": [0, 0]}, {"kind": "thicken", "at_mm": [0, 0], "value": 2.0}]
    plan = repaired(SQUARE, marked(*marks, **{"colors.base": "#c81e1e"}))
    assert plan.motifs == ()
    assert codes(plan.notes).count("mark-applied") == 1
    (found,) = plan.findings
    assert found.message.startswith("thicken mark 1 finds no motif")


def test_a_findings_place_is_the_place_of_a_mark() -> None:
    thin = marked({"kind": "leave-thin", "at_mm": [3, -5]})
    (found,) = [item for item in repaired(BARS, thin).findings if item.code == "left-thin"]
    assert found.at_mm is not None
    again = repaired(BARS, marked({"kind": "thicken", "at_mm": list(found.at_mm[:2]), "value": 0.9}))
    assert bar_width(again, -5) == pytest.approx(0.9, abs=0.005)
    assert bar_width(again, 5) == pytest.approx(0.6, abs=0.005)
    (made,) = [n for n in repaired(BARS, marked()).notes if n.code == "stroke-thickened" and n.at_mm[1] > 0]
    copied = repaired(BARS, marked({"kind": "protect", "at_mm": list(made.at_mm)}))
    assert bar_width(copied, 5) == pytest.approx(0.3, abs=1e-6)
