"""Limits that settings share with stages; those of the hanging hole are in `model.hanglimits`."""

from __future__ import annotations

__all__ = [
    "BORE_MM",
    "FIRST_ISLAND_MM",
    "FIRST_ISLAND_MM2",
    "MOST_CHARACTERS",
    "MOST_COLORS",
    "NARROWEST_MM",
    "USUAL_CAPITALS_MM",
    "USUAL_NOZZLE_MM",
    "WIDEST_MM",
]

MOST_COLORS = 8
"""Flat colors of a picture at most, the background not counted."""

USUAL_NOZZLE_MM = 0.4
"""The nozzle for which the least stroke, gap and dot are stated; a wider one scales them up."""

NARROWEST_MM, WIDEST_MM = 5, 2000
"""Sides that an artwork may have; the second is also how far from its middle a place may be."""

MOST_CHARACTERS = 64
"""Of one text: a line that is longer is read on no keyring (common practice, no source)."""

USUAL_CAPITALS_MM = 5.0
"""Height of the capitals of a text at a point, where the recipe has none (common practice, no source)."""

BORE_MM = (1.0, 50.0)
"""Diameters that a hanging hole may have, with what was added for the printer's loss."""

FIRST_ISLAND_MM2, FIRST_ISLAND_MM = 4.0, 1.5
"""Islands on the bed under this area or this wide come loose (common practice, no source)."""
