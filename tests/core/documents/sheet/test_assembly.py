"""How parts go together: in their order, each beside those that it meets, numbered where they are widest."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.sheet.assembly import assembly_section
from reliefsmith.model import Division, Segment

from ..pages import Page

NONE = shapely.MultiPolygon()
SHAPES = (shapely.box(-30, -40, -0.1, 45), shapely.box(0.1, -40, 30, 2), shapely.box(0.1, 2.2, 30, 45))


def _division(
    keys: int = 2, digits: shapely.MultiPolygon = NONE, tabs: shapely.MultiPolygon = NONE
) -> Division:
    plates = (1, 1, 2)
    segments = tuple(
        Segment(number, shape, digits, plate, 0.0, (0.0, 0.0))
        for number, (shape, plate) in enumerate(zip(SHAPES, plates, strict=True), start=1)
    )
    return Division(shapely.box(-30, -40, 30, 45), segments, 0.2, keys, tabs)


def _page(job, division: Division) -> Page:
    return Page(assembly_section(replace(job, plan=replace(job.plan, division=division))).encode())


def _steps(job, division: Division) -> list[str]:
    return [data for tag, data in _page(job, division).texts if tag == "li"]


def test_each_part_is_set_to_those_before_it_that_it_meets(job) -> None:
    first, second, third, last = _steps(job, _division())
    assert first == "Part 1 (30 x 85 mm, plate 1): lay it down, face up, on a flat table."
    assert second.endswith("press it down from above between the keys of part 1.")
    assert third.startswith("Part 3 (30 x 43 mm, plate 2): ")
    assert "part 1 and 2" in third
    assert "Turn the whole over" in last


@pytest.mark.parametrize(
    ("division", "words"),
    [
        (_division(keys=0), "lay it beside part 1 with a thin line of glue"),
        (
            _division(tabs=shapely.MultiPolygon([shapely.box(0, 0, 1, 1)])),
            "from above onto the keys of part 1",
        ),
        (_division(), "between the keys of part 1"),
    ],
)
def test_how_depends_on_what_holds_them(job, division: Division, words: str) -> None:
    assert words in _steps(job, division)[1]


def test_parts_that_do_not_meet_are_laid_down_each(job) -> None:
    apart = tuple(
        replace(one, outline=shapely.box(100 * n, 0, 100 * n + 30, 9))
        for n, one in enumerate(_division().segments)
    )
    assert (
        sum("lay it down, face up" in step for step in _steps(job, replace(_division(), segments=apart))) == 3
    )


def test_files_and_numbers_are_told(job) -> None:
    text = _page(job, _division()).text()
    assert "Print kite-plate-1.3mf, kite-plate-2.3mf, each as it is. Rub off" in text
    assert "3 parts, 0.20 mm apart" in text
    numbered = _division(digits=shapely.MultiPolygon([shapely.box(0, 0, 1, 1)]))
    assert "Each has its number sunk into its back." in _page(job, numbered).text()


def test_numbers_stand_in_their_parts_on_the_drawing(job) -> None:
    page = _page(job, _division())
    numbers = [data for tag, data in page.texts if tag == "text"]
    circles = [shapely.Point(float(item["cx"]), -float(item["cy"])) for item in page.all("circle")]
    assert numbers == ["1", "2", "3"]
    assert all(shape.contains(at) for shape, at in zip(SHAPES, circles, strict=True))
    left, top, wide, high = (float(value) for value in page.all("svg")[0]["viewbox"].split())
    assert shapely.box(left, -top - high, left + wide, -top).contains(shapely.box(-30, -40, 30, 45))


def test_a_piece_that_is_not_cut_has_no_such_section(job) -> None:
    assert assembly_section(job) == ""
