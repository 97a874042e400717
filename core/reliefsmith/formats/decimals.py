"""Millimetres as exact decimal text: whole micrometres with trailing zeros left off."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = ["ON_GRID_UM", "UM_PER_MM", "exact_mm", "filled", "mm_text", "snapped_mm"]

Floats: TypeAlias = npt.NDArray[np.float64]

UM_PER_MM = 1_000
"""Grid of the plan: 1 um, so coordinates on it are printed exactly."""

NM_PER_MM = 1_000_000
"""Finer grid for meshes with points off the plan's grid, such as ones modeled by hand."""

ON_GRID_UM = 1e-6
"""How far, in um, a float may lie from a whole micrometre and mean it; float64 noise at 2 m is 2e-10."""

ROWS_AT_ONCE = 4096
"""Rows formatted by one `%`; measured: from 1000 up it no longer matters."""


def exact_mm(values: npt.NDArray[Any]) -> Floats:
    """Snap millimetres to whole micrometres, or to whole nanometres when some value is off that grid.

    The result is the float nearest to the decimal, whose shortest text is that decimal.

    Raises
    ------
    ValueError
        If a value is not finite.

    Examples
    --------
    >>> exact_mm(np.array([0.1 + 0.2, -0.0])).tolist()
    [0.3, 0.0]
    >>> exact_mm(np.array([0.00025])).tolist()
    [0.00025]
    """
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError("coordinates must be finite numbers")
    snapped = snapped_mm(array, ON_GRID_UM)
    return np.rint(array * NM_PER_MM) / NM_PER_MM + 0.0 if snapped is None else snapped


def snapped_mm(values: Floats, noise_um: float) -> Floats | None:
    """Snap millimetres to whole micrometres; None if some value is further off than the noise.

    Examples
    --------
    >>> snapped_mm(np.array([0.2, 2.2], dtype=np.float32).astype(float), 0.001).tolist()
    [0.2, 2.2]
    """
    scaled = values * UM_PER_MM
    whole = np.rint(scaled)
    off = np.abs(scaled - whole).max(initial=0.0)
    # Adding 0.0 turns -0.0 into 0.0.
    return whole / UM_PER_MM + 0.0 if off <= noise_um else None


def mm_text(value: float) -> str:
    """Write one length in mm as exact decimal text.

    Examples
    --------
    >>> mm_text(12.0), mm_text(-0.5), mm_text(1234.567)
    ('12', '-0.5', '1234.567')
    """
    return filled("%r ", exact_mm(np.array([[value]])))[:-1]


def filled(pattern: str, rows: npt.NDArray[Any]) -> str:
    """Repeat a pattern for every row and fill its places; ".0" before a quote, comma or blank is left off.

    Parameters
    ----------
    pattern : str
        One `%r` or `%d` for each column, each followed by a quote, comma or blank.
    rows : array of shape (n, k)

    Examples
    --------
    >>> filled('<p x="%r" y="%r"/>', np.array([[1.0, 2.5]]))
    '<p x="1" y="2.5"/>'
    """
    values = rows.ravel().tolist()
    width = rows.shape[1]
    block = pattern * min(ROWS_AT_ONCE, len(rows))
    step = ROWS_AT_ONCE * width
    pieces = []
    for start in range(0, len(values), step):
        some = values[start : start + step]
        whole = len(some) == step or len(values) <= step
        pieces.append((block if whole else pattern * (len(some) // width)) % tuple(some))
    text = "".join(pieces)
    if rows.dtype.kind != "f":
        return text
    return text.replace('.0"', '"').replace(".0,", ",").replace(".0 ", " ")
