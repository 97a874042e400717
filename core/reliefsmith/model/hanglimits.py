"""Limits of a hanging hole and of the wall round it, and what is said beyond them.

The plan makes pieces within them, the checks hold finished pieces to them; both say it in the same words.
"""

from __future__ import annotations

from ..findings import Finding, Severity, finding

__all__ = [
    "HANG_LIMIT_DEG",
    "LEAST_HOLE_MM",
    "WALL_STOP_MM",
    "WALL_WARN_MM",
    "crooked_findings",
    "wall_findings",
]

LEAST_HOLE_MM = 2.0
"""Narrower openings take no hardware and print badly (design guides for printed parts)."""

WALL_WARN_MM, WALL_STOP_MM = 2.0, 1.6
"""Walls round a hole: below the first it may tear, below the second it does (common practice, no source)."""

HANG_LIMIT_DEG, _CROOKED_WARN_DEG = 3.0, 8.0
"""A piece that hangs within the first angle looks straight; beyond the second it looks wrong
(common practice, no source)."""


def wall_findings(wall_mm: float, at_mm: tuple[float, float, float]) -> tuple[Finding, ...]:
    """Judge the wall round a hanging hole: its least material to any other edge."""
    if wall_mm >= WALL_WARN_MM:
        return ()
    code = "hole-wall-weak" if wall_mm < WALL_STOP_MM else "hole-wall-thin"
    return (finding(code, f"The wall round the hanging hole is {wall_mm:.2f} mm.", at_mm),)


def crooked_findings(
    angle_deg: float, at_mm: tuple[float, float, float], *, placed: bool = False
) -> tuple[Finding, ...]:
    """Judge the angle at which a piece hangs; where its hole was `placed`, beyond the limit is a warning."""
    if angle_deg <= HANG_LIMIT_DEG:
        return ()
    severity = Severity.WARN if placed or angle_deg > _CROOKED_WARN_DEG else Severity.NOTE
    words = f"The piece hangs {angle_deg:.1f} degrees off the vertical."
    return (finding("hangs-crooked", words, at_mm, severity),)
