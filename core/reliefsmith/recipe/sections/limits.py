"""Limits that settings and stages share: each stands once, here."""

from __future__ import annotations

__all__ = ["BORE_MM", "FIRST_ISLAND_MM", "FIRST_ISLAND_MM2", "MOST_COLORS", "USUAL_NOZZLE_MM"]

MOST_COLORS = 8
"""Flat colors of a picture at most, the background not counted."""

USUAL_NOZZLE_MM = 0.4
"""The nozzle for which the least stroke, gap and dot are stated; a wider one scales them up."""

BORE_MM = (1.0, 50.0)
"""Diameters that a hanging hole may have, with what was added for the printer's loss."""

FIRST_ISLAND_MM2, FIRST_ISLAND_MM = 4.0, 1.5
"""Islands on the bed under this area or this wide come loose (common practice, no source)."""
