"""The hardware that a piece hangs on: what opening it needs and how far it reaches."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from ..errors import RecipeError

__all__ = ["Hardware", "hardware_for", "hardware_table"]


@dataclass(frozen=True, slots=True)
class Hardware:
    """One kind of hardware, in mm.

    Parameters
    ----------
    name, title : str
        Key of the recipe, words for the job sheet.
    wire_mm : float
        Thickness of the wire, cord or ball in the hole.
    turns : int
        How many lie side by side in the hole.
    play_mm : float
        Clearance that lets it swing.
    reach_mm : float
        Farthest that the outer edge may lie from the hole.
    price : float
    """

    name: str
    title: str
    wire_mm: float
    turns: int
    play_mm: float
    reach_mm: float
    price: float

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


@cache
def hardware_table() -> tuple[Hardware, ...]:
    """Return all kinds of hardware, in the order in which "auto" tries them.

    Examples
    --------
    >>> [item.name for item in hardware_table()]
    ['split-ring', 'jump-ring', 'ball-chain', 'cord']
    """
    source = resources.files("reliefsmith_data").joinpath("hardware.toml")
    table = tomllib.loads(source.read_text(encoding="utf-8"))
    return tuple(Hardware(name=name, **values) for name, values in table.items())


def hardware_for(name: str, opening: float, bridge: float) -> Hardware:
    """Return hardware by name; for "auto" the first that fits the hole and the wall beside it.

    Raises
    ------
    RecipeError
        For a name that is not in the table.
    """
    table = hardware_table()
    if name == "auto":
        return next((item for item in table if item.fits(opening, bridge)), table[0])
    for item in table:
        if item.name == name:
            return item
    raise RecipeError(
        f"hang.hardware must be auto or one of {', '.join(i.name for i in table)}, got {name!r}"
    )
