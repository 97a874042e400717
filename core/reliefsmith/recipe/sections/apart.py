"""Sections on what goes with a piece: a foot to stand in, a handle, a housing for lamps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import Section, setting

__all__ = ["HandleSettings", "HousingSettings", "StandSettings"]


@dataclass(frozen=True, slots=True)
class StandSettings(Section):
    """Feet in which the piece stands; they are printed apart."""

    NAME: ClassVar[str] = "stand"
    kind: str = setting(
        "off",
        "what the piece stands in: nothing, or slots of feet that take tongues of the base",
        choices=("off", "slot"),
    )
    feet: int = setting(2, "feet side by side", low=1, high=2)
    lean_deg: float = setting(10.0, "how far the piece leans back, 0 for upright", low=0, high=35)
    # 16 mm: four times the plate's usual thickness and more, so that a foot does not twist; no source.
    width_mm: float = setting(16.0, "width of each foot and its tongue", low=6, high=200)
    slot_mm: float = setting(8.0, "how deep the tongues sit in the slots", low=3, high=40)
    # 0.2 mm a side, a slide fit: common practice, no source.
    clearance_mm: float = setting(
        0.2,
        "gap on each side of a tongue; half of printer.hole_loss_mm, read from the test piece, is added",
        low=0.05,
        high=1,
    )
    depth_mm: float | None = setting(
        None,
        "depth of the feet from front to back; unset, as deep as it takes to stand firmly",
        low=10,
        high=300,
    )


@dataclass(frozen=True, slots=True)
class HandleSettings(Section):
    """A handle for the back of the piece, as of a stamp; it is printed apart."""

    NAME: ClassVar[str] = "handle"
    kind: str = setting(
        "off", "what the piece is held by: nothing, or a grip on a plate", choices=("off", "grip")
    )
    # 25 mm: the breadth of two fingers; 14 mm thick, as a pen's grip: common practice, no source.
    height_mm: float = setting(25.0, "how high the grip stands above its plate", low=8, high=80)
    thick_mm: float = setting(14.0, "how thick the grip is", low=6, high=60)
    plate_mm: float = setting(3.0, "height of the plate that is glued to the back", low=1, high=20)


@dataclass(frozen=True, slots=True)
class HousingSettings(Section):
    """What the piece is set in: walls and a lid for lamps behind it, or a frame; printed apart."""

    NAME: ClassVar[str] = "housing"
    kind: str = setting(
        "off",
        "what the piece is set in: nothing, walls and a lid for lamps, or a frame with a pocket for a hook",
        choices=("off", "walls", "frame"),
    )
    depth_mm: float = setting(25.0, "distance from the lamps on the lid to the face", low=5, high=150)
    # From 1.6 mm on, four beads of a usual nozzle, dark filament lets no light through: common practice.
    wall_mm: float = setting(1.6, "thickness of the walls, or width of the frame", low=1.6, high=40)
    lip_mm: float = setting(2.0, "how far the front holds the edge of the face", low=0.8, high=20)
    # 0.2 mm a side, a slide fit: common practice, no source.
    clearance_mm: float = setting(
        0.2, "gap round the face and round the lid; half of printer.hole_loss_mm is added", low=0.05, high=1
    )
    cable_mm: float = setting(5.0, "width and height of the notch for the cable, 0 for none", low=0, high=30)
    # 60 lamps on a meter of strip are 16.7 mm apart.
    lamp_pitch_mm: float = setting(16.7, "distance of the lamps from each other", low=1, high=200)
