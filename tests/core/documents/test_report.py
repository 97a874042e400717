"""The report holds the contract's keys and says what the job says."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from reliefsmith.documents.report import report_mapping
from reliefsmith.documents.sheet.sheet import sheet_html

from .jobs import BASE, DENSITY, LAYER, MOTIF, kite, with_stock

KEYS = {
    "schema": int,
    "size_mm": list,
    "artwork_mm": list,
    "frame": dict,
    "face": str,
    "style": str,
    "layer_mm": float,
    "first_layer_mm": float,
    "parts": list,
    "hole": dict,
    "color_changes": list,
    "estimate": dict,
    "findings": list,
    "notes": list,
    "versions": dict,
}
"""The contract's keys and kinds; "files" is added by the writer of the set."""


@pytest.fixture(scope="module")
def report():
    return report_mapping(kite(), {"shapely": "2.2", "numpy": "2.4"})


def test_every_key_of_the_contract_is_there_in_its_kind(report):
    assert {key: type(report[key]) for key in KEYS} == KEYS
    assert "files" not in report
    assert set(report["frame"]) >= {"mm_per_px", "origin_px", "turn_deg", "image_px"}
    assert set(report["hole"]) >= {"center_mm", "diameter_mm", "wall_mm", "hang_angle_deg", "origin"}
    assert set(report["estimate"]) >= {"time_min", "attended_min", "mass_g", "cost"}
    for part in report["parts"]:
        assert set(part) >= {"name", "role", "color", "volume_mm3", "mass_g", "z_mm", "watertight"}
    for change in report["color_changes"]:
        assert set(change) >= {"layer", "z_mm", "color"}
    for item in report["findings"]:
        assert set(item) >= {"code", "severity", "message", "at_mm"}
    for item in report["notes"]:
        assert set(item) >= {"code", "message", "at_mm", "size_mm"}


def test_filaments_are_told_with_difference_and_second_best():
    rows = report_mapping(with_stock(kite()), {})["filaments"]
    assert [row["part"] for row in rows] == ["base", "red", "yellow"]
    nothing, red, yellow = rows
    keys = {"part", "name", "color", "finish", "source", "delta_e00", "second"}
    assert all(set(row) == keys for row in rows)
    assert {nothing[key] for key in keys - {"part"}} == {None}
    assert (red["name"], red["color"], red["source"], red["delta_e00"]) == (
        "Oda's berry",
        "#cd1e23",
        "stock",
        1.23,
    )
    assert red["second"] == {
        "name": "corn",
        "color": "#fac828",
        "finish": "matte",
        "source": "table",
        "delta_e00": 44.44,
    }
    assert yellow["second"] is None


def test_it_is_plain_json_and_the_same_twice(report):
    text = json.dumps(report, allow_nan=False)
    assert json.loads(text) == report
    assert text == json.dumps(report_mapping(kite(), {"numpy": "2.4", "shapely": "2.2"}), allow_nan=False)


def test_size_and_heights_are_those_of_the_piece(report):
    low_x, low_y, high_x, high_y = kite().plan.base.bounds
    expected = (high_x - low_x, high_y - low_y, BASE + MOTIF)
    assert report["size_mm"] == pytest.approx(expected, abs=6e-4)  # rounded to 1 um
    heights = [part["z_mm"] for part in report["parts"]]
    assert heights == [[0.0, BASE], [BASE, BASE + MOTIF], [BASE, BASE + MOTIF]]


def test_volume_is_area_times_height_and_mass_follows_from_density(report):
    for part, slab in zip(report["parts"], kite().stack.slabs, strict=True):
        volume = slab.polygon.area * (slab.top - slab.bottom_mm)
        assert part["volume_mm3"] == pytest.approx(volume, abs=6e-4)
        assert part["mass_g"] == pytest.approx(volume * DENSITY / 1000, abs=6e-4)


def test_a_color_change_names_the_first_layer_in_the_new_color(report):
    change = report["color_changes"][0]
    assert change == {"layer": round(BASE / LAYER) + 1, "z_mm": BASE, "color": "#d32020"}


def test_findings_come_gravest_first(report):
    assert [item["severity"] for item in report["findings"]] == ["stop", "warn", "note"]
    assert report["findings"][0]["at_mm"] is None
    assert report["findings"][1]["at_mm"] == [-8.0, 13.0, 2.6]


def test_a_part_with_a_missing_or_turned_triangle_is_not_watertight():
    job = kite()
    assert all(part["watertight"] for part in report_mapping(job, {})["parts"])
    for spoil in (lambda t: t[:-1], lambda t: np.concatenate([t[:-1], t[-1:, ::-1]])):
        base = replace(job.parts[0], triangles=spoil(job.parts[0].triangles))
        spoiled = report_mapping(replace(job, parts=(base, *job.parts[1:])), {})
        assert [part["watertight"] for part in spoiled["parts"]] == [False, True, True]


def test_without_a_hole_the_report_says_null():
    job = kite()
    assert report_mapping(replace(job, plan=replace(job.plan, hole=None)), {})["hole"] is None


def test_negative_zero_is_written_as_zero():
    job = kite()
    hole = replace(job.plan.hole, center_mm=(-0.0, -1e-9))
    report = report_mapping(replace(job, plan=replace(job.plan, hole=hole)), {})
    assert "-0.0" not in json.dumps(report["hole"]["center_mm"])


def test_what_the_picture_was_taken_for_is_in_the_report_and_on_the_sheet_where_it_is_no_drawing():
    job = kite()
    assert report_mapping(job, {})["artwork_kind"] is None  # a kept plan, without its picture
    for kind, words in (("flat", ""), ("screenshot", "taken for a screenshot")):
        taken = replace(job, artwork_kind=kind)
        assert report_mapping(taken, {})["artwork_kind"] == kind
        page = sheet_html(taken, proof_png=b"").decode()
        assert words in page
        assert ("taken for" in page) == bool(words)
