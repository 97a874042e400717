"""Captions of figures in narrow panels: what is drawn begins below their last line."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.documents.canvas import PANEL, Canvas
from reliefsmith.documents.cutaway import cut
from reliefsmith.documents.legend import legend
from reliefsmith.documents.proof import captions, figures, section_figure
from reliefsmith.documents.views import front_face

from ..jobs import kite

WORDS = "stepped: each of 3 colors on the base takes one change of filament"


def _rows(canvas: Canvas, at: tuple[float, float], size: tuple[float, float]) -> np.ndarray:
    """The rows of a panel within its rim in which anything is drawn on it."""
    (left, top), (right, low) = (
        [canvas.px(start + share) for start, share in zip(at, part, strict=True)]
        for part in ((1.5, 0.5), (size[0] - 1.5, size[1] - 0.5))
    )
    inner = np.asarray(canvas.image)[top:low, left:right]
    return np.flatnonzero((inner != np.array(PANEL)).any(axis=(1, 2)))


@pytest.mark.parametrize("size", [(24.0, 40.0), (40.0, 34.0), (50.0, 32.0), (55.0, 34.0), (90.0, 40.0)])
@pytest.mark.parametrize("figure", ["section", "key"])
def test_a_figure_begins_below_its_caption(figure, size, monkeypatch):
    job, at = kite(), (5.0, 5.0)
    page, alone = Canvas(120, 60), Canvas(120, 60)
    alone.panel(at, size)
    write = captions.caption
    module = section_figure if figure == "section" else figures
    monkeypatch.setattr(module, "caption", lambda _page, *words, **room: write(alone, *words, **room))
    if figure == "section":
        about = {"entries": legend(job), "layer_tops_mm": job.stack.layer_tops_mm, "words": WORDS}
        section_figure.draw_section(page, at, size, cut(job.stack), **about)
    else:
        figures.draw_key(page, at, size, front_face(job.stack), legend(job), areas=job.areas.numbered)
    assert _rows(alone, at, size).max() < _rows(page, at, size).min()
