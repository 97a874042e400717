"""The values that stages hand on: frozen dataclasses of arrays, geometries and scalars."""

from __future__ import annotations

from .accessory import Accessory
from .areas import FlatAreas, Frame, NumberedArea, TracedAreas
from .artwork import Artwork, FoundSheet, PictureBytes, Separation
from .fidelity import Fidelity, Missed, Sample
from .filaments import Filament, FilamentMatch, Matching
from .hand import HandPicture, HandRelief
from .inscribed import FontFile, Inscribed, SetText
from .lettering import Lettering, LetterLine
from .parts import ColorChange, Estimate, Inspection, Part
from .plan import Above, Drawing, Hole, Mended, Motif, Plan, Pocket
from .result import Approval, PictureId, Result
from .segments import Division, Segment
from .stack import Contours, Field, Sculpted, Slab, Stack
from .way import Way

__all__ = [
    "Above",
    "Accessory",
    "Approval",
    "Artwork",
    "ColorChange",
    "Contours",
    "Division",
    "Drawing",
    "Estimate",
    "Fidelity",
    "Field",
    "Filament",
    "FilamentMatch",
    "FlatAreas",
    "FontFile",
    "FoundSheet",
    "Frame",
    "HandPicture",
    "HandRelief",
    "Hole",
    "Inscribed",
    "Inspection",
    "LetterLine",
    "Lettering",
    "Matching",
    "Mended",
    "Missed",
    "Motif",
    "NumberedArea",
    "Part",
    "PictureBytes",
    "PictureId",
    "Plan",
    "Pocket",
    "Result",
    "Sample",
    "Sculpted",
    "Segment",
    "Separation",
    "SetText",
    "Slab",
    "Stack",
    "TracedAreas",
    "Way",
]
