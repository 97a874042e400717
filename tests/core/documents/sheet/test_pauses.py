"""Changes of filament in words: by hand at a pause, or loaded at once, told by the layers of the stack."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reliefsmith.documents.legend import legend
from reliefsmith.documents.sheet.pauses import changes_by_hand, changes_loaded
from reliefsmith.model import ColorChange

from ..jobs import BASE, LAYER, NAVY, RED, YELLOW
from ..pages import Page


def _changed(job, *layers: tuple[int, tuple[int, int, int]], by_height: bool = True, **estimate):
    changes = tuple(ColorChange(layer, (layer - 1) * LAYER, color) for layer, color in layers)
    stack = replace(job.stack, color_changes=changes, by_height=by_height)
    inspection = replace(job.inspection, estimate=replace(job.inspection.estimate, **estimate))
    return replace(job, stack=stack, inspection=inspection)


def _said(section, result) -> str:
    return Page(section(result, legend(result)).encode()).text()


def test_a_change_by_hand_is_told_by_last_layer_top_and_pause(job) -> None:
    text = _said(changes_by_hand, _changed(job, (11, RED), (13, YELLOW)))
    last = round(BASE / LAYER)
    assert "Begin with navy." in text
    assert (
        f"Pause before layer {last + 1}. Layer {last} is the last in navy; its top is at {BASE:.2f} mm."
        in text
    )
    assert "Take out navy. Load red." in text
    assert (
        "Pause before layer 13. Layer 12 is the last in red; its top is at 2.40 mm. Take out red. Load yellow"
        in text
    )
    assert text.count("Pause before layer") == 2


def test_layers_of_several_colors_are_not_sold_as_one_pause(job) -> None:
    text = _said(changes_by_hand, _changed(job, (11, RED), (11, YELLOW), by_height=False, changes=6))
    assert "Some layers hold more than one color (2 red, 3 yellow): 6 changes in all" in text
    assert "Pause before layer" not in text


def test_one_color_has_no_change(job) -> None:
    text = _said(changes_by_hand, _changed(job))
    assert "One color from first to last: no change." in text
    assert "one color all through" in _said(changes_loaded, _changed(job))


@pytest.mark.parametrize(
    ("count", "words"),
    [(1, "at layer 2."), (3, "at layers 2, 3, 4."), (8, "at layers 2, 3, 4, 5, 6, 7 and 2 more.")],
)
def test_layers_at_which_colors_begin_are_named_and_many_counted(job, count: int, words: str) -> None:
    layers = [(2 + number, RED) for number in range(count)]
    assert words in _said(changes_loaded, _changed(job, *layers, *layers))


@pytest.mark.parametrize(
    ("purge", "words"),
    [(0.0, "nothing need be pushed through"), (1234.0, "About 1.23 cm³ are pushed through at 6")],
)
def test_what_is_pushed_through_is_told(job, purge: float, words: str) -> None:
    assert words in _said(changes_loaded, _changed(job, (11, RED), purge_mm3=purge, changes=6))


def test_filaments_of_one_color_are_loaded_once(job) -> None:
    assert "1 base (navy), 2 red, 3 yellow." in _said(changes_loaded, job)
    first, second, third = job.parts
    same = replace(job, parts=(first, second, replace(third, color=NAVY)))
    assert "1 base (navy), 2 red." in _said(changes_loaded, same)


def test_two_plates_are_printed_one_after_the_other(job) -> None:
    plates = replace(
        job,
        stack=replace(
            _changed(job, (11, RED)).stack, back_at_mm=(60.0, 0.0), jobs=(("base",), ("red", "yellow"))
        ),
    )
    for section in (changes_by_hand, changes_loaded):
        assert "Print the two plates one after the other" in _said(section, plates)
        assert "two plates" not in _said(section, job)
