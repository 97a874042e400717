"""The number of a placed sheet, read from its cells; where many are in doubt there is none."""

from __future__ import annotations

import numpy as np

from ...formats.classlayout import CELL_MM, CELLS_AT, MARK_MM, MARKS, RINGS_MM, cell_at
from ...formats.sheetnumber import COLUMNS, MOST_DOUBTS, ROWS, number_of
from ...model.arrays import Bytes, Floats
from ..bilinear import sampled
from .placing import Place

__all__ = ["marks_seen", "read_number"]

_DOUBT = (0.36, 0.64)
"""How dark a cell is between paper (0) and the marks (1); between these it is neither."""
_RING, _INNER = 0.6, 0.4
"""Least darkness of a mark's ring and square, and most of its gap."""
_CROSSED = 0.15
"""Share of a ring that a stroke may hide."""
_LEAST_MARKS = 3  # of the four: a thumb may hide one
_FAINTEST = 0.65
"""Most brightness of the marks, by that of the paper beside them."""
_PART = np.linspace(-1.0, 1.0, 7)  # places across a cell, as shares of half its side


def marks_seen(grey: Bytes, place: Place) -> float | None:
    """Return how bright ink is by the paper beside it, by the marks; None where fewer than three are seen."""
    inks = [ink for at in MARKS if (ink := _ink(grey, place, at)) is not None]
    return float(np.median(inks)) if len(inks) >= _LEAST_MARKS else None


def _ink(grey: Bytes, place: Place, at: tuple[float, float]) -> float | None:
    """Return how bright the ink of one mark is by its paper; None where there is no mark."""
    dark = _on_square(grey, place, at, (RINGS_MM[0] + RINGS_MM[1]) / 2)
    light = _on_square(grey, place, at, (RINGS_MM[1] + RINGS_MM[2]) / 2)
    paper = float(np.median(light))
    square = float(_medians(grey, place, np.array(at) + MARK_MM / 2, 1.0))
    ink = min(float(np.median(dark)), square)
    if paper <= 0 or ink > _FAINTEST * paper:
        return None
    ring, gap, middle = ((paper - values) / (paper - ink) for values in (dark, light, np.array([square])))
    # nearly all round: a stroke may cross
    whole = np.quantile(ring, _CROSSED) >= _RING and np.quantile(gap, 1 - _CROSSED) <= _INNER
    return ink / paper if whole and middle[0] >= _RING else None


def read_number(grey: Bytes, place: Place, ink: float) -> tuple[int | None, str]:
    """Read the number of a sheet.

    Parameters
    ----------
    grey : uint8 array of shape (h, w)
    place : Place
    ink : float
        How bright ink is by paper (`marks_seen`).

    Returns
    -------
    int or None
    str
        Why there is none.
    """
    half = CELL_MM / 2
    middles = np.array([[cell_at(row, column) for column in range(COLUMNS)] for row in range(ROWS)]) + half
    strips = [CELLS_AT[1] - 3.0, CELLS_AT[1] + CELL_MM + 2.0, CELLS_AT[1] + 2 * CELL_MM + 7.0]
    beside = np.stack(np.meshgrid(middles[0, :, 0], strips), axis=-1)
    paper, values = _medians(grey, place, beside, 0.7), _medians(grey, place, middles, 0.25 * CELL_MM)
    white = (paper[:-1] + paper[1:]) / 2
    darkness = (1 - values / np.maximum(white, 1.0)) / (1 - ink)
    cells = [[_dark(float(one)) for one in row] for row in darkness]
    if sum(cell is None for row in cells for cell in row) > MOST_DOUBTS:
        return None, "too many cells of its number are neither dark nor light"
    number = number_of(cells)
    return number, "" if number is not None else "the cells of its number do not agree with each other"


def _dark(darkness: float) -> bool | None:
    return None if _DOUBT[0] <= darkness <= _DOUBT[1] else darkness > _DOUBT[1]


def _medians(grey: Bytes, place: Place, middles: Floats, half_mm: float) -> Floats:
    """Return the median brightness of squares about places (..., 2) on the sheet."""
    square = half_mm * np.stack(np.meshgrid(_PART, _PART), axis=-1)
    seen = sampled(grey, place.pixels(middles[..., None, None, :] + square))
    return np.asarray(np.median(seen, axis=(-2, -1)))


def _on_square(grey: Bytes, place: Place, at: tuple[float, float], inset: float) -> Floats:
    """Return brightness along a square within a mark."""
    share = np.linspace(0, 1, 12, endpoint=False)
    side = MARK_MM - 2 * inset
    path = [(share, 0 * share), (0 * share + 1, share), (1 - share, 0 * share + 1), (0 * share, 1 - share)]
    places = np.concatenate([np.stack(one, axis=-1) for one in path]) * side + inset + np.array(at)
    return sampled(grey, place.pixels(places))
