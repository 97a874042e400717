"""The printing half of the sheet: settings that heights depend on, colors, how parts are loaded."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.printing import color_section, loading_section, settings_section
from reliefsmith.model import Division, Segment

from ..jobs import with_stock
from ..pages import Page


def _said(section, job) -> str:
    return Page(section(job, legend(job)).encode()).text()


def test_settings_are_those_that_the_piece_was_planned_with(job) -> None:
    recipe = job.recipe.with_values(
        {"heights.first_layer_mm": 0.25, "heights.layer_mm": 0.15, "printer.nozzle_mm": 0.6}
    )
    text = _said(settings_section, replace(job, recipe=recipe))
    for words in (
        "First layer 0.25 mm",
        "Layer height 0.15 mm, the same",
        "Line width 0.60 mm",
        "Layers 13, 2.60 mm in all",
    ):
        assert words in text


def test_two_plates_are_counted_apart(job) -> None:
    stack = replace(job.stack, back_at_mm=(60.0, 0.0), jobs=(("base",), ("red", "yellow")))
    text = _said(settings_section, replace(job, stack=stack))
    assert "front plate 10, 2.00 mm; back plate 13, 2.60 mm" in text
    assert "in all" not in text


def test_colors_stand_with_heights_layers_and_mass(job) -> None:
    text = _said(color_section, job)
    mass = job.inspection.estimate.mass_g["red"]
    assert f"2 red #d32020 2.0–2.6 mm layers 11–13 {mass:.2f} g" in text
    assert "Load" not in [
        data for tag, data in Page(color_section(job, legend(job)).encode()).texts if tag == "th"
    ]


@pytest.mark.parametrize(("loaded", "first"), [(1, "changed by hand"), (4, "With several filaments")])
def test_the_way_of_the_printer_at_hand_comes_first(job, loaded: int, first: str) -> None:
    recipe = job.recipe.with_values({"printer.filaments": loaded})
    text = _said(color_section, replace(job, recipe=recipe))
    places = [text.index(words) for words in ("changed by hand", "With several filaments")]
    assert text.index(first) == min(places)


def test_prints_one_after_another_have_their_own_plan(job) -> None:
    jobs = replace(job, stack=replace(job.stack, jobs=(("red",), ("yellow",), ("base",))))
    text = _said(color_section, jobs)
    assert "With one filament, print after print" in text
    assert "changed by hand" not in text


def test_filaments_are_named_with_what_they_are_off_and_the_second_best(job) -> None:
    text = _said(color_section, with_stock(job))
    for words in (
        "nothing in stock",
        "Oda's berry (difference 1.2); else corn (44.4)",
        "corn (difference 2.3, not in stock)",
    ):
        assert words in text
    assert "Oda's berry" not in _said(color_section, with_stock(job, asked=False))


def test_parts_are_loaded_by_their_files(job) -> None:
    text = _said(loading_section, job)
    assert "kite.3mf : one object" in text
    assert "kite-base.stl, kite-red.stl, kite-yellow.stl together" in text
    assert "motifs begin above the base" in text


def test_a_cut_piece_is_loaded_by_its_plates(job) -> None:
    segments = tuple(
        Segment(n, shapely.box(0, 0, 1, 1), shapely.MultiPolygon(), n, 0.0, (0.0, 0.0)) for n in (1, 2)
    )
    cut = replace(job, plan=replace(job.plan, division=Division(shapely.box(0, 0, 2, 1), segments, 0.2)))
    text = _said(loading_section, cut)
    assert "kite-plate-1.3mf, kite-plate-2.3mf" in text
    assert "one object, its parts" not in text


def test_what_lies_face_down_fits_only_as_it_lies(job) -> None:
    turned = replace(job, stack=replace(job.stack, piece=job.stack.slabs))
    assert "they fit only as they lie" in _said(loading_section, turned)
