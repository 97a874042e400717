"""The sections of the recipe: every setting with its kind, unit, bounds, default and help, declared once."""

from __future__ import annotations

from .apart import HandleSettings, StandSettings
from .cutting import CutLine, CutSettings
from .heights import HeightSettings
from .inscription import SHIPPED_FONTS, Inscription
from .picture import AreasSettings, ArtworkSettings, BackgroundSettings, ColorSettings, SizeSettings
from .piece import BaseSettings, HangSettings, MotifSettings, PieceSettings
from .style import settled
from .work import BedSettings, CostSettings, FilamentSettings, OrderSettings, PrinterSettings

__all__ = [
    "SHIPPED_FONTS",
    "AreasSettings",
    "ArtworkSettings",
    "BackgroundSettings",
    "BaseSettings",
    "BedSettings",
    "ColorSettings",
    "CostSettings",
    "CutLine",
    "CutSettings",
    "FilamentSettings",
    "HandleSettings",
    "HangSettings",
    "HeightSettings",
    "Inscription",
    "MotifSettings",
    "OrderSettings",
    "PieceSettings",
    "PrinterSettings",
    "SizeSettings",
    "StandSettings",
    "settled",
]
