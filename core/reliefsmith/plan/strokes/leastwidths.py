"""Limits: the least widths that a printer and its nozzle lay."""

from __future__ import annotations

from dataclasses import dataclass

from ...recipe.sections import MotifSettings, PrinterSettings
from ...recipe.sections.limits import USUAL_NOZZLE_MM

__all__ = ["Limits"]


@dataclass(frozen=True, slots=True)
class Limits:
    """Least printable widths in mm."""

    stroke: float
    gap: float
    dot: float
    nozzle: float

    @classmethod
    def of(cls, motif: MotifSettings, printer: PrinterSettings) -> Limits:
        """Take what was measured on this printer, else the settings, scaled up for a wider nozzle."""
        scale = max(1.0, printer.nozzle_mm / USUAL_NOZZLE_MM)
        stroke, gap, dot = (
            width * scale for width in (motif.min_stroke_mm, motif.min_gap_mm, motif.min_dot_mm)
        )
        stroke = stroke if printer.least_stroke_mm is None else printer.least_stroke_mm
        gap = gap if printer.least_gap_mm is None else printer.least_gap_mm
        return cls(stroke, gap, dot, printer.nozzle_mm)

    def scaled(self, factor: float) -> Limits:
        """Return the limits for artwork enlarged by 1 / factor, in the artwork's present millimetres."""
        return Limits(self.stroke * factor, self.gap * factor, self.dot * factor, self.nozzle * factor)
