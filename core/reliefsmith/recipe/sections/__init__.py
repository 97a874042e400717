"""The sections of the recipe: every setting with its kind, unit, bounds, default and help, declared once."""

from __future__ import annotations

from .apart import HandleSettings, HousingSettings, StandSettings
from .backside import BackSettings
from .cutting import CutLine, SeamSettings
from .form import FormSettings
from .heights import HeightSettings
from .inscription import SHIPPED_FONTS, Inscription
from .picture import AreasSettings, ArtworkSettings, BackgroundSettings, ColorSettings, SizeSettings
from .piece import BaseSettings, HangSettings, MotifSettings, PieceSettings
from .style import chosen_style, settled
from .work import BedSettings, CostSettings, FilamentSettings, OrderSettings, PrinterSettings

__all__ = [
    "SHIPPED_FONTS",
    "AreasSettings",
    "ArtworkSettings",
    "BackSettings",
    "BackgroundSettings",
    "BaseSettings",
    "BedSettings",
    "ColorSettings",
    "CostSettings",
    "CutLine",
    "FilamentSettings",
    "FormSettings",
    "HandleSettings",
    "HangSettings",
    "HeightSettings",
    "HousingSettings",
    "Inscription",
    "MotifSettings",
    "OrderSettings",
    "PieceSettings",
    "PrinterSettings",
    "SeamSettings",
    "SizeSettings",
    "StandSettings",
    "chosen_style",
    "settled",
]
