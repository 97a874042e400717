"""Ways on a page: their settings as recipe lines, what each differs in, one scale for all pictures."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest

from reliefsmith.documents.ways_page import settings_toml, ways_html, ways_mapping
from reliefsmith.findings import finding
from reliefsmith.model import Way
from reliefsmith.model.fidelity import Fidelity, Missed
from reliefsmith.recipe import Recipe

from .jobs import RED, kite
from .pages import Page

SETTINGS = {
    "base.shape": "circle",
    "colors.palette": ("#aa0000", "#00aa00"),
    "base.border_mm": 1.5,
    "hang.at_mm": (1, 2),
}


def test_settings_are_lines_of_a_recipe() -> None:
    text = settings_toml(SETTINGS)
    assert Recipe.from_mapping(tomllib.loads(text)) == Recipe().with_values(SETTINGS)
    assert text.count("[base]") == 1


def _way(job, kind: str = "", settings: dict | None = None, **estimate: object) -> Way:
    inspection = replace(job.inspection, estimate=replace(job.inspection.estimate, **estimate))
    return Way(kind, settings or {}, replace(job, inspection=inspection))


def test_plain_values_are_those_of_the_results_in_order(job) -> None:
    seen = Fidelity(0.98764, 0.5)
    first, other = (
        _way(replace(job, fidelity=seen)),
        _way(job, "style", {"heights.style": "raised"}, changes=9),
    )
    rows = ways_mapping([first, other])["ways"]
    assert [row["number"] for row in rows] == [1, 2]
    assert (rows[0]["edges_kept"], rows[0]["paint_right"]) == (0.9876, 0.5)
    assert rows[1]["edges_kept"] is None
    assert rows[1]["settings"] == {"heights.style": "raised"}
    assert [row["changes"] for row in rows] == [job.inspection.estimate.changes, 9]
    assert rows[0]["parts"] == 3


def test_titles_say_what_a_way_differs_in(job) -> None:
    red = replace(job, plan=replace(job.plan, base_color=RED))
    round_base = replace(job, recipe=job.recipe.with_values({"base.shape": "circle"}))
    both = replace(red, recipe=round_base.recipe)
    two = replace(job, parts=job.parts[:2])
    ways = [
        _way(job),
        _way(red, "base"),
        _way(round_base, "shape"),
        _way(both, "shape"),
        _way(two, "colors"),
        _way(job, "style"),
        _way(job, "size"),
    ]
    titles = [row["title"] for row in ways_mapping(ways)["ways"]]
    assert titles[0] == "As it is now"
    assert titles[1].startswith("Base in red")
    assert titles[2:5] == ["Round base", "Round base, in red", "In 2 colors"]
    assert titles[5] == "All colors raised alike"
    assert titles[6] == f"{job.plan.artwork_mm[0]:.0f} mm wide: more of it prints"


def test_what_changes_is_told_beside_the_value_and_what_does_not_is_not(job) -> None:
    page = Page(ways_html([_way(job), _way(job, "style", {"heights.style": "raised"}, changes=4)]))
    small = [data for tag, data in page.texts if tag == "small"]
    assert small == ["-2"]
    assert "4 -2" in page.text()
    assert "Price" not in page.text()
    priced = replace(job, recipe=job.recipe.with_values({"cost.parcel": 4.0}))
    text = Page(ways_html([_way(priced), _way(priced, "style", cost=3.35)])).text()
    assert "3.35 EUR +2.00" in text


def test_all_are_drawn_at_one_scale_and_the_largest_fills_its_room(job) -> None:
    small = kite(24.0)
    page = Page(ways_html([_way(small), _way(job, "size")]))
    widths = [int(str(item["width"])) for item in page.all("img")]
    sizes = [shape.plan.base.bounds[2] - shape.plan.base.bounds[0] for shape in (small, job)]
    assert (widths[1] - 20) / (widths[0] - 20) == pytest.approx(sizes[1] / sizes[0], rel=0.02)


def test_what_is_lost_or_grave_is_said_the_rest_is_not(job) -> None:
    long = max(job.plan.artwork_mm)
    lost = (Missed("an edge", (0, 0), 0.5 * long), Missed("a dot", (0, 0), 0.01 * long))
    found = (finding("edges-lost", "Edges are lost."), finding("sharp-tip", "A tip is sharp."))
    inspection = replace(job.inspection, findings=(*job.inspection.findings, *found))
    text = Page(
        ways_html([_way(replace(job, fidelity=Fidelity(0.9, 0.9, lost), inspection=inspection))])
    ).text()
    assert "Lost: an edge" in text
    assert "a dot" not in text
    assert "a stroke is 0.7 mm wide" in text  # a warning of the kite's own
    assert "Edges are lost." not in text


def test_a_way_is_picked_by_its_number_and_one_way_is_called_one(job) -> None:
    page = Page(ways_html([_way(job), _way(job, "style", {"heights.style": "raised"})]))
    assert "2 ways to make it" in page.text()
    codes = [data for tag, data in page.texts if tag == "code"]
    assert codes == ["--pick 2"]
    assert [data for tag, data in page.texts if tag == "pre"] == [settings_toml({"heights.style": "raised"})]
    alone = Page(ways_html([_way(job)])).text()
    assert "One way to make it" in alone
    assert "No other way that was tried" in alone
