"""The section on a piece that is larger than the bed: where it is cut, and what holds its parts together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..settings import REQUIRED, Row, Section, setting
from .limits import WIDEST_MM

__all__ = ["CutLine", "SeamSettings"]


@dataclass(frozen=True, slots=True)
class CutLine(Row):
    """One straight line along which a piece is cut.

    Examples
    --------
    >>> CutLine(from_mm=(0, -90), to_mm=(0, 90)).to_mm
    (0.0, 90.0)
    """

    NAME: ClassVar[str] = "seams.lines"
    from_mm: tuple[float, float] = setting(
        REQUIRED, "where the line begins, beside the piece", kind="point", low=-WIDEST_MM, high=WIDEST_MM
    )
    to_mm: tuple[float, float] = setting(
        REQUIRED, "where it ends, beside the piece again", kind="point", low=-WIDEST_MM, high=WIDEST_MM
    )

    def fault(self) -> str:
        """Return what is wrong with the values together, in words, or an empty string."""
        return "from_mm and to_mm are one point; a line needs two" if self.from_mm == self.to_mm else ""


@dataclass(frozen=True, slots=True)
class SeamSettings(Section):
    """How a piece that is larger than the bed is cut into parts."""

    NAME: ClassVar[str] = "seams"
    mode: str = setting(
        "off",
        "whether a piece is cut: off; auto, if it does not fit the bed, where that shows least; line, along"
        " seams.lines",
        choices=("off", "auto", "line"),
    )
    lines: tuple[CutLine, ...] = setting(
        (), "lines along which the piece is cut in mode line, each a table", most=40, row=CutLine
    )
    joint: str = setting(
        "hammer",
        "keys that hold the parts: hammer heads, dovetails, or plain edges to be glued",
        choices=("hammer", "dovetail", "plain"),
    )
    # Up to 8 mm: the roof over a socket bridges 9.2 mm then, under the 10 mm that usually hold.
    reach_mm: float | None = setting(
        None, "how far a key reaches; unset, as far as there is room", low=2, high=8
    )
    # 0.2 mm, a slide fit: common practice, no source.
    clearance_mm: float = setting(
        0.2,
        "gap between two parts; half of printer.hole_loss_mm, read from the test piece, is added",
        low=0.05,
        high=1,
    )
    numbers: bool = setting(True, "sink the number of each part into its back")
