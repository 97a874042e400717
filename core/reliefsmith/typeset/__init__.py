"""Type kernel: fonts, the order and shapes of letters, lines of them, room for them; knows no stage."""

from __future__ import annotations

from .fonts import Face, checked_font, face_of

__all__ = ["Face", "checked_font", "face_of"]
