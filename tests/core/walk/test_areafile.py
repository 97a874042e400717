"""Areas alone: the writer by the file's name, and a report whose numbers are those of the polygons."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from reliefsmith.errors import OutputError
from reliefsmith.findings import finding, note
from reliefsmith.formats import AREA_WRITERS, CURVE_WRITERS
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.model.areas import NumberedArea
from reliefsmith.walk.areafile import area_writer, areas_report

RING = shapely.box(0, 0, 10, 10).difference(shapely.box(2, 2, 5, 5))
AREAS = FlatAreas(
    (
        shapely.MultiPolygon([RING]),
        shapely.MultiPolygon([shapely.box(2, 2, 5, 5), shapely.box(12, 0, 13, 1)]),
    ),
    np.array([(200, 30, 30), (30, 30, 200)], np.uint8),
    Frame(0.1, (6.5, 5.0), 0.0, (130, 100)),
    (13.0, 10.0),
)


@pytest.mark.parametrize("name", ["a.svg", "a.SVG"])
def test_the_ending_says_how_areas_are_written(name: str) -> None:
    assert area_writer(Path(name)) is AREA_WRITERS[".svg"]
    assert area_writer(Path(name), "bezier") is CURVE_WRITERS[".svg"]
    assert area_writer(Path(name), "lines") is not area_writer(Path(name), "bezier")


def test_a_format_without_curves_is_written_in_lines() -> None:
    plain = next(ending for ending in AREA_WRITERS if ending not in CURVE_WRITERS)
    assert area_writer(Path(f"a{plain}"), "bezier") is AREA_WRITERS[plain]


@pytest.mark.parametrize("name", ["a.png", "svg", "a.svg.txt"])
def test_other_endings_are_refused_with_those_there_are(name: str) -> None:
    with pytest.raises(OutputError, match=f"{name} ends in neither") as caught:
        area_writer(Path(name))
    assert all(ending in str(caught.value) for ending in AREA_WRITERS)


def test_the_report_tells_colors_areas_and_size() -> None:
    report = areas_report(AREAS)
    assert [(row["color"], row["area_mm2"]) for row in report["areas"]] == [
        ("#c81e1e", 91.0),
        ("#1e1ec8", 10.0),
    ]
    assert report["artwork_mm"] == [13.0, 10.0]
    assert len({row["name"] for row in report["areas"]}) == 2
    assert not any("role" in row for row in report["areas"])
    assert report["findings"] == report["notes"] == []


def test_ground_that_the_art_encloses_is_called_so() -> None:
    found = areas_report(replace(AREAS, enclosed=1, findings=(finding("sharp-tip", "A tip."),)))
    assert [row.get("role") for row in found["areas"]] == [None, "ground"]
    first = areas_report(replace(AREAS, enclosed=0))["areas"]
    assert [row.get("role") for row in first] == ["ground", None]
    assert [item["code"] for item in found["findings"]] == ["sharp-tip"]
    noted = areas_report(replace(AREAS, notes=(note("gap-closed", "A gap.", (1.0, 2.0), 3.0),)))
    assert [item["code"] for item in noted["notes"]] == ["gap-closed"]


def test_pieces_are_numbered_each_by_itself() -> None:
    numbers = (
        NumberedArea((200, 30, 30), (8.0, 8.0), 2.0, 91.0),
        NumberedArea((30, 30, 200), (3.5, 3.5), 1.5, 9.0),
    )
    told = areas_report(replace(AREAS, numbered=numbers))["numbered"]
    assert len(told) == 2
    assert areas_report(AREAS)["numbered"] == []
