"""Numbers in words, said once for all pages: sizes of the piece, layers, scales, how it hangs."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from reliefsmith.documents.legend import LegendEntry
from reliefsmith.documents.wording import (
    hang_words,
    height_words,
    layer_words,
    mm,
    plumb_words,
    pocket_words,
    row_words,
    scale_words,
    size_words,
)
from reliefsmith.model import Hole, Pocket

from .jobs import BASE, MOTIF

HOLE = Hole((0.0, 10.0), 5.0, 2.5, 0.4, "inside", (0.0, 12.5))


@pytest.mark.parametrize(
    ("value", "decimals", "words"), [(-0.04, 1, "0.0"), (0.05, 1, "0.1"), (12, 0, "12"), (2.345, 2, "2.35")]
)
def test_lengths_have_their_decimals_and_no_minus_before_a_nought(
    value: float, decimals: int, words: str
) -> None:
    found = mm(value, decimals)
    assert abs(float(found) - value) <= 0.5 * 10**-decimals + 1e-9
    assert not found.startswith("-")
    assert len(found.partition(".")[2]) == decimals == len(words.partition(".")[2])


def test_the_size_is_that_of_all_solids_or_of_the_finished_piece(job) -> None:
    low_x, low_y, high_x, high_y = job.plan.base.bounds
    assert size_words(job) == f"{mm(high_x - low_x)} × {mm(high_y - low_y)} × {mm(BASE + MOTIF)} mm"
    whole = replace(job.stack.slabs[0], polygon=shapely.box(0, 0, 10, 20), top=3.0)
    turned = replace(job, stack=replace(job.stack, piece=(whole,)))
    assert size_words(turned) == "10.0 × 20.0 × 3.0 mm"


def _entry(layers: tuple[int, int]) -> LegendEntry:
    return LegendEntry(2, "red", "motif", (211, 32, 32), (2.0, 2.6), layers)


def test_one_layer_is_told_as_one() -> None:
    assert layer_words(_entry((3, 3))) == "layer 3"
    assert layer_words(_entry((3, 4))) == "layers 3–4"
    assert height_words(_entry((3, 4))) == "2.0–2.6 mm"


@pytest.mark.parametrize(
    ("scale", "words"),
    [(1 / 1.5, "drawn at 1 : 1.5"), (1 / 7.5, "drawn at 1 : 7.5"), (1.5, "drawn 1.5 times as large")],
)
def test_a_scale_is_told_the_way_round_that_is_easily_said(scale: float, words: str) -> None:
    assert scale_words(scale) == words


def _hung(job, *holes: Hole, pockets: tuple[Pocket, ...] = ()) -> str:
    first, *others = holes or (None,)
    plan = replace(job.plan, hole=first, other_holes=tuple(others), pockets=pockets)
    return hang_words(replace(job, plan=plan))


def test_holes_are_counted_with_their_least_wall(job) -> None:
    assert _hung(job, HOLE) == "hole 5.0 mm, wall 2.5 mm, hangs plumb"
    thin = replace(HOLE, wall_mm=1.9)
    assert _hung(job, HOLE, thin) == "2 holes 5.0 mm, wall 1.9 mm, hangs plumb"
    assert _hung(job, replace(HOLE, slot_mm=(11.0, 3.0))) == "slot 11.0 × 3.0 mm, wall 2.5 mm, hangs plumb"


def test_a_piece_on_several_screws_does_not_hang(job) -> None:
    screw = replace(HOLE, hardware="screw", hang_angle_deg=7.0)
    assert _hung(job, screw) == "screw hole 5.0 mm, wall 2.5 mm, hangs 7° off plumb"
    assert _hung(job, screw, screw) == "2 screw holes 5.0 mm, wall 2.5 mm"


@pytest.mark.parametrize(
    ("angle", "words"), [(0.0, "hangs plumb"), (0.49, "hangs plumb"), (0.51, "hangs 1° off plumb")]
)
def test_less_than_half_a_degree_is_plumb(angle: float, words: str) -> None:
    assert plumb_words(replace(HOLE, hang_angle_deg=angle)) == words


@pytest.mark.parametrize(
    ("kinds", "words"),
    [
        (["magnet"], "magnet in the back"),
        (["magnet", "magnet"], "2 magnets in the back"),
        (["pin"], "brooch pin in the back"),
        (["tape", "tape"], "adhesive tape in the back"),
        ([], ""),
    ],
)
def test_pockets_of_the_back_say_what_they_hold(job, kinds: list, words: str) -> None:
    pockets = tuple(Pocket(kind, shapely.box(0, 0, 9, 9), 1.0, "back") for kind in kinds)
    front = Pocket("picture", shapely.box(0, 0, 9, 9), 1.0, "front")
    assert pocket_words(replace(job, plan=replace(job.plan, pockets=(*pockets, front)))) == words
    assert _hung(job, pockets=pockets) == (words or "no hanging hole")


def test_a_row_is_called_by_its_number_and_a_set_by_its_name() -> None:
    assert [row_words(name) for name in ("7", "7-2", "kite")] == ["Row 7", "7-2", "kite"]
