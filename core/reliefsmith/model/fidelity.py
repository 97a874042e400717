"""How much of its picture a piece shows: the picture in cells, the shares, and what is lost where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..findings import Finding
from .arrays import Flags, Ints, Rgb

__all__ = ["Fidelity", "Missed", "Sample"]


@dataclass(frozen=True, slots=True)
class Sample:
    """The picture in square cells of the plan's frame, y down, with room for a border round the artwork.

    Parameters
    ----------
    rgb : uint8 array of shape (h, w, 3)
        The color of each cell; with colors that the user changed.
    lab : float32 array of shape (h, w, 3)
        The same in CIELAB.
    outside : bool array of shape (h, w)
        Ground outside the art, and what the user took away.
    clear : bool array of shape (h, w)
        Of `outside`, what has no color: it is transparent or beyond the picture.
    first, second : int64 arrays of shape (n,)
        Flat positions of the pairs of places whose colors differ plainly.
    left_mm, top_mm : float
        The upper left corner.
    cell_mm : float
    """

    rgb: Rgb
    lab: npt.NDArray[np.float32]
    outside: Flags
    clear: Flags
    first: Ints
    second: Ints
    left_mm: float
    top_mm: float
    cell_mm: float


@dataclass(frozen=True, slots=True)
class Missed:
    """A place at which something of the picture cannot be seen on the piece.

    Parameters
    ----------
    what : str
        In plain words, such as "white against navy: both are navy".
    at_mm : (float, float)
        In the frame of the plan.
    size_mm : float
        Longest side.
    remedy : str
        The setting that was tried and helps; empty where none was found.
    """

    what: str
    at_mm: tuple[float, float]
    size_mm: float
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Fidelity:
    """How much of the picture the piece shows from above.

    Parameters
    ----------
    edges_kept : float
        Share, 0 to 1, of the picture's plain edges at which the piece shows two colors.
    paint_right : float
        Share of the art's area that is seen in its color.
    lost : tuple of Missed
        The largest first.
    findings : tuple of Finding
        Where too much is lost.
    """

    edges_kept: float
    paint_right: float
    lost: tuple[Missed, ...] = ()
    findings: tuple[Finding, ...] = ()
