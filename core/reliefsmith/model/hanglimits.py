"""Limits of a hanging hole: the plan makes pieces within them, the checks hold finished pieces to them."""

from __future__ import annotations

__all__ = ["CROOKED_WARN_DEG", "HANG_LIMIT_DEG", "LEAST_HOLE_MM", "WALL_STOP_MM", "WALL_WARN_MM"]

LEAST_HOLE_MM = 2.0
"""Narrower openings take no hardware and print badly (design guides for printed parts)."""

WALL_WARN_MM, WALL_STOP_MM = 2.0, 1.6
"""Walls round a hole: below the first it may tear, below the second it does (common practice, no source)."""

HANG_LIMIT_DEG, CROOKED_WARN_DEG = 3.0, 8.0
"""A piece that hangs within the first angle looks straight; beyond the second it looks wrong
(common practice, no source)."""
