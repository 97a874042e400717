"""The proof is one page in true size, the same bytes for the same job, and shows what the job says."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from itertools import product

import numpy as np
import pytest
from PIL import Image

from reliefsmith.documents import canvas as canvas_module
from reliefsmith.documents.canvas import Canvas
from reliefsmith.documents.proof.layout import MARGIN_MM, PAGE_MM
from reliefsmith.documents.proof.proof import proof_png, thumbnail_png
from reliefsmith.documents.sheet.sheet import sheet_html
from reliefsmith.findings import note
from tiers import broad

from ..jobs import kite, order_recipe, with_stock

MM_PER_INCH = 25.4


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


@pytest.mark.parametrize("width", [9.0, 170.0])
def test_tiny_and_huge_pieces_have_a_proof(width):
    assert Image.open(BytesIO(proof_png(kite(width)))).size == (2480, 3508)


@pytest.mark.parametrize(
    "kind", broad(["none", "cord", "jump-ring", "ball-chain"], lambda kind: kind in ("none", "cord"))
)
def test_every_hardware_has_a_proof(kind):
    job = kite(recipe=order_recipe(**{"hang.hardware": kind}))
    assert Image.open(BytesIO(proof_png(job))).size == (2480, 3508)


def test_a_job_without_hole_notes_findings_or_order_has_a_proof():
    job = kite(
        recipe=order_recipe(**{"order.title": "", "order.customer": "", "order.code": ""}), repaired=False
    )
    job = replace(job, plan=replace(job.plan, hole=None, center_of_mass_mm=None))
    assert Image.open(BytesIO(proof_png(job))).size == (2480, 3508)


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


WIDTHS, HELD = (30.0, 48.0, 60.0), ("split-ring", "screw", "ball-chain")


@pytest.mark.parametrize(
    ("width", "hardware"), broad(product(WIDTHS, HELD), set(zip(WIDTHS, HELD, strict=True)).__contains__)
)
def test_no_text_of_a_usual_job_is_cut(monkeypatch, width, hardware):
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
