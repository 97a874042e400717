"""Strength of the hanging hole, by the usual lug formulas: net section, shear-out and bearing.

Failure modes: net tension, shear-out on two planes, bearing (Air Force Flight Dynamics Laboratory, Stress
Analysis Manual, chapter 9). The formulas are the simplified ones of Bruhn, Analysis and Design of Flight
Vehicle Structures, D1, with planes of shear 40 degrees off the pull (from memory). The load is the tension
test of EN 71-1 for parts over 6 mm. Printed parts usually fail in bending at the neck, which no formula here
covers.

A slot has the same modes, its planes of shear straight up from its ends, and the bridge over it bends: a beam
built in at both ends under an even load P has the moment P L / 12 at its ends (Roark, Formulas for Stress and
Strain, straight beams; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["LEAST_FACTOR", "LOAD_N", "SHEAR_SHARE", "STRENGTH_MPA", "Lug", "Mode", "Slot"]

LOAD_N = 90.0
"""Tension test of EN 71-1, 8.4, for a largest dimension over 6 mm (as test houses print it)."""

STRENGTH_MPA = 50.0
"""Tensile strength of printed PLA along its layers, as a keyring is pulled: common practice, no source, the
low end of the usual 50 to 65 (35 to 45 across layers); bare resin yields at 60 (data sheets, ASTM D882)."""

SHEAR_SHARE = 3**-0.5
"""Shear strength over tensile strength after von Mises."""

_SHEAR_PLANE_DEG = 40.0
"""Bruhn's shear planes leave the hole at this angle from the line of the load."""

LEAST_FACTOR = 3.0
"""Least ratio of strength to stress: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Mode:
    """One way to fail: what it is called, its stress and the stress that it holds, in MPa."""

    name: str
    stress: float
    holds: float

    @property
    def factor(self) -> float:
        """How many times the load it holds."""
        return self.holds / self.stress


@dataclass(frozen=True, slots=True)
class Lug:
    """A plate with a hole from which it is pulled: hole, width across it, edge distance, thickness in mm.

    Examples
    --------
    >>> lug = Lug(hole=5.0, width=11.0, edge=5.5, thickness=2.0)
    >>> lug.net(90.0), round(lug.shear(90.0), 3), lug.bearing(90.0)
    (7.5, 6.276, 9.0)
    >>> lug.weakest().name
    'shear on the planes above it'
    """

    hole: float
    width: float
    edge: float
    thickness: float

    def net(self, load: float) -> float:
        """Return the tension in MPa in the section through the hole."""
        return load / ((self.width - self.hole) * self.thickness)

    def shear(self, load: float) -> float:
        """Return the shear in MPa in two planes from the hole to the edge, which leave it 40 degrees off."""
        rise = self.hole / 2 * (1 - math.cos(math.radians(_SHEAR_PLANE_DEG)))
        return load / (2 * self.thickness * (self.edge - self.hole / 2 + rise))

    def bearing(self, load: float) -> float:
        """Return the pressure in MPa on the wall of the hole."""
        return load / (self.hole * self.thickness)

    def weakest(self, load: float = LOAD_N, strength: float = STRENGTH_MPA) -> Mode:
        """Return the way to fail that holds the fewest times the load."""
        modes = (
            Mode("tension on the section beside it", self.net(load), strength),
            Mode("shear on the planes above it", self.shear(load), SHEAR_SHARE * strength),
            Mode("pressure on its wall", self.bearing(load), strength),
        )
        return min(modes, key=lambda mode: mode.factor)


@dataclass(frozen=True, slots=True)
class Slot:
    """A plate with a slot from which a strap pulls it: length, wall all round it, thickness in mm.

    Examples
    --------
    >>> slot = Slot(length=12.0, wall=4.0, thickness=2.0)
    >>> slot.net(96.0), slot.shear(96.0), slot.bearing(96.0), slot.bending(96.0)
    (6.0, 6.0, 4.0, 18.0)
    """

    length: float
    wall: float
    thickness: float

    def net(self, load: float) -> float:
        """Return the tension in MPa in the section through the slot: the walls at its ends."""
        return load / (2 * self.wall * self.thickness)

    def shear(self, load: float) -> float:
        """Return the shear in MPa in the two planes from the ends of the slot to the edge."""
        return load / (2 * self.wall * self.thickness)

    def bearing(self, load: float) -> float:
        """Return the pressure in MPa of the strap on the bridge."""
        return load / (self.length * self.thickness)

    def bending(self, load: float) -> float:
        """Return the stress in MPa at the ends of the bridge, a beam of section thickness x wall."""
        return load * self.length / 12 / (self.thickness * self.wall**2 / 6)

    def weakest(self, load: float = LOAD_N, strength: float = STRENGTH_MPA) -> Mode:
        """Return the way to fail that holds the fewest times the load."""
        modes = (
            Mode("tension on the sections beside it", self.net(load), strength),
            Mode("shear on the planes above its ends", self.shear(load), SHEAR_SHARE * strength),
            Mode("pressure on its bridge", self.bearing(load), strength),
            Mode("bending of the bridge over it", self.bending(load), strength),
        )
        return min(modes, key=lambda mode: mode.factor)
