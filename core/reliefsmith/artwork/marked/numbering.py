"""The number of a placed sheet, read from its cells; where one cell is in doubt there is none."""

from __future__ import annotations

import numpy as np

from ...formats.classlayout import CELL_MM, CELLS_AT, MARK_MM, MARKS, RINGS_MM, cell_at
from ...formats.sheetnumber import COLUMNS, ROWS, number_of
from .placing import Place, sampled
from .squares import Flags, Floats, Grey

__all__ = ["marks_seen", "read_number"]

_DOUBT = (0.36, 0.64)
"""How dark a cell is between paper (0) and the marks (1); between these it is neither."""
_RING, _INNER = 0.6, 0.4
"""Least darkness of a mark's ring and square, and most of its gap."""
_FAINTEST = 0.65
"""Most brightness of the marks, by that of the paper beside them."""
_PART = np.linspace(-1.0, 1.0, 7)


def marks_seen(grey: Grey, place: Place) -> float | None:
    """Return how bright the marks' ink is by the paper beside it; None where one of them is no mark."""
    inks = []
    ring = (RINGS_MM[0] + RINGS_MM[1]) / 2
    gap = (RINGS_MM[1] + RINGS_MM[2]) / 2
    for x, y in MARKS:
        dark = _on_square(grey, place, (x, y), ring)
        light = _on_square(grey, place, (x, y), gap)
        paper = float(np.median(light))
        square = _median(grey, place, (x + MARK_MM / 2, y + MARK_MM / 2), 1.0)
        ink = min(float(np.median(dark)), square)
        if paper <= 0 or ink > _FAINTEST * paper:
            return None
        # all round, but for a stroke that crosses
        darkness = [(paper - values) / (paper - ink) for values in (dark, light, np.array([square]))]
        if np.quantile(darkness[0], 0.15) < _RING or np.quantile(darkness[1], 0.85) > _INNER:
            return None
        if darkness[2][0] < _RING:
            return None
        inks.append(ink / paper)
    return float(np.median(inks))


def read_number(grey: Grey, place: Place, ink: float) -> tuple[int | None, str]:
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
    cells = np.array([[cell_at(row, column) for column in range(COLUMNS)] for row in range(ROWS)]) + half
    strips = [CELLS_AT[1] - 3.0, CELLS_AT[1] + CELL_MM + 2.0, CELLS_AT[1] + 2 * CELL_MM + 7.0]
    paper = np.array([[_median(grey, place, (x, y), 0.7) for x in cells[0, :, 0]] for y in strips])
    values = np.array([[_median(grey, place, tuple(at), 0.25 * CELL_MM) for at in row] for row in cells])
    white = (paper[:-1] + paper[1:]) / 2
    darkness = (1 - values / np.maximum(white, 1.0)) / (1 - ink)
    dark, light = _sure(darkness)
    if not (dark | light).all():
        return None, "a cell of its number is neither dark nor light"
    number = number_of([[bool(one) for one in row] for row in dark])
    return number, "" if number is not None else "the cells of its number do not agree with each other"


def _sure(darkness: Floats) -> tuple[Flags, Flags]:
    return darkness > _DOUBT[1], darkness < _DOUBT[0]


def _median(grey: Grey, place: Place, middle: tuple[float, float], half_mm: float) -> float:
    """Return the median brightness of a square on the sheet."""
    x, y = np.meshgrid(middle[0] + half_mm * _PART, middle[1] + half_mm * _PART)
    return float(np.median(sampled(grey, place.pixels(np.stack([x, y], axis=-1)))))


def _on_square(grey: Grey, place: Place, at: tuple[float, float], inset: float) -> Floats:
    """Return brightness along a square within a mark."""
    share = np.linspace(0, 1, 12, endpoint=False)
    side = MARK_MM - 2 * inset
    path = [(share, 0 * share), (0 * share + 1, share), (1 - share, 0 * share + 1), (0 * share, 1 - share)]
    places = np.concatenate([np.stack(one, axis=-1) for one in path]) * side + inset + np.array(at)
    return sampled(grey, place.pixels(places))
