"""What speaks for a quadrilateral: on drawn sheets each witness is known."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.artwork.sheet.sides import Evidence, evidence, grain_of
from reliefsmith.colorimetry import srgb_to_lab

from .pictures import PAPER, QUAD, TABLE, lab_of, shown

LAB = lab_of(shown(), noise=0.5)


def seen(quad: np.ndarray, lab: np.ndarray = LAB) -> Evidence:
    return evidence(lab, quad[None], grain_of(lab)).only(0)


def lab(color: tuple[int, int, int]) -> np.ndarray:
    return srgb_to_lab(np.array([color], np.uint8))[0]


def test_all_speaks_for_the_sheet_itself() -> None:
    found = seen(QUAD)
    assert found.support.min() > 0.95
    assert found.paper.min() > 0.95
    assert max(found.table.max(), found.beyond.max()) < 0.05
    assert found.lighter == pytest.approx(lab(PAPER)[0] - lab(TABLE)[0], abs=3)
    assert float(found.chroma) == pytest.approx(np.hypot(*lab(PAPER)[1:]), abs=1)
    assert np.abs(found.bows).max() < 0.5


@pytest.mark.parametrize("out", [-4.0, 4.0])
def test_a_guess_that_is_off_finds_its_sides_in_or_outward(out: float) -> None:
    """Offsets are counted outward: where the guess is too large, the sides lie inward."""
    middle = QUAD.mean(axis=0)
    larger = QUAD + out * np.sign(QUAD - middle)
    found = seen(larger)
    assert found.bows[:, 2] == pytest.approx(-out, abs=1.2)
    assert found.support.min() > 0.9


def test_sides_beside_which_nothing_changes_have_no_edge() -> None:
    inner = QUAD + 0.5 * (QUAD.mean(axis=0) - QUAD)
    found = seen(inner)
    assert found.support.max() < 0.1
    assert found.beyond.min() > 0.9  # the paper goes on there
    assert found.lighter == pytest.approx(0, abs=1)


def test_a_table_that_reaches_into_it_is_told_at_that_side() -> None:
    longer = QUAD.copy()
    longer[[1, 2], 0] += 30  # its right side lies on the table
    found = seen(longer)
    assert found.table[1] > 0.9
    assert found.paper[1] < 0.1
    assert found.table[3] < 0.1


def test_a_side_beyond_the_picture_has_no_edge() -> None:
    off = QUAD - np.array([QUAD[3, 0] + 20, 0])
    found = seen(off, lab_of(shown(off), noise=0.5))
    assert found.support[3] < 0.1
    assert found.support[1] > 0.9


def test_the_paper_is_what_most_of_its_lighter_half_shows_though_much_is_drawn_on() -> None:
    """A dark field on two fifths of it: color and edges are those of the paper beside."""
    picture, field = shown(), QUAD + 0.37 * (QUAD.mean(axis=0) - QUAD)
    inked = shown(field, paper=(20, 40, 130), table=(0, 0, 0))
    picture = np.where(inked.any(axis=2, keepdims=True), inked, picture).astype(np.uint8)
    found = seen(QUAD, lab_of(picture, noise=0.5))
    assert float(found.chroma) == pytest.approx(np.hypot(*lab(PAPER)[1:]), abs=1.5)
    assert found.paper.min() > 0.9
    assert found.support.min() > 0.9


def test_quadrilaterals_are_judged_each_for_itself() -> None:
    inner = QUAD + 0.5 * (QUAD.mean(axis=0) - QUAD)
    both = evidence(LAB, np.stack([inner, QUAD]), grain_of(LAB))
    assert np.allclose(both.only(1).support, seen(QUAD).support)
    assert np.allclose(both.only(0).beyond, seen(inner).beyond)


@pytest.mark.parametrize(("spread", "grain"), [(0.0, 0.35), (0.5, None), (12.0, 1.0)])
def test_grain_goes_from_a_calm_table_to_weave(spread: float, grain: float | None) -> None:
    """Steps between means of three: their upper quartile by 1.4, never less than .35 nor more than 1."""
    noise = np.random.default_rng(2).normal(0, spread, (200, 300, 3))
    found = grain_of(noise)
    if grain is None:
        steps = noise * (1.0, 1.5, 1.5)
        size = np.linalg.norm(steps, axis=-1) * np.sqrt(2 / 3)  # of the difference of two means of three
        assert found == pytest.approx(np.percentile(size, 75) / 1.4, rel=0.05)
    else:
        assert found == grain
