"""The sections of the recipe: every setting with its kind, unit, bounds, default and help, declared once."""

from __future__ import annotations

from .heights import HeightSettings
from .picture import AreasSettings, ArtworkSettings, BackgroundSettings, ColorSettings, SizeSettings
from .piece import BaseSettings, HangSettings, MotifSettings, PieceSettings
from .style import settled
from .work import CostSettings, FilamentSettings, OrderSettings, PrinterSettings

__all__ = [
    "AreasSettings",
    "ArtworkSettings",
    "BackgroundSettings",
    "BaseSettings",
    "ColorSettings",
    "CostSettings",
    "FilamentSettings",
    "HangSettings",
    "HeightSettings",
    "MotifSettings",
    "OrderSettings",
    "PieceSettings",
    "PrinterSettings",
    "SizeSettings",
    "settled",
]
