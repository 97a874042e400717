"""The hardware that a piece hangs on: what opening or pocket it needs and how far it reaches."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from ...errors import RecipeError

__all__ = ["Hardware", "hardware_for", "hardware_table"]


@dataclass(frozen=True, slots=True)
class Hardware:
    """One kind of hardware, in mm.

    Parameters
    ----------
    name, title : str
        Key of the recipe, words for the job sheet.
    use : str
        "loop" through a hole, "slot", "screw", "magnet" or "pin".
    wire_mm : float
        Thickness of the wire, cord, ball or strap in the hole.
    turns : int
        How many lie side by side in the hole.
    play_mm : float
        Clearance that lets it swing.
    reach_mm : float
        Farthest that the outer edge may lie from the hole.
    price : float
    size_mm : tuple of float
        Width of a strap; diameter and height of a magnet; length, width and height of a pin's bar.
    wall_mm : float
        Least wall beside it of its own.
    heads_mm : tuple of (float, float)
        Of screws: diameter of the thread, diameter of the head.
    angle_deg : float
        Of screws: angle of the head's cone.
    """

    name: str
    title: str
    use: str = "loop"
    wire_mm: float = 0.0
    turns: int = 1
    play_mm: float = 0.0
    reach_mm: float = 0.0
    price: float = 0.0
    size_mm: tuple[float, ...] = ()
    wall_mm: float = 0.0
    heads_mm: tuple[tuple[float, float], ...] = ()
    angle_deg: float = 0.0

    @property
    def bar_mm(self) -> float:
        """Thickness of what lies in the hole."""
        return self.wire_mm * self.turns

    @property
    def opening_mm(self) -> float:
        """Least opening that it passes and swings in."""
        return self.bar_mm + self.play_mm

    def fits(self, opening: float, bridge: float) -> bool:
        """Tell whether it passes an opening of this width and swings round a bridge of this width."""
        return opening >= self.opening_mm and bridge <= self.reach_mm

    def screw(self, hole: float) -> tuple[float, float]:
        """Return thread and head of the largest screw that passes a hole.

        Raises
        ------
        RecipeError
            If none does.

        Examples
        --------
        >>> hardware_for("screw", 0, 0).screw(5.0)
        (4.0, 8.4)
        """
        passing = [pair for pair in self.heads_mm if pair[0] + self.play_mm <= hole + _ROUNDING_MM]
        if passing:
            return max(passing)
        least = min(self.heads_mm)[0]
        raise RecipeError(
            f"hang.hole_mm {hole:g} is too narrow for a screw; one of {least:g} mm takes"
            f" {least + self.play_mm:g}, or choose another hang.hardware"
        )


_ROUNDING_MM = 1e-6
"""Sums of lengths in mm are exact to this."""


@cache
def hardware_table() -> tuple[Hardware, ...]:
    """Return all kinds of hardware, in the order in which "auto" tries those that go through a hole.

    Examples
    --------
    >>> [item.name for item in hardware_table() if item.use == "loop"]
    ['split-ring', 'jump-ring', 'ball-chain', 'cord']
    """
    source = resources.files("reliefsmith_data").joinpath("hardware.toml")
    table = tomllib.loads(source.read_text(encoding="utf-8"))
    rows = []
    for name, values in table.items():
        heads = tuple((float(thread), float(head)) for thread, head in values.pop("heads_mm", ()))
        size = tuple(values.pop("size_mm", ()))
        rows.append(Hardware(name=name, size_mm=size, heads_mm=heads, **values))
    return tuple(rows)


def hardware_for(name: str, opening: float, bridge: float) -> Hardware:
    """Return hardware by name; for "auto" the first that fits the hole and the wall beside it.

    Raises
    ------
    RecipeError
        For a name that is not in the table.
    """
    table = hardware_table()
    if name == "auto":
        loops = [item for item in table if item.use == "loop"]
        return next((item for item in loops if item.fits(opening, bridge)), loops[0])
    for item in table:
        if item.name == name:
            return item
    raise RecipeError(
        f"hang.hardware must be auto or one of {', '.join(i.name for i in table)}, got {name!r}"
    )
