"""Before and after: windows on what a customer sees changed, of every kind, none over another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from reliefsmith.documents.canvas import HAIR
from reliefsmith.documents.proof.beforeafter import (
    LEAST_WINDOW_MM,
    MOST_WINDOW_MM,
    REPAIR_CODES,
    pair_pictures,
    repairs,
)
from reliefsmith.documents.views import Face, front_face
from reliefsmith.findings import CODES, note
from reliefsmith.model import Frame, Plan

from ..jobs import YELLOW


def test_repairs_show_the_drawing_before_and_after(job):
    chosen = repairs(job.notes, front_face(job.stack), job.plan, most=2)
    assert [item.note.code for item in chosen] == ["stroke-thickened"]
    before, after = pair_pictures(chosen[0], job.plan, front_face(job.stack), 80, (255, 255, 255))
    yellow = [(np.asarray(item).astype(int) - YELLOW == 0).all(axis=2).mean() for item in (before, after)]
    window = shapely.Point(chosen[0].at_mm).buffer(chosen[0].window_mm / 2, cap_style="square")
    expected = [
        shape.intersection(window).area / window.area
        for shape in (job.plan.areas[1], job.plan.motifs[1].polygon)
    ]
    assert yellow == pytest.approx(expected, abs=0.06)  # edge pixels are mixed
    assert yellow[1] > yellow[0]


def test_white_on_white_is_seen_before_and_after(job):
    white, paper = (255, 255, 255), (254, 254, 252)
    chosen = repairs(job.notes, front_face(job.stack), job.plan, most=1)[0]
    face = replace(front_face(job.stack), colors=(white,) * len(front_face(job.stack).colors))
    plan = replace(job.plan, area_colors=(white,) * len(job.plan.areas))
    for picture in pair_pictures(chosen, plan, face, 80, paper):
        pixels = np.asarray(picture).astype(int)
        grey = (np.abs(pixels - HAIR) <= 1).all(axis=2).mean()
        line = (pixels.max(axis=2) < min(HAIR) - 20).mean()
        assert 0.02 < line < 0.3
        assert grey > 0.05 or (pixels == white).all(axis=2).mean() + line > 0.95  # ground, or base all over
    apart = pair_pictures(chosen, job.plan, front_face(job.stack), 80, paper)[0]
    darkest = min(sum(color) for color in (*job.plan.area_colors, paper))
    assert np.asarray(apart).sum(axis=2).min() >= darkest - 3  # colors that differ get no ink


def test_repairs_are_chosen_by_what_is_seen_apart_and_of_every_kind(job):
    ribbon, sail = (0.5, -34.0), (8.0, 0.0)  # nothing changed near the second
    notes = [note("stroke-thickened", "unseen", sail, 2.0), note("stroke-thickened", "ribbon", ribbon, 0.4)]
    notes += [note("stroke-thickened", "beside", (0.7, -33.8), 0.3), note("heights-snapped", "no place")]
    chosen = repairs(notes, front_face(job.stack), job.plan, most=3)
    assert len(chosen) == 1
    assert chosen[0].note.message in {"ribbon", "beside"}
    both = [*notes, note("gap-closed", "tail", (1.0, -42.0), 0.2)]
    kinds = [item.note.code for item in repairs(both, front_face(job.stack), job.plan, most=2)]
    assert sorted(kinds) == ["gap-closed", "stroke-thickened"]


BASE, INK = (240, 240, 240), (200, 30, 30)
PLATE = shapely.box(-60, -20, 60, 20)


def _changed(*places: tuple[float, float, float]) -> tuple[Face, Plan]:
    """A piece whose motif has a square more than the drawing at each place: x, y, side."""
    more = shapely.union_all(
        [shapely.box(x - side / 2, y - side / 2, x + side / 2, y + side / 2) for x, y, side in places]
    )
    motif = shapely.MultiPolygon(list(shapely.get_parts(more)))
    face = Face((PLATE, motif), (PLATE.difference(motif), motif), (0, 1), (BASE, INK), (2.0, 2.6))
    frame = Frame(0.1, (600.0, 200.0), 0.0, (1200, 400))
    plan = Plan(PLATE, BASE, True, (), (shapely.MultiPolygon(),), (INK,), frame, (120.0, 40.0))
    return face, plan


def test_codes_that_are_shown_are_codes() -> None:
    assert set(REPAIR_CODES) <= set(CODES)
    assert len(REPAIR_CODES) == len(set(REPAIR_CODES))


@pytest.mark.parametrize(("size", "side"), [(None, 8.0), (0.5, 8.0), (4.0, 16.0), (30.0, 24.0)])
def test_a_window_is_four_times_as_wide_as_its_change_within_bounds(size: float | None, side: float) -> None:
    face, plan = _changed((0, 0, 3))
    (found,) = repairs([note("gap-closed", "a", (0.0, 0.0), size)], face, plan, most=3)
    assert found.window_mm == side
    assert LEAST_WINDOW_MM <= side <= MOST_WINDOW_MM


def test_the_most_seen_comes_first_and_no_window_holds_anothers_middle() -> None:
    face, plan = _changed((-40, 0, 2), (0, 0, 5), (3, 0, 1), (40, 0, 4))
    places = (-40.0, 0.0, 3.0, 40.0)
    notes = [note("gap-closed", str(x), (x, 0.0), 1.0) for x in places]
    assert [item.note.message for item in repairs(notes, face, plan, most=4)] == ["0.0", "40.0", "-40.0"]
    assert [item.note.message for item in repairs(notes, face, plan, most=1)] == ["0.0"]


def test_a_rarer_kind_is_shown_before_a_second_of_one() -> None:
    face, plan = _changed((-40, 0, 2), (0, 0, 5), (40, 0, 4))
    notes = [
        note("gap-closed", "a", (0.0, 0.0)),
        note("gap-closed", "b", (40.0, 0.0)),
        note("link-added", "c", (-40.0, 0.0)),
    ]
    assert {item.note.message for item in repairs(notes, face, plan, most=2)} == {"a", "c"}


def test_what_is_not_seen_is_left_out_unless_nothing_is() -> None:
    face, plan = _changed((0, 0, 3))
    unseen = note("gap-closed", "unseen", (40.0, 0.0))
    seen = note("gap-closed", "seen", (0.0, 0.0))
    assert [item.note.message for item in repairs([unseen, seen], face, plan, most=3)] == ["seen"]
    assert [item.note.message for item in repairs([unseen], face, plan, most=3)] == ["unseen"]
    assert (
        repairs(
            [note("heights-snapped", "x", (0.0, 0.0)), note("gap-closed", "no place")], face, plan, most=3
        )
        == ()
    )


def test_both_pictures_show_the_same_window() -> None:
    face, plan = _changed((0, 0, 4))
    (found,) = repairs([note("gap-closed", "a", (0.0, 0.0))], face, plan, most=1)
    before, after = (np.asarray(item) for item in pair_pictures(found, plan, face, 80, (254, 254, 252)))
    assert before.shape == after.shape == (80, 80, 3)
    assert (before == before[0, 0]).all()  # nothing was drawn there
    side = (np.abs(after[40].astype(int) - INK) <= 2).all(axis=1).sum() / 80 * found.window_mm
    assert side == pytest.approx(4, abs=0.25)
