"""The artwork by number: every number once, at its place, no larger than the place where it stands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reliefsmith.documents.sheet.numbered import numbered_areas
from reliefsmith.model.areas import NumberedArea

from ..pages import Page

RED = (211, 32, 32)


def _numbers(job, *areas: NumberedArea) -> list[tuple[str, float, float, float]]:
    """Each number with its x, its middle's y upward, and its size."""
    page = Page(numbered_areas(replace(job.areas, numbered=areas)).encode())
    texts = [data for tag, data in page.texts if tag == "text"]
    places = [(float(item["x"]), float(item["y"]), float(item["font-size"])) for item in page.all("text")]
    return [(text, x, 0.36 * size - y, size) for text, (x, y, size) in zip(texts, places, strict=True)]


def test_numbers_stand_in_the_widest_place_of_their_area(job) -> None:
    areas = (NumberedArea(RED, (3.0, 8.0), 0.5, 90.0), NumberedArea(RED, (-4.0, -9.5), 0.3, 9.0))
    found = _numbers(job, *areas)
    assert [text for text, *_ in found] == ["1", "2"]
    for (_, x, y, _), area in zip(found, areas, strict=True):
        assert (x, y) == pytest.approx(area.at_mm, abs=2e-3)


def test_a_number_fits_into_its_circle_and_has_a_largest_size(job) -> None:
    """Digits are 0.6 as wide and 0.72 as high as their size: the diagonal is no longer than the diameter."""
    areas = [NumberedArea(RED, (0.0, 0.0), radius, 9.0) for radius in (0.1, 0.4, 9.0)] * 4
    found = _numbers(job, *areas)
    most = 0.03 * max(job.areas.size_mm)
    for (text, _, _, size), area in zip(found, areas, strict=True):
        assert size <= most + 1e-3
        wide, high = 0.6 * size * len(text), 0.72 * size
        assert (wide**2 + high**2) ** 0.5 <= 2 * area.radius_mm + 1e-2
    assert max(size for *_, size in found) == pytest.approx(most, abs=1e-3)


def test_all_areas_are_drawn_in_their_colors_within_the_view(job) -> None:
    page = Page(numbered_areas(job.areas).encode())
    assert [item["fill"] for item in page.all("path")] == ["#d32020", "#f7c923"]
    left, top, wide, high = (float(value) for value in page.all("svg")[0]["viewbox"].split())
    width, height = job.areas.size_mm
    assert left < -width / 2
    assert top < -height / 2
    assert (left + wide, top + high) == pytest.approx((-left, -top), abs=0.02)
    assert "The artwork by number: 0 areas" in page.text()
