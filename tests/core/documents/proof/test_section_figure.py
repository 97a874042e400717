"""The section drawn: its numbers and heights where they can be read, enlarged as far as there is room."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.color import rgb2lab

from reliefsmith.documents.canvas import INK, PAPER
from reliefsmith.documents.cutaway import Band, Section
from reliefsmith.documents.legend import LegendEntry
from reliefsmith.documents.proof.section_figure import RAISES, draw_section, ink_on

from ..noted import Noted

NAVY, RED = (20, 33, 61), (211, 32, 32)
ENTRIES = (
    LegendEntry(1, "base", "base", NAVY, (0.0, 2.0), (1, 10)),
    LegendEntry(2, "red", "motif", RED, (2.0, 2.6), (11, 13)),
)
TOPS = tuple(0.2 * (n + 1) for n in range(13))


def _band(part: int, low: float, start: float, end: float, top: float) -> Band:
    return Band(part, low, ((start, top), (end, top)))


SECTION = Section(
    0.0, (_band(0, 0, -20, 20, 2.0), _band(1, 2, -10, 10, 2.6)), (-20.0, 20.0), 2.6, (0.0, 2.0, 2.6)
)


def _drawn(
    section: Section = SECTION, tops: tuple[float, ...] = TOPS, high: float = 40.0, words: str = ""
) -> Noted:
    page = Noted(120, 60)
    draw_section(page, (5.0, 5.0), (110.0, high), section, entries=ENTRIES, layer_tops_mm=tops, words=words)
    return page


@settings(max_examples=30)
@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_ink_is_the_one_that_reads_better(color: tuple[int, int, int]) -> None:
    """Contrast ratio of WCAG 2: (L1 + 0.05) / (L2 + 0.05), luminance from CIE Y as scikit-image has it."""

    def luminance(rgb: tuple[int, int, int]) -> float:
        lightness = float(rgb2lab(np.array([[rgb]], dtype=float) / 255)[0, 0, 0])
        return ((lightness + 16) / 116) ** 3 if lightness > 8 else lightness / 903.3

    def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
        high, low = sorted((luminance(one), luminance(other)), reverse=True)
        return (high + 0.05) / (low + 0.05)

    best = max(contrast(color, ink) for ink in (PAPER, INK))
    assert contrast(color, ink_on(color)) == pytest.approx(best, rel=0.02)


def test_parts_have_their_numbers_in_them_and_heights_stand_at_the_side() -> None:
    page = _drawn()
    numbers = {item.text: item.at for item in page.said if item.options.get("anchor") == "mm"}
    assert set(numbers) == {"1", "2"}
    assert numbers["2"][1] < numbers["1"][1]
    heights = [item for item in page.said if item.options.get("anchor") == "lm"]
    assert [item.text for item in heights] == ["0.0 mm", "2.0 mm", "2.6 mm"]
    assert [item.at[1] for item in heights] == sorted((item.at[1] for item in heights), reverse=True)


def test_a_stretch_too_narrow_for_a_number_has_none() -> None:
    fine = Section(0.0, (_band(0, 0, -20, 20, 2.0), _band(1, 2, 0, 1, 2.6)), (-20.0, 20.0), 2.6)
    assert [item.text for item in _drawn(fine).said if item.options.get("anchor") == "mm"] == ["1"]


def test_what_goes_on_below_it_in_its_own_part_has_one_number() -> None:
    steps = (_band(0, 0, -20, 20, 1.0), _band(0, 1, -19, 19, 2.0))
    assert [
        i.text for i in _drawn(Section(0, steps, (-20, 20), 2.0)).said if i.options.get("anchor") == "mm"
    ] == ["1"]
    apart = (_band(0, 0, -20, 20, 1.0), _band(0, 1, -9, 9, 2.0))
    assert [
        i.text for i in _drawn(Section(0, apart, (-20, 20), 2.0)).said if i.options.get("anchor") == "mm"
    ] == ["1"] * 2


@pytest.mark.parametrize("high", [28.0, 36.0, 50.0])
def test_heights_are_enlarged_by_a_round_number_as_far_as_there_is_room(high: float) -> None:
    page = _drawn(high=high)
    leaders = [start[1] for start, end in page.lines if end[0] - start[0] == pytest.approx(2.4)]
    across = [end[0] - start[0] for start, end in page.lines if start[1] == end[1] and end[0] - start[0] > 50]
    scale = (max(across) - 3.0) / 40
    up = (max(leaders) - min(leaders)) / 2.6
    assert up / scale == pytest.approx(min(RAISES, key=lambda one: abs(one - up / scale)), rel=0.01)
    assert f"heights drawn {round(up / scale)} times larger" in page.words
    assert min(item.at[1] for item in page.said) >= 5.0


def test_layers_are_counted_and_ticked_and_without_them_heights_are_those_of_the_cut() -> None:
    page = _drawn(words="face down")
    assert "13 layers, face down" in page.words
    plates = Section(0.0, SECTION.bands, (-20.0, 20.0), 2.6, (0.0, 1.0, 2.6))
    page = _drawn(plates, tops=())
    assert "layers" not in page.words
    assert [i.text for i in page.said if i.options.get("anchor") == "lm"] == ["0.0 mm", "1.0 mm", "2.6 mm"]


def test_labels_of_near_heights_are_pushed_apart_and_of_many_some_stay() -> None:
    levels = tuple(round(0.1 * n, 1) for n in range(27))
    page = _drawn(Section(0.0, SECTION.bands, (-20.0, 20.0), 2.6, levels), tops=())
    labels = [item for item in page.said if item.options.get("anchor") == "lm"]
    gaps = -np.diff([item.at[1] for item in labels])
    assert (gaps > 2.9).all()
    assert labels[0].text == "0.0 mm"
    assert labels[-1].text == "2.6 mm"
    assert len(labels) < 27
