"""What holds a piece, on proof and sheet: each kind drawn where it is, said in words that fit it."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
import shapely
from PIL import Image

from reliefsmith.documents import holders as hardware
from reliefsmith.documents.canvas import Canvas
from reliefsmith.documents.cautions import caution_words
from reliefsmith.documents.cutaway import cut
from reliefsmith.documents.holders import bail_mm, draw_bail, draw_hardware, hardware_named, hardware_of
from reliefsmith.documents.legend import legend
from reliefsmith.documents.proof.fixtures import draw_fixtures, draw_screws
from reliefsmith.documents.proof.hanging_figure import pivot_of, plumb_angle_deg
from reliefsmith.documents.proof.proof import proof_png
from reliefsmith.documents.proof.section_figure import draw_section
from reliefsmith.documents.report import report_mapping
from reliefsmith.documents.sheet.holding import fitting_items, hardware_section
from reliefsmith.documents.sheet.sheet import sheet_html
from reliefsmith.documents.wording import hang_words
from reliefsmith.model import Hole, Pocket, Slab, Stack
from reliefsmith.polygons.cover import View

from ..jobs import kite, order_recipe
from ..pages import Page

VIEW = View(-30, 60, 10.0, (600, 1000))


def held(kind, *, count=1, **values):
    """Return the kite job with a plan that hangs by `count` of a kind."""
    job = kite(recipe=order_recipe(**{"hang.hardware": kind, "hang.holes": count, **values}))
    first = job.plan.hole
    if kind in ("magnet", "pin", "tape"):
        shape = shapely.Point(6, 4).buffer(4.075) if kind == "magnet" else shapely.box(-12, 2, 12, 7)
        plan = replace(job.plan, hole=None, pockets=(Pocket(kind, shape, 1.2, "back"),))
        return replace(job, plan=plan)
    slots = {"strap": (11.0, 3.0), "ribbon": (23.0, 2.5)}
    first = replace(first, hardware=kind, slot_mm=slots.get(kind))
    places = [(21.2, 37.6), (1.2, 7.6), (21.2, 7.6)][: count - 1]
    others = tuple(replace(first, center_mm=(x, y), rest_mm=(x, y + 2.5)) for x, y in places)
    return replace(job, plan=replace(job.plan, hole=first, other_holes=others))


def pixels(picture):
    rows, columns = np.nonzero(np.asarray(picture)[..., 3] > 128)
    return columns / 10.0 - 30, 60 - rows / 10.0


@pytest.mark.parametrize(
    ("kind", "count"),
    [
        ("strap", 1),
        ("screw", 1),
        ("screw", 2),
        ("cord", 2),
        ("ball-chain", 2),
        ("jump-ring", 2),
        ("strap", 2),
        ("ribbon", 1),
        ("screw", 4),
    ],
)
def test_every_hardware_has_a_proof(kind, count):
    assert Image.open(BytesIO(proof_png(held(kind, count=count)))).size == (2480, 3508)


def test_the_piece_turns_until_its_center_of_mass_is_plumb(job):
    angle = plumb_angle_deg(job.plan)
    turned = shapely.affinity.rotate(
        shapely.Point(job.plan.center_of_mass_mm), angle, origin=job.plan.hole.rest_mm
    )
    assert turned.x == pytest.approx(job.plan.hole.rest_mm[0], abs=1e-9)
    assert turned.y < job.plan.hole.rest_mm[1]
    right = replace(
        job.plan, center_of_mass_mm=(5.0, 0.0), hole=Hole((0, 0), 4, 3, 90.0, "inside", (0.0, 0.0))
    )
    assert plumb_angle_deg(right) == pytest.approx(-90.0)


@pytest.mark.parametrize("kind", ["magnet", "pin", "tape"])
def test_what_lies_in_pockets_is_drawn_mirrored_in_its_size(kind):
    job = held(kind)
    assert Image.open(BytesIO(proof_png(job))).size == (2480, 3508)
    x, y = pixels(draw_fixtures(hardware_of(job), job.plan.pockets, VIEW))
    middle = job.plan.pockets[0].polygon.centroid
    width = {"magnet": 8.0, "pin": 25.0, "tape": 40.0}[kind]
    assert (x.min() + x.max()) / 2 == pytest.approx(-middle.x, abs=0.15)
    assert (y.min() + y.max()) / 2 == pytest.approx(middle.y, abs=0.15)
    assert x.max() - x.min() == pytest.approx(width, abs=0.2)


def test_screw_heads_are_drawn_as_wide_as_they_are():
    screw = hardware_of(held("screw"))
    assert screw.size_mm == (4.0, 8.4)
    x, y = pixels(draw_screws(screw, [(0.0, 20.0)], VIEW))
    assert x.max() - x.min() == pytest.approx(8.4, abs=0.2)
    assert (y.min() + y.max()) / 2 == pytest.approx(20.0, abs=0.1)


def test_a_strap_is_as_wide_as_it_is_and_goes_up_from_its_slot():
    strap = hardware_named("strap")
    behind, before = draw_hardware(strap, (0.0, 10.0), VIEW)
    for picture in (behind, before):
        x, y = pixels(picture)
        assert x.max() - x.min() == pytest.approx(10.0, abs=0.2)
        assert y.min() == pytest.approx(9.5, abs=0.2)


def test_a_cord_goes_from_one_hole_to_the_other_by_a_knot_midway_above():
    cord, rests = hardware_named("cord"), [(-10.0, 10.0), (14.0, 10.0)]
    _, before = draw_bail(cord, rests, VIEW)
    x, y = pixels(before)
    top = y.argmax()
    assert x[top] == pytest.approx(2.0, abs=cord.wire_mm)
    assert y.max() == pytest.approx(10 + bail_mm(cord, rests) + 1.5 * cord.wire_mm, abs=0.2)
    assert x.min() == pytest.approx(-10 - cord.wire_mm / 2, abs=0.6)


def test_a_piece_on_two_holes_turns_about_their_middle_and_on_two_screws_not_at_all():
    cord = held("cord", count=2)
    assert pivot_of(cord.plan) == pytest.approx(((1.2 + 21.2) / 2, 40.1))
    assert abs(plumb_angle_deg(cord.plan)) > 5.0  # the balance is not below the middle of these two
    assert plumb_angle_deg(held("screw", count=2).plan) == 0.0


@pytest.mark.parametrize(
    ("kind", "count", "section", "fitting", "heading"),
    [
        ("strap", 1, "Slot 11.0 × 3.0 mm", "Pass the strap", "slot 11.0 × 3.0 mm"),
        ("screw", 1, "Held by one screw", "countersink bit", "screw hole 5.0 mm"),
        ("screw", 2, "Drill the wall 20.0 mm apart, level", "anchors", "2 screw holes 5.0 mm"),
        (
            *("screw", 4, "Drill the wall 20.0 mm apart, level, and 20.0 mm apart 30.0 mm below."),
            *("anchors", "4 screw holes 5.0 mm"),
        ),
        ("ribbon", 1, "Slot 23.0 × 2.5 mm", "Pass the ribbon", "slot 23.0 × 2.5 mm"),
        ("tape", 1, "a strip of adhesive tape of 40 x 9 mm", "liners", "adhesive tape in the back"),
        ("cord", 2, "Two holes on one level", "Pass the cord", "2 holes 5.0 mm"),
        ("magnet", 1, "A pocket in the back for a magnet of 8 x 1 mm", "poles", "magnet in the back"),
        ("pin", 1, "brooch pin with a bar of 25 x 5 mm", "needle", "brooch pin in the back"),
    ],
)
def test_the_words_fit_the_hardware(kind, count, section, fitting, heading):
    job = held(kind, count=count)
    hardware = hardware_of(job)
    assert section in hardware_section(job, hardware)
    assert fitting in " ".join(fitting_items(hardware))
    assert hang_words(job).startswith(heading)


def test_sizes_of_the_recipe_are_said_and_drawn():
    magnet = hardware_of(held("magnet", **{"hang.magnet_mm": [6.0, 2.0]}))
    assert (magnet.words, magnet.size_mm) == ("magnet of 6 x 2 mm", (6.0, 2.0))
    pin = hardware_of(held("pin", **{"hang.pin_mm": [30.0, 6.0]}))
    assert pin.size_mm == (30.0, 6.0, 0.8)
    strap = hardware_of(held("strap", **{"hang.slot_mm": [16.0, 3.0]}))
    assert strap.words == "strap of 15 mm"
    ribbon = hardware_of(held("ribbon", **{"hang.slot_mm": [7.0, 2.5]}))
    assert ribbon.words == "ribbon of 6 mm"
    tape = hardware_of(held("tape", **{"hang.tape_mm": [12.0, 60.0]}))
    assert (tape.words, tape.size_mm) == ("strip of adhesive tape of 60 x 12 mm", (60.0, 12.0, 0.6))


def test_the_report_keeps_the_shape_of_the_first_hole_and_lists_all():
    report = report_mapping(held("cord", count=2), {})
    assert list(report["hole"]) == [
        *("center_mm", "diameter_mm", "wall_mm", "hang_angle_deg", "origin", "rest_mm"),
    ]
    assert [item["center_mm"][0] for item in report["holes"]] == [1.2, 21.2]
    report = report_mapping(held("magnet"), {})
    assert (report["hole"], report["holes"]) == (None, [])
    (pocket,) = report["pockets"]
    assert pocket["center_mm"] == [6.0, 4.0]
    assert pocket["side"] == "back"


def test_a_plan_of_the_first_version_takes_its_hardware_from_the_recipe():
    job = kite(recipe=order_recipe(**{"hang.hardware": "ball-chain"}))
    assert job.plan.hole == Hole((1.2, 37.6), 5.0, 2.5, 1.6, "eyelet", (1.2, 40.1))
    assert hardware_of(job).kind == "ball-chain"
    assert hardware_of(kite()).kind == "split-ring"  # "auto" is the first of the table


def test_steps_of_a_part_on_each_other_have_one_number_and_equal_ones_are_one_stretch(monkeypatch):
    said: list[str] = []
    monkeypatch.setattr(Canvas, "text", lambda _self, _at, text, **_: said.append(text) or 1.0)
    plate = shapely.box(-20, -10, 20, 10)
    holes = [shapely.Point(0, 0).buffer(radius) for radius in (2.0, 2.0, 2.4, 2.8)]
    heights = (0.0, 1.0, 2.0, 3.0, 4.0)
    slabs = tuple(
        Slab("base", "base", (20, 33, 61), plate.difference(hole), low, high)
        for hole, low, high in zip(holes, heights[:-1], heights[1:], strict=True)
    )
    section = cut(Stack(slabs, heights[1:], (), True))
    assert len(section.bands) == 2 * 3  # left and right of the hole; the two alike are one
    entries = legend(held("screw"))
    draw_section(Canvas(200, 120), (0, 0), (200, 120), section, entries=entries, layer_tops_mm=heights[1:])
    assert said.count("1") == 2


KINDS = {"split-ring", "jump-ring", "ball-chain", "cord", "strap", "ribbon", "screw", "magnet", "pin", "tape"}
COUNTS = {"split-ring": (1, 2), "jump-ring": (1, 2), "ball-chain": (1, 2), "cord": (1, 2), "screw": (1, 2, 4)}
OWN_WORDS = {
    "ring": {"split-ring", "jump-ring"},
    "chain": {"ball-chain"},
    "cord": {"cord"},
    "strap": {"strap"},
    "ribbon": {"ribbon"},
    "tape": {"tape"},
    "screw": {"screw"},
    "magnet": {"magnet"},
    "pin": {"pin"},
    "eyelet": KINDS - {"magnet", "pin", "tape"},
    "epoxy": {"magnet", "pin"},
    "eye protection": {"screw"},
    "medical help at once": {"magnet"},
    "sharp point": {"pin"},
}
"""Words that the pages may use only of a piece that has the thing, and must use of one that has it."""


def test_all_kinds_of_the_table_are_tried():
    assert set(hardware._table()) == KINDS


@pytest.mark.parametrize("audience", ["adults", "children"])
@pytest.mark.parametrize(
    ("kind", "count"), [(kind, n) for kind in sorted(KINDS) for n in COUNTS.get(kind, (1,))]
)
def test_pages_speak_of_what_the_piece_has_and_of_nothing_else(kind, count, audience):
    job = held(kind, count=count, audience=audience)
    job = replace(job, plan=replace(job.plan, notes=()))  # they tell of the eyelet of the kite as it was
    pages = {"sheet": Page(sheet_html(job, proof_png=b"")).text()}
    pages["proof"] = caution_words(job, hardware_of(job))
    for word, kinds in OWN_WORDS.items():
        found = {page for page, text in pages.items() if re.search(rf"\b{word}s?\b", text)}
        assert not found or kind in kinds, (word, found)
        assert kind not in kinds or "sheet" in found, word


def test_a_piece_that_hangs_on_nothing_speaks_of_no_hardware():
    job = kite(recipe=order_recipe(**{"hang.hardware": "none"}))
    job = replace(job, plan=replace(job.plan, hole=None, pockets=(), notes=()))
    text = Page(sheet_html(job, proof_png=b"")).text() + caution_words(job, None)
    for word in OWN_WORDS:
        assert not re.search(rf"\b{word}s?\b", text), word


@pytest.mark.parametrize(("kind", "words"), [("ball-chain", "balls of up to 4.6"), ("cord", "of up to 2.2")])
def test_what_passes_a_hole_is_reckoned_by_the_turns_and_the_play_of_its_row(kind, words):
    job = held(kind)  # a hole of 5.0 mm: balls one by one with 0.4 mm play, cord doubled with 0.5 mm
    assert f"{words} mm, free to swing" in hardware_section(job, hardware_of(job))
