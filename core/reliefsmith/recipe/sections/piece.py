"""Sections on the piece seen from above: base, motifs, what joins them and what they hang on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting
from .limits import BORE_MM, USUAL_NOZZLE_MM, WIDEST_MM

__all__ = ["BaseSettings", "HangSettings", "MotifSettings", "PieceSettings"]


@dataclass(frozen=True, slots=True)
class BaseSettings(Section):
    """What carries the motifs."""

    NAME: ClassVar[str] = "base"
    shape: str = setting(
        "outline", "shape of the base", choices=("outline", "hull", "circle", "rectangle", "shield")
    )
    border_mm: float = setting(1.0, "border round the artwork", low=0, high=50)
    corners: str = setting("round", "corners of the border", choices=("round", "miter", "bevel"))
    openings: str = setting(
        "keep",
        "openings of the artwork: keep, fill, or fill the small ones",
        choices=("keep", "fill", "small"),
    )
    small_opening_mm: float = setting(3.0, "openings narrower than this count as small", low=0, high=100)
    margin_mm: float = setting(0.3, "least base left round every motif", low=0, high=20)
    min_width_mm: float = setting(2.0, "least width of the base, for strength", low=0, high=20)
    rim_mm: float = setting(0.0, "width of a raised rim along the outside, 0 for none", low=0, high=20)
    rim_height_mm: float = setting(0.6, "height of the rim above the base", low=0.1, high=20)
    field_mm: tuple[float, float] | None = setting(
        None,
        "width and height of a field below the artwork, for texts that have no place of their own",
        kind="size",
        low=3,
        high=500,
    )
    spike_mm: tuple[float, float] | None = setting(
        None, "length and width of a spike below, to be put into soil", kind="size", low=3, high=300
    )


@dataclass(frozen=True, slots=True)
class MotifSettings(Section):
    """What is printable on the base."""

    NAME: ClassVar[str] = "motif"
    min_stroke_mm: float = setting(
        0.6, f"least stroke, for a nozzle of {USUAL_NOZZLE_MM:g} mm; a wider one scales it up", low=0, high=10
    )
    min_gap_mm: float = setting(0.5, "least gap between motifs, scaled as well", low=0, high=10)
    min_dot_mm: float = setting(1.0, "least dot, scaled as well", low=0, high=10)


@dataclass(frozen=True, slots=True)
class PieceSettings(Section):
    """How separate pieces become one."""

    NAME: ClassVar[str] = "pieces"
    connect: str = setting(
        "links", "how separate pieces are joined", choices=("links", "grow", "backing", "none")
    )
    link_mm: float = setting(3.0, "width of a link", low=2, high=20)


@dataclass(frozen=True, slots=True)
class HangSettings(Section):
    """Where and on what the piece hangs."""

    NAME: ClassVar[str] = "hang"
    hardware: str = setting(
        "auto",
        "what the piece hangs on",
        choices=(
            *("auto", "split-ring", "jump-ring", "ball-chain", "cord", "strap", "ribbon"),
            *("screw", "pin", "magnet", "tape", "none"),
        ),
    )
    holes: int = setting(
        1,
        "hanging holes, screws, magnets or strips of tape: 1, 2 side by side, or of screws 4 spread out",
        low=1,
        high=4,
    )
    hole_mm: float = setting(
        5.0, "diameter of the hanging hole, of a screw's shank", low=BORE_MM[0], high=BORE_MM[1]
    )
    wall_mm: float = setting(2.5, "wall round the hanging hole", low=0.8, high=20)
    at_mm: tuple[float, float] | None = setting(
        None,
        "centre of the hanging hole, magnet, pin or tape, if placed by hand",
        kind="point",
        low=-WIDEST_MM,
        high=WIDEST_MM,
    )
    slot_mm: tuple[float, float] | None = setting(
        None,
        "length and width of the slot of a strap or ribbon; unset, for a strap of 10 mm, a ribbon of 22 mm",
        kind="size",
        low=1,
        high=100,
    )
    magnet_mm: tuple[float, float] | None = setting(
        None, "diameter and height of a magnet; unset, 8 x 1 mm", kind="size", low=0.5, high=50
    )
    pin_mm: tuple[float, float] | None = setting(
        None, "length and width of a brooch pin's bar; unset, 25 x 5 mm", kind="size", low=1, high=100
    )
    tape_mm: tuple[float, float] | None = setting(
        None, "length and width of a strip of adhesive tape; unset, 40 x 9 mm", kind="size", low=4, high=200
    )
