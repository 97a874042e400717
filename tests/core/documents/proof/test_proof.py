"""The proof is one page in true size, the same bytes for the same job, and shows what the job says."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
import shapely
from PIL import Image
from scipy import ndimage

from reliefsmith.documents import canvas as canvas_module
from reliefsmith.documents.canvas import HAIR, PANEL, Canvas, legible
from reliefsmith.documents.cutaway import cut
from reliefsmith.documents.hatch import HATCHES, hatch_plane
from reliefsmith.documents.holders import draw_hardware, hardware_named
from reliefsmith.documents.legend import legend
from reliefsmith.documents.proof.beforeafter import pair_pictures, repairs
from reliefsmith.documents.proof.figures import draw_front, draw_key, fitting, front_room, key_room
from reliefsmith.documents.proof.hanging_figure import plumb_angle_deg
from reliefsmith.documents.proof.layout import GAP_MM, MARGIN_MM, PAGE_MM, lay_out
from reliefsmith.documents.proof.proof import proof_png, thumbnail_png
from reliefsmith.documents.sheet.sheet import sheet_html
from reliefsmith.documents.views import back_face, color_picture, front_face
from reliefsmith.findings import note
from reliefsmith.model import ColorChange, Hole, Slab, Stack
from reliefsmith.polygons.cover import View, coverage

from ..jobs import BASE, MOTIF, NAVY, RED, YELLOW, kite, order_recipe, with_stock

MM_PER_INCH = 25.4


@pytest.fixture(scope="module")
def job():
    return kite()


@pytest.fixture(scope="module")
def page(job):
    return Image.open(BytesIO(proof_png(job)))


def test_the_page_is_a4_at_300_dots_per_inch(page):
    width_mm, height_mm = (
        side / dpi * MM_PER_INCH for side, dpi in zip(page.size, page.info["dpi"], strict=True)
    )
    assert (width_mm, height_mm) == pytest.approx((210, 297), abs=0.1)  # ISO 216 A4, to a pixel


def test_the_same_job_gives_the_same_bytes(job):
    assert proof_png(job) == proof_png(kite())
    assert thumbnail_png(job) == thumbnail_png(kite())


def test_the_thumbnail_is_a_transparent_square_with_the_piece_inside(job):
    picture = np.asarray(Image.open(BytesIO(thumbnail_png(job))))
    assert picture.shape == (256, 256, 4)
    alpha = picture[..., 3]
    assert alpha[0].max() == alpha[-1].max() == alpha[:, 0].max() == alpha[:, -1].max() == 0
    low_x, low_y, high_x, high_y = job.plan.base.bounds
    scale = 256 / (max(high_x - low_x, high_y - low_y) * 1.04)
    assert alpha.sum() / 255 == pytest.approx(job.plan.base.area * scale**2, rel=0.01)


def test_the_front_is_drawn_in_true_size(job):
    page = Canvas(120, 140)
    face = front_face(job.stack)
    assert draw_front(page, (0, 0), (120, 140), face, 0.0) == 1.0
    pixels = np.asarray(page.image).astype(int)
    apart = np.abs(pixels - np.array(PANEL)).sum(axis=2) > 250  # the soft shadow stays below 180
    regions, _ = ndimage.label(apart)
    rows, columns = max(ndimage.find_objects(regions), key=lambda box: box[0].stop - box[0].start)
    low_x, low_y, high_x, high_y = job.plan.base.bounds
    sides = [(part.stop - part.start) / 300 * MM_PER_INCH for part in (columns, rows)]
    assert sides == pytest.approx((high_x - low_x, high_y - low_y), abs=0.13)  # a pixel and a half


def test_a_piece_that_does_not_fit_is_scaled_to_an_easily_said_scale():
    assert fitting((178.0, 307.0), (90.0, 110.0), 1.0) == 1 / 3
    assert fitting((10.0, 10.0), (90.0, 110.0), 2.0) == 2.0


@pytest.mark.parametrize("width", [9.0, 170.0])
def test_tiny_and_huge_pieces_have_a_proof(width):
    assert Image.open(BytesIO(proof_png(kite(width)))).size == (2480, 3508)


@pytest.mark.parametrize("kind", ["none", "jump-ring", "ball-chain", "cord"])
def test_every_hardware_has_a_proof(kind):
    job = kite(recipe=order_recipe(**{"hang.hardware": kind}))
    assert Image.open(BytesIO(proof_png(job))).size == (2480, 3508)


def test_a_job_without_hole_notes_findings_or_order_has_a_proof():
    job = kite(
        recipe=order_recipe(**{"order.title": "", "order.customer": "", "order.code": ""}), repaired=False
    )
    job = replace(job, plan=replace(job.plan, hole=None, center_of_mass_mm=None))
    assert Image.open(BytesIO(proof_png(job))).size == (2480, 3508)


def test_long_texts_of_the_order_are_wrapped_and_never_cut(monkeypatch):
    drawn: list[str] = []
    original = Canvas.text

    def spy(self, at, text, **options):
        drawn.append(text)
        return original(self, at, text, **options)

    monkeypatch.setattr(canvas_module.Canvas, "text", spy)
    title, customer, code = "Lantern " * 14 + "walk", "W" * 120, "M" * 40
    texts = {"order.title": title, "order.customer": customer, "order.code": code}
    proof_png(kite(recipe=order_recipe(**texts)))
    together = "".join(drawn).replace(" ", "")
    for text in (title, customer, code):
        assert text.replace(" ", "") in together


def test_the_back_is_the_mirrored_base_only(job):
    face = back_face(job.stack)
    view = View.around(face.bounds, 8.0)
    picture = np.asarray(color_picture(face, view)).astype(int)
    inside = picture[..., 3] == 255
    mask = 255 * coverage(shapely.transform(job.plan.base, lambda xy: xy * (-1, 1)), view)
    assert np.abs(picture[..., 3] - mask).max() <= 1
    inside = ndimage.binary_erosion(inside, iterations=8)  # 1 mm of lit and shaded rim left out
    nearest = [np.abs(picture[inside][:, :3] - np.array(color)).sum(axis=1) for color in (NAVY, RED, YELLOW)]
    assert (np.argmin(nearest, axis=0) == 0).all()


def test_no_two_hatches_look_alike():
    planes = [hatch_plane(hatch, (96, 96), 12.0) for hatch in HATCHES]
    for n, one in enumerate(planes):
        for other in planes[n + 1 :]:
            assert np.abs(one - other).mean() > 0.05


def test_the_ring_bears_at_the_resting_point_half_behind_half_before():
    ring = hardware_named("split-ring")
    view = View(-20, 40, 10.0, (400, 600))
    behind, before = (np.asarray(item)[..., 3] for item in draw_hardware(ring, (0.0, 0.0), view))
    rows, columns = np.nonzero(behind)
    assert (rows.max() + 1) / 10.0 == pytest.approx(40 + ring.wire_mm, abs=0.15)  # the wire's underside
    assert (columns.max() + 1 - columns.min()) / 10.0 == pytest.approx(ring.outer_mm, abs=0.2)
    assert np.nonzero(before)[1].max() / 10.0 < 20 + 1.0  # the front half stays to the left


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


def test_the_section_meets_every_part_and_its_heights_are_those_of_the_slabs(job):
    section = cut(job.stack)
    assert {band.part for band in section.bands} == {0, 1, 2}
    assert section.top_mm == pytest.approx(BASE + MOTIF)
    line = shapely.LineString([(-100, section.y_mm), (100, section.y_mm)])
    length = sum(band.profile[-1][0] - band.profile[0][0] for band in section.bands if band.part == 0)
    assert length == pytest.approx(job.plan.base.intersection(line).length, abs=1e-6)


def test_the_legend_counts_layers_from_one(job):
    assert [entry.layers for entry in legend(job)] == [(1, 10), (11, 13), (11, 13)]
    assert [entry.number for entry in legend(job)] == [1, 2, 3]


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


@pytest.mark.parametrize(
    "size",
    [(82.0, 22.0), (160.0, 45.0), (53.0, 99.0), (100.0, 119.0), (110.0, 40.0), (20.0, 20.0), (300.0, 200.0)],
)
@pytest.mark.parametrize("hangs", [True, False])
def test_boxes_of_the_page_stand_apart_and_inside_the_margins(size, hangs):
    places = lay_out(size, 42.0, 165.0, hangs=hangs)
    boxes = [places.front, places.back, places.key, places.section]
    boxes += [places.hanging] if places.hanging is not None else []
    shapes = [shapely.box(*item.at, item.at[0] + item.size[0], item.at[1] + item.size[1]) for item in boxes]
    frame = shapely.box(MARGIN_MM, 42.0, PAGE_MM[0] - MARGIN_MM, 207.0)
    assert len(boxes) == 4 + hangs
    assert all(frame.buffer(1e-6).contains(shape) for shape in shapes)
    for n, one in enumerate(shapes):
        assert all(one.distance(other) > GAP_MM - 1e-6 for other in shapes[n + 1 :])


def test_a_large_piece_keeps_its_true_size_beside_a_column():
    places = lay_out((100.0, 119.0), 42.0, 165.0, hangs=True)
    assert fitting((100.0, 119.0), front_room(places.front.size), 1.0) == 1.0


def test_a_tall_piece_shows_its_key_beside_the_front_larger_than_below_it():
    size = (53.0, 99.0)
    places = lay_out(size, 42.0, 165.0, hangs=True)
    assert fitting(size, front_room(places.front.size), 1.0) == 1.0
    assert fitting(size, key_room(places.key.size), 1.0) >= 1 / 2.5
    assert places.back.at[1] == places.key.at[1]  # side by side


def test_letters_that_the_font_lacks_become_boxes():
    assert legible("Oda Fennimore, größer") == "Oda Fennimore, größer"
    assert len(legible("李明")) == 2
    assert "李" not in legible("李明")


def test_stepped_levels_are_seen_from_the_highest_down():
    square, inner = shapely.box(0, 0, 20, 20), shapely.box(5, 5, 15, 15)
    slabs = (
        Slab("yellow", "motif", YELLOW, inner, 1.4, 1.8),
        Slab("base", "base", NAVY, square, 0.0, 1.0),
        Slab("red", "motif", RED, square, 1.0, 1.4),
    )
    stack = Stack(slabs, (1.0, 1.4, 1.8), (ColorChange(2, 1.0, RED),), by_height=True)
    picture = np.asarray(color_picture(front_face(stack), View.around(square.bounds, 10.0)))
    assert tuple(picture[100, 100, :3]) == YELLOW
    assert tuple(picture[20, 20, :3]) == RED


@pytest.mark.parametrize("draw", ["front", "key"])
def test_the_rulers_count_from_the_middle_of_the_artwork_as_marks_do(job, monkeypatch, draw):
    drawn: list[tuple[tuple[float, float], str, str]] = []
    original = Canvas.text

    def spy(self, at, text, **options):
        drawn.append((at, text, options.get("anchor", "")))
        return original(self, at, text, **options)

    monkeypatch.setattr(canvas_module.Canvas, "text", spy)
    page, face, size = Canvas(120, 140), front_face(job.stack), (120, 140)
    if draw == "front":
        draw_front(page, (0, 0), size, face, 0.0)
    else:
        draw_key(page, (0, 0), size, face, legend(job))
    level = {int(text): at[0] for at, text, anchor in drawn if anchor == "ms"}
    upright = {int(text): at[1] for at, text, anchor in drawn if anchor == "rm"}
    scale = (level[20] - level[0]) / 20
    assert min(level) < 0 < max(level)
    assert (upright[0] - upright[20]) / 20 == pytest.approx(scale)  # y upward
    # The ruler's 0 lies where the picture's own geometry puts the origin of the frame.
    pixels = np.asarray(page.image).astype(int)
    apart = np.abs(pixels - np.array(PANEL)).sum(axis=2) > 250
    regions, _ = ndimage.label(apart)
    rows, columns = max(
        ndimage.find_objects(regions),
        key=lambda box: (box[0].stop - box[0].start) * (box[1].stop - box[1].start),
    )
    if draw == "front":
        low_x, _, _, high_y = face.bounds
        px = page.px_per_mm
        assert level[0] == pytest.approx(columns.start / px - low_x * scale, abs=0.15)
        assert upright[0] == pytest.approx(rows.start / px + high_y * scale, abs=0.15)


def texts_of(monkeypatch, job) -> list[str]:
    drawn: list[str] = []
    original = Canvas.text

    def spy(self, at, text, **options):
        wide = original(self, at, text, **options)
        drawn.append(text)
        if options.get("anchor", "ls") == "ls":
            assert at[0] + wide <= PAGE_MM[0] - MARGIN_MM + 0.1, text
        return wide

    monkeypatch.setattr(canvas_module.Canvas, "text", spy)
    proof_png(job)
    return drawn


@pytest.mark.parametrize("hardware", ["split-ring", "screw", "ball-chain"])
@pytest.mark.parametrize("width", [30.0, 48.0, 60.0])
def test_no_text_of_a_usual_job_is_cut(monkeypatch, hardware, width):
    job = kite(width, recipe=order_recipe(**{"hang.hardware": hardware, "hang.holes": 2}))
    long = note("gap-closed", "A gap of 0.21 mm between red and yellow was closed over 3.4 mm, as it was"
                " too narrow for the nozzle to keep open, beside the tail.", (1.0, -20.0), 0.2)  # fmt: skip
    job = with_stock(replace(job, plan=replace(job.plan, notes=(*job.plan.notes, long))))
    assert not [text for text in texts_of(monkeypatch, job) if text.endswith("...")]


def test_proof_and_sheet_count_the_changes_alike(job, monkeypatch):
    more = tuple(note("gap-closed", f"gap {n}", (0.0, float(n)), 0.2) for n in range(5))
    many = replace(job, plan=replace(job.plan, notes=(*job.plan.notes, *more)))
    words = " ".join(texts_of(monkeypatch, many))
    assert "7 changes, all on the job sheet" in words
    sheet = sheet_html(many, proof_png=b"").decode()
    assert "7 changes made to the drawing" in sheet
    assert "All 7 changes, one by one" in sheet


def test_the_panel_of_a_wide_piece_is_as_low_as_it_is():
    size = (82.0, 22.0)
    places = lay_out(size, 42.0, 165.0, hangs=True)
    assert fitting(size, front_room(places.front.size), 1.0) == 1.0
    assert places.front.size[1] <= 50.0
    assert fitting(size, key_room(places.key.size), 2.0) >= 1.0
