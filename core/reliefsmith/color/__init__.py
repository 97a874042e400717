"""From pixels to flat colors: which colors the picture has and which pixel belongs to which."""

from __future__ import annotations

from .separate import separate, separate_steps

__all__ = ["separate", "separate_steps"]
