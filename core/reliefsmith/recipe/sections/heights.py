"""Sections on the piece from the side: heights, style, face and tops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting
from ..tables import ColorHeight
from .limits import MOST_COLORS

__all__ = ["HeightSettings"]


@dataclass(frozen=True, slots=True)
class HeightSettings(Section):
    """How high everything is."""

    NAME: ClassVar[str] = "heights"
    style: str = setting(
        "auto",
        "how motifs stand in the base; auto fits face, rim and loaded filaments with fewest changes",
        choices=("auto", "raised", "flush", "sunk", "stepped"),
    )
    base_mm: float = setting(2.0, "height of the base", low=0.2, high=50)
    motif_mm: float = setting(
        0.6,
        "height of motifs, or of each step, above what they stand on; depth of flush and sunk ones",
        low=0.1,
        high=50,
    )
    layer_mm: float = setting(0.2, "layer height", low=0.04, high=1)
    first_layer_mm: float = setting(0.2, "height of the first layer", low=0.04, high=1)
    face: str = setting("up", "which way the front faces while printing", choices=("up", "down"))
    top: str = setting("flat", "shape of the tops", choices=("flat", "chamfer", "crown", "brightness"))
    edge_mm: float = setting(0.4, "how high the bevel of chamfered tops is", low=0.05, high=20)
    edge_deg: float = setting(45.0, "how steep the bevel of chamfered tops is", low=15, high=75)
    crown_mm: float = setting(0.4, "how far crowned tops rise from their edge at most", low=0.05, high=20)
    crown_reach_mm: float = setting(2.0, "how far from the edge crowned tops rise at most", low=0.2, high=50)
    higher: str = setting("light", "what is high where tops follow the brightness", choices=("light", "dark"))
    least_mm: float = setting(
        0.2, "least height of motifs whose tops follow the brightness", low=0.1, high=20
    )
    split: str = setting(
        "none",
        "print in one piece, or a front and a back plate set on each other by pegs",
        choices=("none", "pegs"),
    )
    foot_mm: float = setting(
        0.0, "how much the first layer is drawn in against its spread on the bed", low=0, high=0.5
    )
    colors: tuple[ColorHeight, ...] = setting(
        (), "heights of single colors of raised motifs, each a table", most=MOST_COLORS, row=ColorHeight
    )
    steps: tuple[str, ...] = setting(
        (),
        "colors of the steps from the base up, for pieces that share a bed; one that a piece lacks lies"
        " hidden below those above it; found for each piece where empty",
        kind="colors",
        high=MOST_COLORS,
    )
    hand: str = setting(
        "",
        "file of hand relief, found from the recipe's folder: a TIFF of 32-bit floats, mm above the generated"
        " top, or any grey picture",
        high=1000,
    )
    hand_origin: tuple[float, float] | None = setting(
        None,
        "where the first value of the hand relief lies, from the middle of the artwork, in its widths; unset,"
        " a grey picture covers the artwork's picture",
        kind="point",
        unit="widths",
        low=-100,
        high=100,
    )
    hand_step: float | None = setting(
        None,
        "distance of the values of the hand relief, in widths of the artwork",
        unit="widths",
        low=1e-6,
        high=1,
    )
    hand_range_mm: tuple[float, float] = setting(
        (0.0, 0.6),
        "heights of black and white where the hand relief is a grey picture",
        kind="point",
        low=-50,
        high=50,
    )
    hand_reach: str = setting(
        "above",
        "whether hand relief may lift flush and sunk tops above themselves, or stays within their layers",
        choices=("above", "within"),
    )
